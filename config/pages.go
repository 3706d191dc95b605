package config

import (
	"net"
	"net/url"

	"triagebot/desk"
)

// Pages are the pages for owners, volunteers, vendor and keepers.
type Pages struct {
	Listen string `yaml:"listen" need:"yes" says:"host and port that the pages are served at, such as 127.0.0.1:8080"`
	// Address is what browsers use; with https, cookies go over TLS only.
	Address string `yaml:"address"`
	// Proxied says that a proxy of ours stands before them and writes X-Forwarded-For.
	Proxied bool         `yaml:"proxied"`
	Discord *PagesByChat `yaml:"discord"`
}

// PagesByChat lets people sign in by way of Discord.
type PagesByChat struct {
	Client string            `yaml:"client" need:"yes" says:"the application's client id, in quotes"`
	Secret Secret            `yaml:"secret" need:"yes" says:"where the application's client secret is: {file: PATH} or {env: NAME}"`
	Server string            `yaml:"server"` // whose roles count
	Roles  map[string]string `yaml:"roles"`  // from the id of a role there
	// Site and API are where Discord is; "" is the real one.
	Site string `yaml:"site"`
	API  string `yaml:"api"`
}

func (r *reader) checkPages(p *Pages) {
	if p == nil {
		return
	}
	if p.Listen == "" { // told already
		return
	}
	host, _, err := net.SplitHostPort(p.Listen)
	if err != nil {
		r.problem(r.at["pages.listen"], "%q is no address to listen at; write host and port, such as 127.0.0.1:8080", p.Listen)
	}
	u, err := url.Parse(p.Address)
	if p.Address != "" && (err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" || u.Path != "" && u.Path != "/" || u.RawQuery != "" || u.User != nil) {
		r.problem(r.at["pages.address"], "%q is no address of pages; write one such as https://talk.example.org, with nothing after the name", p.Address)
	}
	if ip := net.ParseIP(host); p.Address == "" && host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		r.problem(r.at["pages.listen"], "%q can be reached from other machines, so say what browsers call it: address: https://talk.example.org", p.Listen)
	}
	if p.Discord == nil {
		return
	}
	if p.Address == "" {
		r.problem(r.at["pages.discord"], "signing in by way of Discord needs the address that Discord sends people back to: address: https://talk.example.org")
	}
	if (p.Discord.Server == "") != (len(p.Discord.Roles) == 0) {
		r.problem(r.at["pages.discord"], "server and roles go together: whose roles count, and what each may do")
	}
	var all []string
	for _, known := range desk.Roles() {
		all = append(all, string(known))
	}
	for id, role := range p.Discord.Roles {
		r.oneOf("pages.discord.roles."+id, role, all...)
	}
}
