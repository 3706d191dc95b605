package discord

import (
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"net/url"
	"strings"
	"time"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/kb"
)

// Config is what the adapter needs. Numbers that are 0 get a default.
type Config struct {
	Token      string
	Volunteers string            // channel where cases are posted; "" for none
	Roles      map[string]string // id of a role on the platform -> desk.Role
	Channels   []string          // where mentions are read again after an absence; empty: wherever the bot can read
	Content    bool              // ask for the intent to read all message content
	Bases      Bases

	Store  *store.Store
	KB     *kb.KB
	Engine *conversation.Engine
	Log    *slog.Logger // gets no words and no handles
	Now    func() time.Time
	After  func(time.Duration) <-chan time.Time
	Jitter func() float64 // 0 up to 1

	Photo     int               // bytes of one photo at most
	Photos    int               // of one conversation at most
	Workers   int               // messages and presses worked on at a time
	Waiting   int               // messages in memory; what is more is fetched again later
	Transport http.RoundTripper // nil for one of its own
}

// Bases are addresses to go to instead of the platform's own: a proxy, or a
// fake in tests. "" leaves the platform's.
type Bases struct {
	REST    string // instead of https://discord.com
	Gateway string // instead of what the platform names
	Files   string // instead of https://cdn.discordapp.com and https://media.discordapp.net
}

const (
	defaultPhoto   = 8 << 20
	defaultPhotos  = 20
	defaultWorkers = 32
	defaultWaiting = 4096
	mostIdle       = 64
)

func (c *Config) complete() error {
	for _, n := range []struct {
		what    string
		missing bool
	}{
		{"token", c.Token == ""}, {"store", c.Store == nil}, {"knowledge base", c.KB == nil}, {"engine", c.Engine == nil},
		{"log", c.Log == nil}, {"clock", c.Now == nil || c.After == nil}, {"source of jitter", c.Jitter == nil},
	} {
		if n.missing {
			return fmt.Errorf("setting up discord: no %s is given", n.what)
		}
	}
	c.Token = strings.TrimPrefix(strings.TrimSpace(c.Token), "Bot ")
	for _, id := range append([]string{c.Volunteers}, c.Channels...) {
		if id != "" && !isID(id) {
			return fmt.Errorf("setting up discord: channel %q is no id; copy it from the platform with its developer mode on", id)
		}
	}
	for id, role := range c.Roles {
		if !isID(id) {
			return fmt.Errorf("setting up discord: role %q is no id; copy it from the platform with its developer mode on", id)
		}
		switch desk.Role(role) {
		case desk.Volunteer, desk.Vendor, desk.Keeper:
		default:
			return fmt.Errorf("setting up discord: role %s is to be %q, which is none of %v", id, role, desk.Roles())
		}
	}
	if c.Volunteers != "" && len(c.Roles) == 0 {
		return errors.New("setting up discord: volunteers have a channel and no role; name the role that may take cases")
	}
	for name, base := range map[string]string{"rest": c.Bases.REST, "gateway": c.Bases.Gateway, "files": c.Bases.Files} {
		if u, err := url.Parse(base); base != "" && (err != nil || u.Host == "" || !strings.Contains("http https ws wss", u.Scheme)) {
			return fmt.Errorf("setting up discord: the %s base %q is no address such as https://proxy.example", name, base)
		}
	}
	for _, n := range []struct {
		value   *int
		usually int
	}{{&c.Photo, defaultPhoto}, {&c.Photos, defaultPhotos}, {&c.Workers, defaultWorkers}, {&c.Waiting, defaultWaiting}} {
		if *n.value <= 0 {
			*n.value = n.usually
		}
	}
	if c.Transport == nil {
		t := http.DefaultTransport.(*http.Transport).Clone()
		t.MaxIdleConnsPerHost = mostIdle // a press must not wait for a new connection
		c.Transport = t
	}
	return nil
}

// isID says whether a text is an id of the platform: digits.
func isID(s string) bool {
	return s != "" && len(s) <= 20 && strings.Trim(s, "0123456789") == ""
}
