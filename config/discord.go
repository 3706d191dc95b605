package config

import (
	"fmt"
	"maps"
	"net/url"
	"slices"
	"strings"

	"triagebot/desk"
)

// Discord is the bot on Discord; docs/discord.md says how to get what stands here.
type Discord struct {
	Token      Secret            `yaml:"token" need:"yes" says:"where the bot's token is: {file: PATH} or {env: NAME}"`
	Volunteers string            `yaml:"volunteers"` // id of the channel where cases are posted
	Roles      map[string]string `yaml:"roles"`      // id of a role there -> volunteer, vendor or keeper
	Channels   []string          `yaml:"channels"`   // where mentions are read again after an absence
	Content    bool              `yaml:"content"`    // ask for the intent to read all message content
	PhotoMB    int               `yaml:"photo_mb"`   // size of one photo at most
	Photos     int               `yaml:"photos"`     // of one talk at most
	Bases      Bases             `yaml:"bases"`
}

// Bases are addresses to go to instead of Discord's own, such as a proxy's.
type Bases struct {
	REST    string `yaml:"rest"`
	Gateway string `yaml:"gateway"`
	Files   string `yaml:"files"`
}

// mostPhotoMB is what the platform takes, with some to spare.
const mostPhotoMB = 25

func (r *reader) checkDiscord(c *Config) {
	d := c.Discord
	if d == nil {
		return
	}
	id := func(name, value string) {
		if value != "" && (len(value) > 20 || strings.Trim(value, "0123456789") != "") {
			r.problem(r.at[name], "%q is no id; switch on the developer mode of Discord, copy the id there and put it in quotes", value)
		}
	}
	id("discord.volunteers", d.Volunteers)
	for i, ch := range d.Channels {
		id(fmt.Sprintf("discord.channels[%d]", i), ch)
	}
	var known []string
	for _, role := range desk.Roles() {
		known = append(known, string(role))
	}
	for _, role := range slices.Sorted(maps.Keys(d.Roles)) {
		name := "discord.roles." + role
		id(name, role)
		r.oneOf(name, d.Roles[role], known...)
	}
	if d.Volunteers != "" && len(d.Roles) == 0 {
		r.problem(r.at["discord.volunteers"], "cases are posted to a channel and nobody may take them; add roles: {\"ID OF A ROLE\": volunteer}")
	}
	if d.Volunteers != "" && c.Bridge != nil && c.Bridge.Volunteers != "" {
		r.problem(r.at["discord.volunteers"], "volunteers are told of cases here and over the bridge; name one place")
	}
	for name, base := range map[string]string{"rest": d.Bases.REST, "gateway": d.Bases.Gateway, "files": d.Bases.Files} {
		u, err := url.Parse(base)
		if base != "" && (err != nil || u.Host == "" || !slices.Contains([]string{"http", "https", "ws", "wss"}, u.Scheme)) {
			r.problem(r.at["discord.bases."+name], "%q is no address; write one such as https://proxy.example", base)
		}
	}
	if at := r.at["discord.photo_mb"]; at != nil && (d.PhotoMB < 1 || d.PhotoMB > mostPhotoMB) {
		r.problem(at, "photo_mb must be 1 to %d; leave it out to get 8", mostPhotoMB)
	}
	if at := r.at["discord.photos"]; at != nil && d.Photos < 1 {
		r.problem(at, "photos must be more than 0; leave it out to get 20")
	}
}
