package desk

import (
	"errors"
	"fmt"
	"log/slog"
	"slices"
	"strings"
	"sync/atomic"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// Role is what somebody is to the community.
type Role string

const (
	Volunteer Role = "volunteer" // works cases
	Vendor    Role = "vendor"    // sees what adds up over many cases, and no case
	Keeper    Role = "keeper"    // keeps the bot: may also hand on what others have, forget owners, make backups
)

// Roles lists all roles.
func Roles() []Role { return []Role{Volunteer, Vendor, Keeper} }

// Person is somebody who acts. Name is the handle kept in the audit, such as
// "discord:123" or "local:anna".
type Person struct {
	Name  string
	Roles []Role
}

// Right is what a role allows.
type Right string

const (
	Work Right = "work cases"
	See  Right = "see cases"
	Keep Right = "keep the bot"
)

var rights = map[Right][]Role{
	Work: {Volunteer, Keeper},
	See:  {Volunteer, Keeper},
	Keep: {Keeper},
}

// ErrRole is returned when somebody has not the role that an act needs.
var ErrRole = errors.New("this needs another role")

type roleError string

func (e roleError) Error() string    { return string(e) }
func (e roleError) Is(to error) bool { return to == ErrRole }

// May says whether somebody has a right; the error says which role gives it.
func (p Person) May(r Right) error {
	if p.Name == "" {
		return roleError(fmt.Sprintf("to %s one needs a name", r))
	}
	var need []string
	for _, role := range rights[r] {
		if slices.Contains(p.Roles, role) {
			return nil
		}
		need = append(need, string(role))
	}
	return roleError(fmt.Sprintf("%q may not %s; that takes the role %s", p.Name, r, strings.Join(need, " or ")))
}

// Config is what a Desk needs. Limits and Times that are 0 get a default.
type Config struct {
	Store    *store.Store
	Runner   *turns.Runner
	Engine   *conversation.Engine
	Feed     *Feed
	Now      func() time.Time // should be [Steady]
	After    func(time.Duration) <-chan time.Time
	Log      *slog.Logger // gets no words and no handles
	Announce string       // where volunteers are told; "" for nowhere
	Limits   Limits
	Times    Times
}

// Desk is safe for concurrent use.
type Desk struct {
	c      Config
	words  sentences
	gate   *gate
	open   atomic.Int64
	slowed atomic.Uint64
}

// New makes a desk over a store and its turns, which the caller closes.
func New(c Config) (*Desk, error) {
	for _, n := range []struct {
		what    string
		missing bool
	}{
		{"store", c.Store == nil}, {"turns", c.Runner == nil}, {"engine", c.Engine == nil}, {"feed", c.Feed == nil},
		{"clock", c.Now == nil || c.After == nil}, {"log", c.Log == nil},
	} {
		if n.missing {
			return nil, fmt.Errorf("setting up the desk: no %s is given", n.what)
		}
	}
	words, err := loadSentences("en", c.Engine.KB().About)
	if err != nil {
		return nil, err
	}
	c.Limits.complete()
	c.Times.complete()
	return &Desk{c: c, words: words, gate: newGate(c.Limits, words)}, nil
}

// Limits are the limits in force.
func (d *Desk) Limits() Limits { return d.c.Limits }

// Open is how many talks the bot led at the last [Desk.Tick].
func (d *Desk) Open() int { return int(d.open.Load()) }

// Slowed is how many messages had no turn because of a limit.
func (d *Desk) Slowed() uint64 { return d.slowed.Load() }
