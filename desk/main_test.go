package desk_test

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/hearing"
	"triagebot/kb"
)

func TestMain(m *testing.M) {
	goleak.VerifyTestMain(m, goleak.Cleanup(func(code int) {
		if bridge.index != nil {
			_ = bridge.index.Close()
		}
	}))
}

var start = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

// bridge is what the program has between index and talk, as much as is needed here.
var bridge struct {
	once   sync.Once
	index  io.Closer
	engine *conversation.Engine
	err    error
}

func engine(t testing.TB) *conversation.Engine {
	t.Helper()
	bridge.once.Do(func() {
		k, found := kb.Load(kb.Embedded())
		if kb.HasErrors(found) {
			bridge.err = fmt.Errorf("%v", found)
			return
		}
		bridge.engine, bridge.index, bridge.err = hearing.Engine(k)
	})
	require.NoError(t, bridge.err)
	return bridge.engine
}

// clock is moved by the test; nothing waits for it by itself.
type clock struct {
	mu  sync.Mutex
	now time.Time
}

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) add(d time.Duration) time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.now = c.now.Add(d)
	return c.now
}

// chat keeps what was sent and not looked at yet.
type chat struct {
	mu   sync.Mutex
	got  []store.Outgoing
	more chan struct{}
}

func (c *chat) Send(_ context.Context, o store.Outgoing) error {
	c.mu.Lock()
	c.got = append(c.got, o)
	c.mu.Unlock()
	select {
	case c.more <- struct{}{}:
	default:
	}
	return nil
}

// pick waits for a message that fits, and takes it out.
func (c *chat) pick(t testing.TB, fits func(store.Outgoing) bool) store.Outgoing {
	t.Helper()
	late := time.After(30 * time.Second)
	for {
		c.mu.Lock()
		if i := slices.IndexFunc(c.got, fits); i >= 0 {
			o := c.got[i]
			c.got = slices.Delete(c.got, i, i+1)
			c.mu.Unlock()
			return o
		}
		c.mu.Unlock()
		select {
		case <-c.more:
		case <-late:
			require.Fail(t, "nothing more is sent")
		}
	}
}

// await takes the next n messages, whatever they are.
func (c *chat) await(t testing.TB, n int) (list []store.Outgoing) {
	t.Helper()
	for range n {
		list = append(list, c.pick(t, func(store.Outgoing) bool { return true }))
	}
	return list
}

func (c *chat) nothingMore(t testing.TB) {
	t.Helper()
	c.mu.Lock()
	defer c.mu.Unlock()
	assert.Empty(t, c.got, "something more was sent")
}

// room is a desk with all that is round it.
type room struct {
	t      testing.TB
	path   string
	clock  *clock
	chat   *chat
	store  *store.Store
	runner *turns.Runner
	desk   *desk.Desk
	config desk.Config
	n      int
}

func newRoom(t testing.TB, change ...func(*desk.Config)) *room {
	t.Helper()
	r := &room{t: t, path: filepath.Join(t.TempDir(), "triagebot.db"), clock: &clock{now: start}, chat: &chat{more: make(chan struct{}, 1)}}
	r.open(change...)
	t.Cleanup(r.close)
	return r
}

func (r *room) open(change ...func(*desk.Config)) {
	r.t.Helper()
	var err error
	now := desk.Steady(r.clock.Now)
	r.store, err = store.Open(r.path, store.Options{Now: now})
	require.NoError(r.t, err)
	e, feed, log := engine(r.t), desk.NewFeed(), slog.New(slog.DiscardHandler)
	r.runner, err = turns.New(turns.Config{
		Store: r.store, Engine: e, Sender: r.chat, Now: now, After: time.After, Jitter: func() float64 { return 0.5 },
		Log: log, Announce: "volunteers", Excuse: []string{"sorry"}, Happened: feed.Turn,
		Case: func(st *conversation.State) (json.RawMessage, error) {
			c, err := casefile.Build(e, st)
			if err != nil {
				return nil, err
			}
			return json.Marshal(c)
		},
	})
	require.NoError(r.t, err)
	r.config = desk.Config{Store: r.store, Runner: r.runner, Engine: e, Feed: feed, Now: now, After: time.After, Log: log, Announce: "volunteers"}
	for _, fn := range change {
		fn(&r.config)
	}
	r.desk, err = desk.New(r.config)
	require.NoError(r.t, err)
}

func (r *room) close() {
	assert.NoError(r.t, r.runner.Close(context.Background()))
	assert.NoError(r.t, r.store.Close())
}

// restart is a stop and a start, as after a kill between two turns.
func (r *room) restart(change ...func(*desk.Config)) {
	r.close()
	r.open(change...)
}

// says has an owner write, and returns the answer.
func (r *room) says(talk, text string) store.Outgoing {
	r.t.Helper()
	r.n++
	id := fmt.Sprintf("m%d", r.n)
	err := r.runner.Take(r.t.Context(), turns.Incoming{ID: id, Conversation: talk, Owner: "owner-" + talk, Text: text})
	require.NoError(r.t, err)
	return r.chat.pick(r.t, func(o store.Outgoing) bool { return o.ReplyTo == id })
}

// handedOver opens a case and returns its number.
func (r *room) handedOver(talk string) uint64 {
	r.t.Helper()
	r.says(talk, "my sorrel 60 is completely dead, no display")
	r.says(talk, "I want a person")
	told := r.chat.pick(r.t, func(o store.Outgoing) bool { return o.Kind == store.KindCase && o.Conversation == talk })
	require.NotZero(r.t, told.Case)
	return told.Case
}

func (r *room) state(talk string) *conversation.State {
	r.t.Helper()
	_, events, err := r.store.Conversation(talk)
	require.NoError(r.t, err)
	return conversation.Replay(events)
}

func words(o store.Outgoing) string { return strings.Join(o.Lines, "\n") }

func person(name string, roles ...desk.Role) desk.Person {
	return desk.Person{Name: name, Roles: roles}
}

var (
	vera  = person("local:vera", desk.Volunteer)
	walt  = person("local:walt", desk.Volunteer)
	kim   = person("local:kim", desk.Keeper)
	shop  = person("local:shop", desk.Vendor)
	guest = person("local:guest")
)
