package api_test

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"triagebot/api"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/kb"
)

func TestMain(m *testing.M) { goleak.VerifyTestMain(m) }

const (
	tokenVera, tokenWalt, tokenKim, tokenShop = "token-of-vera", "token-of-walt", "token-of-kim", "token-of-shop"
	tokenBridge                               = "token-of-the-bridge"
)

// deaf hears nothing but what a test needs: the words "dead" and "person".
type deaf struct{}

func (deaf) Match(text string) conversation.Heard {
	if strings.Contains(text, "dead") {
		return conversation.Heard{Kit: "sorrel-60", Symptoms: []conversation.HeardSymptom{{ID: "dead", Present: true, Confidence: 0.9}}}
	}
	return conversation.Heard{}
}

// bot is the interface over a real desk.
type bot struct {
	url    string
	store  *store.Store
	runner *turns.Runner
	log    *bytes.Buffer
}

var theEngine = sync.OnceValues(func() (*conversation.Engine, error) {
	k, found := kb.Load(kb.Embedded())
	if kb.HasErrors(found) {
		return nil, fmt.Errorf("%v", found)
	}
	return conversation.New(k, deaf{})
})

func newBot(t *testing.T, sender turns.Sender, change ...func(*desk.Config)) *bot {
	t.Helper()
	e, err := theEngine()
	require.NoError(t, err)
	now := desk.Steady(time.Now)
	s, err := store.Open(filepath.Join(t.TempDir(), "triagebot.db"), store.Options{Now: now})
	require.NoError(t, err)
	b := &bot{store: s, log: &bytes.Buffer{}}
	log, feed := slog.New(slog.NewTextHandler(b.log, nil)), desk.NewFeed()
	r, err := turns.New(turns.Config{Store: s, Engine: e, Sender: sender, Now: now, After: time.After, Jitter: func() float64 { return 0 },
		Log: log, Happened: feed.Turn, FirstRetry: time.Millisecond, Announce: api.Place + "desk",
		Case: func(*conversation.State) (json.RawMessage, error) { return json.RawMessage("null"), nil }})
	require.NoError(t, err)
	b.runner = r
	c := desk.Config{Store: s, Runner: r, Engine: e, Feed: feed, Now: now, After: time.After, Log: log}
	for _, fn := range change {
		fn(&c)
	}
	d, err := desk.New(c)
	require.NoError(t, err)
	person := func(name string, roles ...desk.Role) desk.Person { return desk.Person{Name: name, Roles: roles} }
	h, err := api.New(api.Config{Desk: d, Store: s, Runner: r, Now: now, Log: log, Keys: []api.Key{
		{Token: tokenVera, Person: person("local:vera", desk.Volunteer)}, {Token: tokenWalt, Person: person("local:walt", desk.Volunteer)},
		{Token: tokenKim, Person: person("local:kim", desk.Keeper)}, {Token: tokenShop, Person: person("local:shop", desk.Vendor)},
		{Token: tokenBridge, Person: person("bridge"), Bridge: true},
	}})
	require.NoError(t, err)
	w := httptest.NewServer(h)
	b.url = w.URL
	t.Cleanup(func() {
		w.Close()
		http.DefaultClient.CloseIdleConnections()
		assert.NoError(t, r.Close(context.Background()))
		assert.NoError(t, s.Close())
	})
	return b
}

func (b *bot) as(token string) *api.Client { return &api.Client{URL: b.url, Token: token} }

// dropped is a chat that takes everything.
type dropped struct{}

func (dropped) Send(context.Context, store.Outgoing) error { return nil }

// handedOver opens a case.
func (b *bot) handedOver(t *testing.T, talk string) {
	t.Helper()
	for i, text := range []string{"it is dead", "I want a person"} {
		took, err := b.as(tokenBridge).Hand(t.Context(), api.Message{ID: fmt.Sprintf("%s-%d", talk, i), Conversation: talk, Owner: "ada", Text: text})
		require.NoError(t, err)
		require.True(t, took.Taken, "%v", took)
	}
}

func refusal(t *testing.T, err error) *api.Error {
	t.Helper()
	var refused *api.Error
	require.ErrorAs(t, err, &refused)
	return refused
}

// A case from hand-over to reopening, by two people.
func TestCases(t *testing.T) {
	b, ctx := newBot(t, dropped{}), t.Context()
	vera, walt := b.as(tokenVera), b.as(tokenWalt)
	all, err := vera.Cases(ctx, "", false, 0)
	list := all.Cases
	require.NoError(t, err)
	assert.Empty(t, list)
	b.handedOver(t, "t1")
	all, err = vera.Cases(ctx, store.Waiting, false, 0)
	list = all.Cases
	require.NoError(t, err)
	require.Len(t, list, 1)
	id := list[0].ID
	c, err := vera.Take(ctx, id)
	require.NoError(t, err)
	assert.Equal(t, "local:vera", c.Taker, "the token says who it is")
	_, err = walt.Take(ctx, id)
	refused := refusal(t, err)
	assert.Equal(t, http.StatusConflict, refused.Status)
	assert.Equal(t, "taken", refused.Code)
	assert.Equal(t, "local:vera", refused.By)
	assert.EqualError(t, err, "case 1 is taken by local:vera")
	own, err := vera.Cases(ctx, "", true, 0)
	mine := own.Cases
	require.NoError(t, err)
	assert.Len(t, mine, 1)
	own, err = walt.Cases(ctx, "", true, 0)
	mine = own.Cases
	require.NoError(t, err)
	assert.Empty(t, mine)

	_, err = vera.Note(ctx, id, "rain")
	require.NoError(t, err)
	c, err = vera.Ask(ctx, id, "pack-volts")
	require.NoError(t, err)
	assert.Equal(t, store.DeedAsk, c.Audit[len(c.Audit)-1].Deed)
	_, err = vera.Ask(ctx, id, "pack-vlots")
	assert.Equal(t, "input", refusal(t, err).Code)
	assert.ErrorContains(t, err, `did you mean "pack-volts"?`)
	_, err = vera.HandOn(ctx, id, "local:walt")
	require.NoError(t, err)
	_, err = walt.Close(ctx, id, api.Outcome{Cause: "pack-flat"})
	assert.Equal(t, http.StatusUnprocessableEntity, refusal(t, err).Status)
	c, err = walt.Close(ctx, id, api.Outcome{NotFound: true})
	require.NoError(t, err)
	assert.Equal(t, store.Closed, c.State)
	_, err = walt.Take(ctx, id)
	assert.Equal(t, "closed", refusal(t, err).Code)
	c, err = walt.Reopen(ctx, id)
	require.NoError(t, err)
	assert.Equal(t, store.Waiting, c.State)
	_, err = walt.Reopen(ctx, id)
	assert.Equal(t, "not-closed", refusal(t, err).Code)
	_, err = walt.Close(ctx, id, api.Outcome{NotFound: true})
	assert.Equal(t, "not-yours", refusal(t, err).Code)
	_, err = walt.Case(ctx, 99)
	assert.Equal(t, http.StatusNotFound, refusal(t, err).Status)
	one, err := walt.Case(ctx, id)
	require.NoError(t, err)
	assert.Len(t, one.Case.Audit, 7)
}

func TestListsAreWhole(t *testing.T) {
	b := newBot(t, dropped{}, func(c *desk.Config) { c.Limits.OwnerBurst = 1000 })
	for i := range 5 {
		b.handedOver(t, fmt.Sprintf("t%d", i))
	}
	var seen []uint64
	for after := uint64(0); ; {
		a := b.get(t, tokenVera, fmt.Sprintf("/v1/cases?state=waiting&limit=2&after=%d", after))
		var l api.List
		require.NoError(t, json.Unmarshal(a, &l))
		if len(l.Cases) == 0 {
			break
		}
		for _, c := range l.Cases {
			seen = append(seen, c.ID)
			after = c.ID
		}
	}
	assert.Equal(t, []uint64{1, 2, 3, 4, 5}, seen)
}

func (b *bot) get(t *testing.T, token, path string) []byte {
	t.Helper()
	q, err := http.NewRequestWithContext(t.Context(), http.MethodGet, b.url+path, nil)
	require.NoError(t, err)
	q.Header.Set("Authorization", "Bearer "+token)
	a, err := http.DefaultClient.Do(q)
	require.NoError(t, err)
	defer a.Body.Close()
	data, err := io.ReadAll(a.Body)
	require.NoError(t, err)
	return data
}

// Every path by every kind of token: nobody gets in with none, a wrong or
// another's, and roles hold.
func TestTokensAndRoles(t *testing.T) {
	b := newBot(t, dropped{})
	b.handedOver(t, "t1")
	paths := []string{"GET /v1/cases", "GET /v1/cases/1", "POST /v1/cases/1/take", "POST /v1/cases/1/note", "POST /v1/cases/1/ask", "POST /v1/cases/1/hand-on",
		"POST /v1/cases/1/close", "POST /v1/cases/1/reopen", "POST /v1/forget", "GET /v1/backup", "POST /v1/messages"}
	bodies := map[string]string{"note": `{"text":"x"}`, "ask": `{"check":"pack-volts"}`, "hand-on": `{"to":""}`, "close": `{"not_found":true}`,
		"forget": `{"owner":"bridge:ada"}`, "messages": `{"id":"1","conversation":"c","owner":"o","text":"x"}`}
	call := func(path, header string) int {
		method, url, _ := strings.Cut(path, " ")
		q, err := http.NewRequestWithContext(t.Context(), method, b.url+url, strings.NewReader(bodies[url[strings.LastIndexByte(url, '/')+1:]]))
		require.NoError(t, err)
		if header != "" {
			q.Header.Set("Authorization", header)
		}
		a, err := http.DefaultClient.Do(q)
		require.NoError(t, err)
		defer a.Body.Close()
		_, _ = io.Copy(io.Discard, a.Body)
		return a.StatusCode
	}
	for _, path := range paths {
		assert.Equal(t, http.StatusUnauthorized, call(path, ""), path)
		assert.Equal(t, http.StatusForbidden, call(path, "Bearer "+tokenShop), "a vendor: %s", path)
		if path != "POST /v1/messages" {
			assert.Equal(t, http.StatusForbidden, call(path, "Bearer "+tokenBridge), "the bridge: %s", path)
		}
	}
	for _, path := range []string{"POST /v1/forget", "GET /v1/backup", "POST /v1/messages"} {
		assert.Equal(t, http.StatusForbidden, call(path, "Bearer "+tokenVera), path)
	}
	assert.Equal(t, http.StatusForbidden, call("POST /v1/messages", "Bearer "+tokenKim))
	for _, header := range []string{"Bearer ", "Bearer", tokenVera, "Basic " + tokenVera, "bearer " + tokenVera, "Bearer " + tokenVera + "x", "Bearer " + tokenVera[1:]} {
		assert.Contains(t, []int{http.StatusUnauthorized, http.StatusTooManyRequests}, call("GET /v1/cases", header), "%q", header)
	}
	slowed := false
	for range 50 {
		slowed = slowed || call("GET /v1/cases", "Bearer wrong") == http.StatusTooManyRequests
	}
	assert.True(t, slowed, "guessing is slow")
	assert.Equal(t, http.StatusOK, call("GET /v1/cases", "Bearer "+tokenVera), "and holds nobody up who has a token")
	assert.NotContains(t, b.log.String(), "token-of")
}

func TestBadRequests(t *testing.T) {
	b := newBot(t, dropped{})
	b.handedOver(t, "t1")
	for _, x := range []struct{ path, body, want string }{
		{"/v1/cases/one/take", "", `\"one\" is no number of a case`},
		{"/v1/cases/0/take", "", "no number"},
		{"/v1/cases/-1/take", "", "no number"},
		{"/v1/cases/1/note", "", "does not read"},
		{"/v1/cases/1/note", "{", "does not read"},
		{"/v1/cases/1/note", `{"txt":"x"}`, `unknown field`},
		{"/v1/cases/1/note", `{"text":"x"} {}`, "one JSON object"},
		{"/v1/cases/1/note", `{"text":""}`, "a note needs words"},
		{"/v1/cases/1/note", `{"text":"` + strings.Repeat("x", 5000) + `"}`, "longer than the 4000"},
		{"/v1/cases/1/note", `{"text":"` + strings.Repeat("x", 70_000) + `"}`, "65536 bytes at most"},
	} {
		q, err := http.NewRequestWithContext(t.Context(), http.MethodPost, b.url+x.path, strings.NewReader(x.body))
		require.NoError(t, err)
		q.Header.Set("Authorization", "Bearer "+tokenVera)
		a, err := http.DefaultClient.Do(q)
		require.NoError(t, err)
		data, _ := io.ReadAll(a.Body)
		a.Body.Close()
		assert.Equal(t, 4, a.StatusCode/100, "%s %s", x.path, data)
		assert.Contains(t, string(data), x.want)
		assert.True(t, json.Valid(data))
	}
	assert.Contains(t, string(b.get(t, tokenVera, "/v1/cases?state=lost")), "waiting, taken or closed")
	assert.Contains(t, string(b.get(t, tokenVera, "/v1/cases?after=x")), "no number")
}

func TestForgetAndBackup(t *testing.T) {
	b, ctx := newBot(t, dropped{}), t.Context()
	b.handedOver(t, "t1")
	var copied bytes.Buffer
	require.NoError(t, b.as(tokenKim).Backup(ctx, &copied))
	assert.True(t, bytes.Contains(copied.Bytes(), []byte("it is dead")))
	e, err := b.as(tokenKim).Forget(ctx, "bridge:ada")
	require.NoError(t, err)
	assert.Equal(t, 1, e.Conversations)
	assert.Equal(t, 1, e.Cases)
	copied.Reset()
	require.NoError(t, b.as(tokenKim).Backup(ctx, &copied))
	assert.False(t, bytes.Contains(copied.Bytes(), []byte("it is dead")))
	assert.NotContains(t, b.log.String(), "ada")
}

func TestClientIsToldClearly(t *testing.T) {
	b := newBot(t, dropped{})
	_, err := b.as("wrong").Cases(t.Context(), "", false, 0)
	assert.EqualError(t, err, "the token is missing or wrong; give the one that the bot's config names for you")
	gone := httptest.NewServer(nil)
	gone.Close()
	_, err = (&api.Client{URL: gone.URL, Token: "x"}).Take(t.Context(), 1)
	require.ErrorIs(t, err, api.ErrNotRunning)
	other := httptest.NewServer(http.NotFoundHandler())
	defer other.Close()
	_, err = (&api.Client{URL: other.URL, Token: "x"}).Take(t.Context(), 1)
	assert.ErrorContains(t, err, "something answers 404 Not Found there that is not the bot")
}

// A fault of the bot's is logged, and not told to who asks.
func TestFaultsAreNotTold(t *testing.T) {
	b := newBot(t, dropped{})
	require.NoError(t, b.store.Close())
	_, err := b.as(tokenVera).Cases(t.Context(), "", false, 0)
	refused := refusal(t, err)
	assert.Equal(t, http.StatusServiceUnavailable, refused.Status)
	assert.Equal(t, "stopping", refused.Code)
}

func TestKeysMustBeWhole(t *testing.T) {
	for _, k := range []api.Key{{Person: desk.Person{Name: "x"}}, {Token: "x"}} {
		_, err := api.New(api.Config{Keys: []api.Key{k}})
		assert.Error(t, err)
	}
}

// A message is taken once however often it is handed in; too much and too long
// get an answer and no turn.
func TestMessages(t *testing.T) {
	b, ctx := newBot(t, dropped{}, func(c *desk.Config) { c.Limits = desk.Limits{OwnerBurst: 2, OwnerEvery: time.Hour, Message: 20} }), t.Context()
	times := map[string]time.Time{"m1": time.Unix(0, 0), "m2": time.Now().Add(24 * time.Hour)} // a clock that is off
	hand := func(id, text string) api.Took {
		took, err := b.as(tokenBridge).Hand(ctx, api.Message{ID: id, Conversation: "t1", Owner: "ada", Server: "s", Text: text, Time: times[id]})
		require.NoError(t, err)
		return took
	}
	for range 5 {
		assert.True(t, hand("m1", "it is dead").Taken, "again, and not counted against the limit")
	}
	long := hand("m2", strings.Repeat("x", 21))
	assert.False(t, long.Taken)
	assert.Contains(t, long.Say[0], "longer than I can read (20 characters)")
	assert.True(t, hand("m2", "hello").Taken)
	much := hand("m3", "hello")
	assert.False(t, much.Taken)
	assert.Contains(t, much.Say[0], "more at once")
	assert.Empty(t, hand("m4", "hello").Say, "said once")
	talk, _, err := b.store.Conversation(api.Place + "t1")
	require.NoError(t, err)
	assert.EqualValues(t, 2, talk.Turns)
	assert.WithinDuration(t, time.Now(), talk.Last, time.Hour)
	_, err = b.as(tokenBridge).Hand(ctx, api.Message{ID: strings.Repeat("x", 200), Conversation: "t1", Owner: "ada"})
	assert.Equal(t, "input", refusal(t, err).Code)
	_, err = b.as(tokenBridge).Hand(ctx, api.Message{Conversation: "t1", Owner: "ada"})
	assert.Equal(t, "input", refusal(t, err).Code)
}

// What the bot says reaches the bridge without the bot's own prefixes, with the
// token and, when it failed, again with the same nonce.
func TestDeliver(t *testing.T) {
	var (
		mu  sync.Mutex
		got []api.Delivery
	)
	all := make(chan struct{}, 100)
	bridge := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		var d api.Delivery
		assert.NoError(t, json.NewDecoder(r.Body).Decode(&d))
		assert.Equal(t, "Bearer shared", r.Header.Get("Authorization"))
		mu.Lock()
		got = append(got, d)
		n := len(got)
		mu.Unlock()
		all <- struct{}{}
		if n < 3 {
			w.WriteHeader(http.StatusBadGateway)
		}
	}))
	client := &http.Client{Transport: &http.Transport{}}
	b := newBot(t, &api.Deliver{URL: bridge.URL, Token: "shared", Client: client})
	_, err := b.as(tokenBridge).Hand(t.Context(), api.Message{ID: "m1", Conversation: "t1", Owner: "ada", Text: "it is dead"})
	require.NoError(t, err)
	for range 3 {
		<-all
	}
	client.CloseIdleConnections()
	bridge.Close()
	require.Len(t, got, 3)
	assert.Equal(t, "t1", got[2].To)
	assert.Equal(t, "m1", got[2].ReplyTo)
	assert.Equal(t, store.KindTurn, got[2].Kind)
	assert.NotEmpty(t, got[2].Lines)
	require.NotNil(t, got[2].Ask)
	assert.Equal(t, got[0].Nonce, got[2].Nonce)
}

func TestDeliverRefusals(t *testing.T) {
	status, after := 0, ""
	bridge := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if after != "" {
			w.Header().Set("Retry-After", after)
		}
		w.WriteHeader(status)
	}))
	defer bridge.Close()
	client := &http.Client{Transport: &http.Transport{DisableKeepAlives: true}}
	d := &api.Deliver{URL: bridge.URL, Client: client}
	send := func(s int, a string) error {
		status, after = s, a
		return d.Send(t.Context(), store.Outgoing{To: "bridge:t1"})
	}
	var (
		permanent *turns.PermanentError
		retry     *turns.RetryError
	)
	assert.NoError(t, send(204, ""))
	assert.ErrorAs(t, send(404, ""), &permanent)
	for _, s := range []int{408, 429, 500, 502, 503} {
		err := send(s, "")
		require.Error(t, err)
		assert.False(t, errors.As(err, &permanent), "%d is tried again", s)
	}
	require.ErrorAs(t, send(429, "7"), &retry)
	assert.Equal(t, 7*time.Second, retry.After)
	d.URL = "http://127.0.0.1:0/"
	err := d.Send(t.Context(), store.Outgoing{})
	require.Error(t, err)
	assert.False(t, errors.As(err, &permanent))
}

// Over a store of invented cases every answer with cases says so.
func TestDemoIsMarked(t *testing.T) {
	var c desk.Config
	b := newBot(t, dropped{}, func(given *desk.Config) { c = *given })
	b.handedOver(t, "t1")
	d, err := desk.New(c)
	require.NoError(t, err)
	h, err := api.New(api.Config{Desk: d, Store: b.store, Runner: b.runner, Now: c.Now, Log: c.Log, Demo: true, Keys: []api.Key{
		{Token: tokenVera, Person: desk.Person{Name: "local:vera", Roles: []desk.Role{desk.Volunteer}}},
	}})
	require.NoError(t, err)
	w := httptest.NewServer(h)
	defer w.Close()
	vera := &api.Client{URL: w.URL, Token: tokenVera}
	list, err := vera.Cases(t.Context(), "", false, 0)
	require.NoError(t, err)
	assert.True(t, list.Demo)
	one, err := vera.Case(t.Context(), list.Cases[0].ID)
	require.NoError(t, err)
	assert.True(t, one.Demo)
	list, err = b.as(tokenVera).Cases(t.Context(), "", false, 0)
	require.NoError(t, err)
	assert.False(t, list.Demo, "the real thing is not marked")
}
