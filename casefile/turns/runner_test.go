package turns_test

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// Many conversations at once, each message given three times: each gets one
// turn, in order, and one answer.
func TestEachMessageOneTurn(t *testing.T) {
	r, c, s := setUp(t, func(c *turns.Config) { c.Kept = 8 * 2500 }) // most states are read anew
	const talks, each = 40, 12
	var all sync.WaitGroup
	for i := range talks {
		all.Go(func() {
			talk := fmt.Sprintf("talk-%d", i)
			for n := range each {
				var copies sync.WaitGroup
				for range 3 {
					copies.Go(func() { assert.NoError(t, r.Take(context.Background(), incoming(talk, n))) })
				}
				copies.Wait()
			}
		})
	}
	all.Wait()
	c.await(t, talks*each)
	for i := range talks {
		talk := fmt.Sprintf("talk-%d", i)
		var want []string
		for n := range each {
			want = append(want, echoed(n))
		}
		assert.Equal(t, want, c.lines(talk))
		known, events, err := s.Conversation(talk)
		require.NoError(t, err)
		assert.Equal(t, uint64(each), known.Turns)
		assert.Equal(t, words(each-1), conversation.Replay(events).Pending.ID)
	}
}

// Enter does not wait for the disk, and keeps the order in which it was called.
func TestEnterKeepsOrder(t *testing.T) {
	r, c, _ := setUp(t)
	order := make(chan int, 200)
	for n := range 200 {
		require.NoError(t, r.Enter(t.Context(), incoming("talk", n), func(err error) {
			assert.NoError(t, err)
			order <- n
		}))
	}
	for n := range 200 {
		require.Equal(t, n, <-order)
	}
	c.await(t, 200)
	for n, line := range c.lines("talk") {
		assert.Equal(t, echoed(n), line)
	}
}

// blocked holds every turn until it is let go.
type blocked struct {
	echo
	in, free chan struct{}
}

func (b blocked) Step(st *conversation.State, msg string, now time.Time) ([]conversation.Event, conversation.Turn, error) {
	b.in <- struct{}{}
	<-b.free
	return b.echo.Step(st, msg, now)
}

// With no room left, callers wait; nothing piles up.
func TestRoomIsBounded(t *testing.T) {
	b := blocked{in: make(chan struct{}, 10), free: make(chan struct{})}
	r, c, _ := setUp(t, func(c *turns.Config) { c.Engine, c.Waiting, c.Workers = b, 3, 2 })
	for n := range 3 {
		require.NoError(t, r.Enter(t.Context(), incoming("talk", n), func(err error) { assert.NoError(t, err) }))
	}
	<-b.in
	gone, cancel := context.WithTimeout(t.Context(), 20*time.Millisecond)
	defer cancel()
	require.ErrorIs(t, r.Take(gone, incoming("other", 0)), context.DeadlineExceeded)
	close(b.free)
	c.await(t, 3)
	require.NoError(t, r.Take(t.Context(), incoming("other", 0)))
}

// Goroutines are as many with a thousand conversations in hand as with one.
func TestGoroutinesDoNotGrow(t *testing.T) {
	b := blocked{in: make(chan struct{}, 4), free: make(chan struct{})}
	r, c, _ := setUp(t, func(c *turns.Config) { c.Engine, c.Workers = b, 4 })
	enter := func(i int) {
		require.NoError(t, r.Enter(t.Context(), incoming(fmt.Sprintf("talk-%d", i), 0), func(err error) { assert.NoError(t, err) }))
	}
	for i := range 4 {
		enter(i)
		<-b.in
	}
	few := runtime.NumGoroutine()
	for i := range 1000 {
		enter(i + 4)
	}
	assert.LessOrEqual(t, runtime.NumGoroutine(), few+2)
	go func() {
		for range b.in {
		}
	}()
	close(b.free)
	c.await(t, 1004)
	close(b.in)
	assert.LessOrEqual(t, runtime.NumGoroutine(), few+2)
}

// Another hand goes on with the conversation: the turn is worked out anew.
func TestStaleStateIsReadAnew(t *testing.T) {
	r, c, s := setUp(t)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	_, err := s.Commit(t.Context(), store.Turn{Conversation: "talk", Owner: "vera", Base: 1, Time: start,
		Events: []conversation.Event{{Kind: conversation.Asked, Time: start, Question: &conversation.PendingAsk{Kind: conversation.AskCheck, ID: "a check vera asked for"}}}})
	require.NoError(t, err)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 2)
	assert.Equal(t, "2 word-1, asked a check vera asked for", c.lines("talk")[1])
}

func TestHandOverMakesACase(t *testing.T) {
	r, c, s := setUp(t)
	in := incoming("talk", 0)
	in.Text = "person"
	require.NoError(t, r.Take(t.Context(), in))
	require.NoError(t, r.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 3)
	list, err := s.Cases(store.Waiting, 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 1, "one hand-over, one case")
	_, document, err := s.Case(list[0].ID)
	require.NoError(t, err)
	assert.JSONEq(t, `{"turns":2}`, string(document), "with what the owner said since")
	assert.Len(t, list[0].Audit, 1)
	require.Len(t, c.got["volunteers"], 1)
	assert.Equal(t, list[0].ID, c.got["volunteers"][0].Case)
}

// bursting breaks down at one word.
type bursting struct{ echo }

func (b bursting) Step(st *conversation.State, msg string, now time.Time) ([]conversation.Event, conversation.Turn, error) {
	if msg == "burst" {
		panic("a secret word")
	}
	return b.echo.Step(st, msg, now)
}

// A turn that breaks down is answered too, goes to a person, and troubles nobody else.
func TestBrokenTurn(t *testing.T) {
	r, c, s := setUp(t, func(c *turns.Config) { c.Engine = bursting{} })
	in := incoming("talk", 0)
	in.Text = "burst"
	require.NoError(t, r.Take(t.Context(), in))
	require.NoError(t, r.Take(t.Context(), incoming("other", 0)))
	c.await(t, 3)
	assert.Equal(t, []string{"sorry"}, c.lines("talk"))
	assert.Equal(t, []string{echoed(0)}, c.lines("other"))
	list, err := s.Cases(store.Waiting, 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 1)
	assert.Equal(t, conversation.ReasonUnexplained, list[0].Reason)
}

// Close finishes what was taken; what comes later is refused.
func TestCloseFinishesTurns(t *testing.T) {
	s, c := openStore(t, filepath.Join(t.TempDir(), "triagebot.db")), newChat()
	r, err := turns.New(config(s, c))
	require.NoError(t, err)
	var mu sync.Mutex
	done := 0
	for n := range 100 {
		require.NoError(t, r.Enter(t.Context(), incoming("talk", n), func(err error) {
			assert.NoError(t, err)
			mu.Lock()
			done++
			mu.Unlock()
		}))
	}
	require.NoError(t, r.Close(t.Context()))
	assert.Equal(t, 100, done)
	require.ErrorIs(t, r.Take(t.Context(), incoming("talk", 100)), turns.ErrClosed)
	// What was not sent before is sent by the next.
	newRunner(t, config(s, c))
	c.await(t, 100)
	for n, line := range c.lines("talk") {
		assert.Equal(t, echoed(n), line)
	}
}

func TestCloseThatMayNotWait(t *testing.T) {
	b := blocked{in: make(chan struct{}, 10), free: make(chan struct{})}
	s, c := openStore(t, filepath.Join(t.TempDir(), "triagebot.db")), newChat()
	conf := config(s, c)
	conf.Engine, conf.Workers = b, 1
	r, err := turns.New(conf)
	require.NoError(t, err)
	errs := make(chan error, 2)
	for n := range 2 {
		require.NoError(t, r.Enter(t.Context(), incoming("talk", n), func(err error) { errs <- err }))
	}
	<-b.in
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	closed := make(chan error)
	go func() { closed <- r.Close(gone) }()
	time.Sleep(10 * time.Millisecond) // lets Close give up before the turn is let go
	close(b.free)
	require.ErrorIs(t, <-closed, context.Canceled)
	<-errs // the turn in hand may still be kept
	assert.ErrorIs(t, <-errs, turns.ErrClosed)
}

func TestForgetFromMemoryToo(t *testing.T) {
	r, c, s := setUp(t)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	c.await(t, 1)
	e, err := r.Forget(t.Context(), "owner-talk")
	require.NoError(t, err)
	assert.Equal(t, 1, e.Conversations)
	again := incoming("talk", 1)
	again.Text = words(0)
	require.NoError(t, r.Take(t.Context(), again))
	c.await(t, 1)
	assert.Equal(t, []string{echoed(0), echoed(0)}, c.lines("talk"), "the talk starts anew")
	known, _, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, uint64(1), known.Turns)
}

func TestBadMessagesAndConfig(t *testing.T) {
	r, _, s := setUp(t)
	require.Error(t, r.Take(t.Context(), turns.Incoming{Conversation: "talk", Owner: "ada"}))
	require.Error(t, r.Take(t.Context(), turns.Incoming{ID: "m", Conversation: "a\x00b", Owner: "ada"}))
	for name, spoil := range map[string]func(*turns.Config){
		"store": func(c *turns.Config) { c.Store = nil }, "engine": func(c *turns.Config) { c.Engine = nil },
		"clock": func(c *turns.Config) { c.After = nil }, "jitter": func(c *turns.Config) { c.Jitter = nil },
	} {
		conf := config(s, newChat())
		spoil(&conf)
		_, err := turns.New(conf)
		require.ErrorContains(t, err, name)
	}
}

// A turn that could not be kept is an error, and the same message can come again.
func TestStoreFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "triagebot.db")
	s, c := openStore(t, path), newChat()
	r := newRunner(t, config(s, c))
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	c.await(t, 1)
	require.NoError(t, s.Close())
	err := r.Take(t.Context(), incoming("talk", 1))
	require.ErrorIs(t, err, store.ErrClosed)
	require.NoError(t, r.Close(t.Context()))
	again := newRunner(t, config(openStore(t, path), c))
	require.NoError(t, again.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 1)
	assert.Equal(t, []string{echoed(0), echoed(1)}, c.lines("talk"))
}

// Memory at rest: what ten times as many conversations add outside the file.
func TestMemoryAtRest(t *testing.T) {
	r, c, _ := setUp(t)
	rest := func(from, to int) uint64 {
		var all sync.WaitGroup
		next := make(chan int)
		for range 64 {
			all.Go(func() {
				for i := range next {
					assert.NoError(t, r.Take(context.Background(), incoming(fmt.Sprintf("talk-%d", i), 0)))
				}
			})
		}
		for i := from; i < to; i++ {
			next <- i
		}
		close(next)
		all.Wait()
		c.await(t, to-from)
		c.mu.Lock()
		clear(c.got)
		c.mu.Unlock()
		runtime.GC()
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		return m.HeapAlloc
	}
	few, more := 500, 5000
	before := rest(0, few)
	after := rest(few, more)
	grown := 0.0
	if after > before {
		grown = float64(after-before) / float64(more-few)
	}
	t.Logf("%.0f bytes a conversation at rest", grown)
	assert.Less(t, grown, 4096.0)
}
