package discord_test

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"os"
	"path/filepath"
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
	"triagebot/discord"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/tests/fakeplatform"
)

func TestMain(m *testing.M) {
	if path := os.Getenv("TRIAGEBOT_DISCORD_CHILD"); path != "" {
		os.Exit(runChild(path))
	}
	// The index has workers of its own for as long as the program runs.
	goleak.VerifyTestMain(closing{m}, goleak.IgnoreTopFunction("github.com/blevesearch/bleve_index_api.AnalysisWorker"))
}

// closing ends the index after the tests and before goroutines are counted.
type closing struct{ m *testing.M }

func (c closing) Run() int {
	code := c.m.Run()
	if bridge.index != nil {
		_ = bridge.index.Close()
	}
	return code
}

// patient is how long a test waits for what must come; it never sleeps.
const patient = 3 * time.Minute

// bridge is the talk with its index, made once.
var bridge struct {
	once   sync.Once
	index  io.Closer
	engine *conversation.Engine
	err    error
}

func engine() (*conversation.Engine, error) {
	bridge.once.Do(func() {
		k, found := kb.Load(kb.Embedded())
		if kb.HasErrors(found) {
			bridge.err = fmt.Errorf("%v", found)
			return
		}
		bridge.engine, bridge.index, bridge.err = hearing.Engine(k)
	})
	return bridge.engine, bridge.err
}

// hasty is a clock whose waits are a hundredth as long.
func hasty(d time.Duration) <-chan time.Time { return time.After(max(d/100, time.Millisecond)) }

// community is a server with people on it, and the bot.
type community struct {
	t          *testing.T
	p          *fakeplatform.Platform
	guild      string
	help, crew string // channels: for owners, for volunteers
	owner      string
	volunteers []string
	role       string
	path       string
	log        *logs
	*house
}

// house is one run of the bot.
type house struct {
	store  *store.Store
	runner *turns.Runner
	desk   *desk.Desk
	chat   *discord.Adapter
	stop   context.CancelFunc
	ended  chan error
}

type settings struct {
	discord func(*discord.Config)
	turns   func(*turns.Config)
	limits  desk.Limits
}

// generous are limits that no test of something else runs into.
var generous = desk.Limits{OwnerEvery: time.Millisecond, OwnerBurst: 10_000, ServerEvery: time.Millisecond, ServerBurst: 10_000}

// newCommunity may be called once in a test, which goes beside others from then on.
func newCommunity(t *testing.T) *community {
	t.Helper()
	t.Parallel()
	p := fakeplatform.Start(time.Now)
	p.Heartbeats(100)
	c := &community{t: t, p: p, path: filepath.Join(t.TempDir(), "triagebot.db"), log: &logs{}}
	c.guild = p.Guild("Saltmarsh Wheelers")
	c.help, c.crew = p.Channel(c.guild, "help"), p.Channel(c.guild, "volunteers")
	c.owner = p.User("ada")
	c.volunteers = []string{p.User("bo"), p.User("cy")}
	c.role = p.Role(c.guild, "workshop", c.volunteers...)
	t.Cleanup(func() {
		c.close()
		p.Close()
		assert.Empty(t, p.Complaints(), "the bot did what it should not")
	})
	return c
}

// start starts the bot, once more after a stop.
func (c *community) start(s settings) {
	c.t.Helper()
	h, err := startHouse(c.path, c.p.URL(), c.crew, c.role, logger(c.log), s)
	require.NoError(c.t, err)
	c.house = h
	h.run()
	require.True(c.t, c.p.Wait(patient, func() bool { return c.p.Sessions() > 0 }), "the bot does not come\n%s", c.log)
}

func (c *community) close() {
	if c.house == nil {
		return
	}
	assert.NoError(c.t, c.house.close())
	c.house = nil
}

func logger(w *logs) *slog.Logger { return slog.New(slog.NewTextHandler(w, nil)) }

// logs are lines that may be read while others are written.
type logs struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *logs) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *logs) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func startHouse(path, url, crew, role string, log *slog.Logger, s settings) (*house, error) {
	e, err := engine()
	if err != nil {
		return nil, err
	}
	st, err := store.Open(path, store.Options{Now: time.Now})
	if err != nil {
		return nil, err
	}
	ready := false
	defer func() {
		if !ready {
			_ = st.Close()
		}
	}()
	dc := discord.Config{
		Token: fakeplatform.Token, Volunteers: crew, Roles: map[string]string{role: string(desk.Volunteer)},
		Bases: discord.Bases{REST: url, Files: url + "/cdn"}, Store: st, KB: e.KB(), Engine: e, Log: log, Now: time.Now, After: hasty, Jitter: rand.Float64,
	}
	if s.discord != nil {
		s.discord(&dc)
	}
	chat, err := discord.New(dc)
	if err != nil {
		return nil, err
	}
	feed := desk.NewFeed()
	tc := turns.Config{
		Store: st, Engine: e, Sender: chat, Now: time.Now, After: hasty, Jitter: rand.Float64, Log: log, Happened: feed.Turn,
		Case: func(state *conversation.State) (json.RawMessage, error) {
			doc, err := casefile.Build(e, state)
			if err != nil {
				return nil, err
			}
			return json.Marshal(doc)
		},
		Announce: discord.Announce(crew), Excuse: []string{"Something went wrong."}, FirstRetry: 20 * time.Millisecond, LastRetry: 200 * time.Millisecond,
	}
	if s.turns != nil {
		s.turns(&tc)
	}
	r, err := turns.New(tc)
	if err != nil {
		return nil, err
	}
	if s.limits == (desk.Limits{}) {
		s.limits = generous
	}
	d, err := desk.New(desk.Config{
		Store: st, Runner: r, Engine: e, Feed: feed, Now: time.Now, After: hasty, Log: log, Announce: discord.Announce(crew), Limits: s.limits,
	})
	if err != nil {
		return nil, err
	}
	ready = true
	return &house{store: st, runner: r, desk: d, chat: chat, ended: make(chan error, 1)}, nil
}

func (h *house) run() {
	ctx, stop := context.WithCancel(context.Background())
	h.stop = stop
	go func() { h.ended <- h.chat.Run(ctx, h.runner, h.desk) }()
}

func (h *house) close() error {
	h.stop()
	err := <-h.ended
	if bad := h.runner.Close(context.Background()); err == nil {
		err = bad
	}
	if bad := h.store.Close(); err == nil {
		err = bad
	}
	return err
}

// await waits until a channel has so many messages of the bot, and returns them.
func (c *community) await(channel string, n int) []fakeplatform.Message {
	c.t.Helper()
	require.True(c.t, c.p.Wait(patient, func() bool { return len(c.p.FromBot(channel)) >= n }),
		"the bot wrote %d messages and not %d\n%s", len(c.p.FromBot(channel)), n, c.log)
	return c.p.FromBot(channel)
}

// thread waits for the n-th thread of somebody, from 1.
func (c *community) thread(who string, n int) string {
	c.t.Helper()
	require.True(c.t, c.p.Wait(patient, func() bool { return len(c.p.Threads(c.help, who)) >= n }), "no thread comes\n%s", c.log)
	return c.p.Threads(c.help, who)[n-1]
}

// talk starts a talk by a mention and returns its thread, once the bot has
// answered there.
func (c *community) talk(text string) string {
	c.t.Helper()
	n := len(c.p.Threads(c.help, c.owner))
	c.p.Post(c.owner, c.help, c.call(text))
	th := c.thread(c.owner, n+1)
	c.await(th, 1)
	return th
}

// call puts the bot's mention before a text.
func (c *community) call(text string) string { return "<@" + c.p.BotID() + "> " + text }

// find is the button whose label contains a text, on the last message that has it.
func (c *community) find(list []fakeplatform.Message, label string) (message, id string) {
	c.t.Helper()
	for i := len(list) - 1; i >= 0; i-- {
		for id, l := range list[i].Buttons() {
			if strings.Contains(l, label) {
				return list[i].ID, id
			}
		}
	}
	require.Fail(c.t, "no such button", "%s in %v", label, list)
	return "", ""
}

// answered waits for an interaction to be answered, and returns it once its reply
// has words.
func (c *community) answered(id string) fakeplatform.Interaction {
	c.t.Helper()
	require.True(c.t, c.p.Wait(patient, func() bool {
		i := c.p.Interaction(id)
		return i.Answered && (i.Reply == nil || i.Reply.Content != "")
	}), "the interaction is not answered\n%s", c.log)
	return c.p.Interaction(id)
}
