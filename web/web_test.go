package web_test

import (
	"context"
	"encoding/json"
	"io"
	"log/slog"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/web"
	"triagebot/web/account"
)

var engine = sync.OnceValues(func() (*conversation.Engine, error) {
	k, _ := kb.Load(kb.Embedded())
	e, _, err := hearing.Engine(k)
	return e, err
})

// sink is a chat that takes everything: the pages read what was said off the store.
type sink struct{}

func (sink) Send(context.Context, store.Outgoing) error { return nil }

// clock is set by the test.
type clock struct {
	mu sync.Mutex
	t  time.Time
}

func (c *clock) now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.t
}

func (c *clock) add(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.t = c.t.Add(d)
}

// house is everything a page needs, running on a port.
type house struct {
	t        testing.TB
	store    *store.Store
	desk     *desk.Desk
	turns    *turns.Runner
	log      *slog.Logger
	after    func(time.Duration) <-chan time.Time
	accounts *account.Book
	clock    *clock
	engine   *conversation.Engine
	server   *httptest.Server
	pages    *web.Server
}

const secret = "estuary lamp 9"

func newHouse(t testing.TB, change ...func(*web.Config)) *house {
	t.Helper()
	e, err := engine()
	require.NoError(t, err)
	h := &house{t: t, engine: e, clock: &clock{t: time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)}}
	h.store, err = store.Open(filepath.Join(t.TempDir(), "s.db"), store.Options{Now: h.clock.now})
	require.NoError(t, err)
	t.Cleanup(func() { _ = h.store.Close() })
	log := slog.New(slog.NewTextHandler(io.Discard, nil))
	h.log, h.after = log, time.After
	feed := desk.NewFeed()
	r, err := turns.New(turns.Config{
		Happened: feed.Turn,
		Store:    h.store, Engine: e, Sender: sink{}, Now: h.clock.now, After: time.After, Jitter: rand.Float64, Log: log,
		Case: func(st *conversation.State) (json.RawMessage, error) {
			c, err := casefile.Build(e, st)
			if err != nil {
				return nil, err
			}
			return json.Marshal(c)
		},
	})
	require.NoError(t, err)
	h.turns = r
	t.Cleanup(func() { _ = r.Close(context.Background()) })
	h.accounts = account.New(h.store, h.clock.now)
	h.desk, err = desk.New(desk.Config{Store: h.store, Runner: r, Engine: e, Feed: feed, Now: h.clock.now, After: time.After, Log: log})
	require.NoError(t, err)
	c := web.Config{KB: e.KB(), Engine: e, Store: h.store, Turns: r, Desk: h.desk, After: time.After, Accounts: h.accounts, Now: h.clock.now, Log: log}
	for _, f := range change {
		f(&c)
	}
	s, err := web.New(c)
	require.NoError(t, err)
	h.pages = s
	h.server = httptest.NewServer(s)
	t.Cleanup(h.server.Close)
	t.Cleanup(s.Close)
	return h
}

// person adds an account and returns a browser signed in with it.
func (h *house) person(name string, roles ...desk.Role) *browser {
	h.t.Helper()
	require.NoError(h.t, h.accounts.Add(context.Background(), account.Account{Name: account.Local + name, Roles: roles}, secret))
	b := h.browser()
	status, _ := b.post("/sign-in", url.Values{"name": {name}, "password": {secret}})
	require.Equal(h.t, http.StatusOK, status)
	return b
}

// browser is a client with cookies that follows redirects.
type browser struct {
	t    testing.TB
	base string
	http *http.Client
	at   string // where it ended up
	head http.Header
}

func (h *house) browser() *browser {
	jar, err := cookiejar.New(nil)
	require.NoError(h.t, err)
	return &browser{t: h.t, base: h.server.URL, http: &http.Client{Jar: jar}}
}

func (b *browser) read(r *http.Response, err error) (int, string) {
	b.t.Helper()
	require.NoError(b.t, err)
	defer r.Body.Close()
	data, err := io.ReadAll(r.Body)
	require.NoError(b.t, err)
	b.at, b.head = r.Request.URL.RequestURI(), r.Header
	return r.StatusCode, string(data)
}

func (b *browser) get(path string) (int, string) {
	b.t.Helper()
	return b.read(b.http.Get(b.base + path))
}

func (b *browser) post(path string, form url.Values) (int, string) {
	b.t.Helper()
	return b.read(b.http.PostForm(b.base+path, form))
}

// send posts a form of a page with its hidden fields.
func (b *browser) send(path string, form url.Values) (int, string) {
	b.t.Helper()
	_, page := b.get(b.at)
	for _, name := range []string{"form", "turn"} {
		if v := hidden(page, name); v != "" && form.Get(name) == "" {
			form.Set(name, v)
		}
	}
	return b.post(path, form)
}

func hidden(page, name string) string {
	_, rest, ok := strings.Cut(page, `name="`+name+`" value="`)
	if !ok {
		return ""
	}
	v, _, _ := strings.Cut(rest, `"`)
	return v
}
