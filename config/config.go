package config

import (
	"fmt"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"gopkg.in/yaml.v3"

	"triagebot/desk"
)

// Config is what the file says. Field names in the file are those of the yaml
// tags; every other key is refused.
type Config struct {
	Store   string   `yaml:"store" need:"yes" says:"the file that everything is kept in, such as /var/lib/triagebot/triagebot.db"`
	KB      string   `yaml:"kb"` // folder of a knowledge base; "" for the built-in one
	API     API      `yaml:"api"`
	People  []Person `yaml:"people"`
	Bridge  *Bridge  `yaml:"bridge"`
	Discord *Discord `yaml:"discord"`
	Pages   *Pages   `yaml:"pages"`
	Limits  Limits   `yaml:"limits"`
	Times   Times    `yaml:"times"`
	Log     Log      `yaml:"log"`
}

// API is where the local interface, /healthz and /metrics listen.
type API struct {
	Listen   string `yaml:"listen"`
	Anywhere bool   `yaml:"anywhere"` // listen beyond this machine
}

// Person may work with the bot over the local interface.
type Person struct {
	Name  string   `yaml:"name" need:"yes" says:"who it is, such as local:anna"`
	Roles []string `yaml:"roles" need:"yes" says:"what they may do: volunteer, vendor or keeper"`
	Token Secret   `yaml:"token" need:"yes" says:"where their token is: {file: PATH} or {env: NAME}"`
}

// Bridge is a chat without an adapter of its own.
type Bridge struct {
	Deliver    string `yaml:"deliver" need:"yes" says:"the URL that is handed what the bot says"`
	Token      Secret `yaml:"token" need:"yes" says:"where the token is that both sides use: {file: PATH} or {env: NAME}"`
	Volunteers string `yaml:"volunteers"` // the conversation that volunteers are told in
}

// Limits are those of the desk.
type Limits struct {
	OwnerEvery  time.Duration `yaml:"owner_every"`
	OwnerBurst  int           `yaml:"owner_burst"`
	ServerEvery time.Duration `yaml:"server_every"`
	ServerBurst int           `yaml:"server_burst"`
	Message     int           `yaml:"message"`
}

// Times are those of the desk.
type Times struct {
	Remind        time.Duration `yaml:"remind"`
	RemindAgain   time.Duration `yaml:"remind_again"`
	Reminders     int           `yaml:"reminders"`
	Silent        time.Duration `yaml:"silent"`
	Aside         time.Duration `yaml:"aside"`
	RetentionDays int           `yaml:"retention_days"`
}

// Log is how the log is written.
type Log struct {
	Level string `yaml:"level"` // debug, info, warn or error
	Form  string `yaml:"form"`  // lines or json
}

// Desk are the limits as the desk takes them.
func (l Limits) Desk() desk.Limits {
	return desk.Limits{OwnerEvery: l.OwnerEvery, OwnerBurst: l.OwnerBurst, ServerEvery: l.ServerEvery, ServerBurst: l.ServerBurst, Message: l.Message}
}

// Desk are the times as the desk takes them.
func (t Times) Desk() desk.Times {
	return desk.Times{Remind: t.Remind, RemindAgain: t.RemindAgain, Reminders: t.Reminders, Silent: t.Silent, Aside: t.Aside, RetentionDays: t.RetentionDays}
}

// Problem is one thing wrong with the file.
type Problem struct {
	File      string
	Line, Col int // 0 where it is not at a place
	Says      string
}

func (p Problem) String() string {
	if p.Line == 0 {
		return fmt.Sprintf("%s: %s", p.File, p.Says)
	}
	return fmt.Sprintf("%s:%d:%d: %s", p.File, p.Line, p.Col, p.Says)
}

// mostBytes bounds the file; nobody writes more by hand.
const mostBytes = 1 << 20

// Load reads and checks a file; relative paths in it start from its folder. The
// config is good for use when no problem is returned.
func Load(path string, env func(string) string) (*Config, []Problem) {
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, []Problem{{File: path, Says: fmt.Sprintf("it does not read (%v); start from deploy/triagebot.yaml", err)}}
	}
	r := &reader{file: path, env: env, at: map[string]*yaml.Node{}, bad: map[*yaml.Node]bool{}}
	c := &Config{API: API{Listen: "127.0.0.1:8470"}, Log: Log{Level: "info", Form: "lines"}}
	if len(data) > mostBytes {
		return nil, []Problem{{File: path, Says: "it is too long for a config"}}
	}
	if r.document(data, c) {
		r.check(c)
	}
	if len(r.found) > 0 {
		return nil, r.sorted()
	}
	return c, nil
}

// check looks at what the form alone does not say.
func (r *reader) check(c *Config) {
	c.Store = r.path(c.Store)
	if dir, err := os.Stat(filepath.Dir(c.Store)); c.Store != "" && (err != nil || !dir.IsDir()) {
		r.problem(r.at["store"], "the folder %q for the store is not there; make it, readable for the bot alone: mkdir -m 700 %s", filepath.Dir(c.Store), filepath.Dir(c.Store))
	}
	if c.KB != "" {
		c.KB = r.path(c.KB)
		if dir, err := os.Stat(c.KB); err != nil || !dir.IsDir() {
			r.problem(r.at["kb"], "there is no folder %q; leave kb out to use the knowledge base inside the program", c.KB)
		}
	}
	r.checkAPI(c.API)
	r.checkPeople(c)
	r.checkPages(c.Pages)
	if c.Bridge != nil {
		if u, err := url.Parse(c.Bridge.Deliver); err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
			r.problem(r.at["bridge.deliver"], "%q is no URL; write one such as http://127.0.0.1:8471/say", c.Bridge.Deliver)
		}
	}
	r.checkDiscord(c)
	r.oneOf("log.level", c.Log.Level, "debug", "info", "warn", "error")
	r.oneOf("log.form", c.Log.Form, "lines", "json")
	for name, n := range map[string]int64{
		"limits.owner_every": int64(c.Limits.OwnerEvery), "limits.owner_burst": int64(c.Limits.OwnerBurst), "limits.server_every": int64(c.Limits.ServerEvery),
		"limits.server_burst": int64(c.Limits.ServerBurst), "limits.message": int64(c.Limits.Message), "times.reminders": int64(c.Times.Reminders),
		"times.retention_days": int64(c.Times.RetentionDays),
	} {
		if at := r.at[name]; at != nil && n <= 0 {
			r.problem(at, "%s must be more than 0; leave it out to get the default", name)
		}
	}
}

func (r *reader) checkAPI(a API) {
	at := r.at["api.listen"]
	host, _, err := net.SplitHostPort(a.Listen)
	if err != nil {
		r.problem(at, "%q is no address to listen at; write host and port, such as 127.0.0.1:8470", a.Listen)
		return
	}
	ip := net.ParseIP(host)
	if host != "localhost" && (ip == nil || !ip.IsLoopback()) && !a.Anywhere {
		r.problem(at, "%q can be reached from other machines, and tokens go over it in the clear; write 127.0.0.1, or say anywhere: true beside it", a.Listen)
	}
}

func (r *reader) checkPeople(c *Config) {
	names, tokens := map[string]bool{}, map[string]string{}
	if c.Bridge != nil {
		tokens[c.Bridge.Token.Value()] = "the bridge"
	}
	for i, p := range c.People {
		at := fmt.Sprintf("people[%d]", i)
		if names[p.Name] {
			r.problem(r.at[at+".name"], "%q is there twice; give each person one entry with all roles", p.Name)
		}
		names[p.Name] = true
		if p.Name != "" && (!strings.HasPrefix(p.Name, "local:") || len(p.Name) > 100 || len(p.Name) == len("local:")) {
			r.problem(r.at[at+".name"], "%q must be local: and a name, so that nobody is taken for somebody of a chat; write local:%s", p.Name, strings.TrimPrefix(p.Name, "local:"))
		}
		for j, role := range p.Roles {
			var all []string
			for _, known := range desk.Roles() {
				all = append(all, string(known))
			}
			r.oneOf(fmt.Sprintf("%s.roles[%d]", at, j), role, all...)
		}
		if len(p.Roles) == 0 && r.at[at+".roles"] != nil {
			r.problem(r.at[at+".roles"], "%q has no role; give volunteer, vendor or keeper", p.Name)
		}
		if t := p.Token.Value(); t != "" {
			if by := tokens[t]; by != "" {
				r.problem(r.at[at+".token"], "%q has the same token as %s; make another, or nobody can tell them apart", p.Name, by)
			}
			tokens[t] = p.Name
		}
	}
}

func (r *reader) path(p string) string {
	if p == "" || filepath.IsAbs(p) {
		return p
	}
	return filepath.Join(filepath.Dir(r.file), p)
}
