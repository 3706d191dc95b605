package turns_test

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
)

var errGateway = errors.New("the gateway is down")

// clock stands still until it is told to go on. asked gets every pause that
// somebody waits for.
type clock struct {
	mu    sync.Mutex
	now   time.Time
	asked chan pause
}

type pause struct {
	d    time.Duration
	over chan time.Time
}

func newClock() *clock { return &clock{now: start, asked: make(chan pause, 100)} }

func (c *clock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.now
}

func (c *clock) After(d time.Duration) <-chan time.Time {
	over := make(chan time.Time, 1)
	c.asked <- pause{d, over}
	return over
}

// pass lets the pause that is waited for pass, and sets the clock on by it.
func (c *clock) pass(t testing.TB, shift time.Duration) time.Duration {
	t.Helper()
	select {
	case p := <-c.asked:
		c.mu.Lock()
		c.now = c.now.Add(p.d + shift)
		p.over <- c.now
		c.mu.Unlock()
		return p.d
	case <-time.After(10 * time.Second):
		require.Fail(t, "nobody waits")
		return 0
	}
}

func withClock(c *clock) func(*turns.Config) {
	return func(conf *turns.Config) {
		conf.Now, conf.After = c.Now, c.After
		conf.FirstRetry, conf.LastRetry, conf.Senders = time.Second, 8*time.Second, 1
	}
}

// failing fails the first n attempts with an error.
func failing(n int, err error) func(store.Outgoing, int) error {
	return func(_ store.Outgoing, attempt int) error {
		if attempt <= n {
			return err
		}
		return nil
	}
}

// The pauses double up to a bound; half of each is spread by the jitter (0.5).
func TestBackoff(t *testing.T) {
	k := newClock()
	r, c, s := setUp(t, withClock(k))
	c.fail = failing(6, errGateway)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	require.NoError(t, r.Take(t.Context(), incoming("talk", 1)))
	var pauses []time.Duration
	for range 6 {
		pauses = append(pauses, k.pass(t, 0))
	}
	c.await(t, 2)
	ms := time.Millisecond
	assert.Equal(t, []time.Duration{750 * ms, 1500 * ms, 3000 * ms, 6000 * ms, 6000 * ms, 6000 * ms}, pauses)
	assert.Equal(t, []string{echoed(0), echoed(1)}, c.lines("talk"), "the second waits for the first")
	assert.Eventually(t, func() bool {
		list, err := s.Outbox(0, 10)
		return err == nil && len(list) == 0
	}, 10*time.Second, time.Millisecond)
}

func TestRetryAfterIsObeyed(t *testing.T) {
	k := newClock()
	r, c, _ := setUp(t, withClock(k))
	c.fail = failing(1, &turns.RetryError{After: 17 * time.Second, Err: errors.New("too many")})
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	assert.Equal(t, 17*time.Second, k.pass(t, 0))
	c.await(t, 1)
}

// A refusal for good ends the attempts and does not hold up the next message.
func TestRefusedForGood(t *testing.T) {
	r, c, s := setUp(t)
	c.fail = failing(1, &turns.PermanentError{Err: errors.New("cannot write to this person")})
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	require.NoError(t, r.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 1)
	assert.Equal(t, []string{echoed(1)}, c.lines("talk"))
	list, err := s.Outbox(0, 10)
	require.NoError(t, err)
	require.NotEmpty(t, list)
	assert.Equal(t, "cannot write to this person", list[0].Failed)
	assert.Equal(t, 1, list[0].Attempts)
}

// One address that fails does not hold up the others.
func TestAddressesDoNotWaitForEachOther(t *testing.T) {
	r, c, _ := setUp(t, func(c *turns.Config) { c.Senders, c.FirstRetry = 1, time.Hour })
	c.fail = func(o store.Outgoing, _ int) error {
		if o.To == "bad" {
			return errGateway
		}
		return nil
	}
	require.NoError(t, r.Take(t.Context(), incoming("bad", 0)))
	for n := range 5 {
		require.NoError(t, r.Take(t.Context(), incoming("good", n)))
	}
	c.await(t, 5)
	assert.Empty(t, c.lines("bad"))
}

// The clock goes back by a day while a message waits: it still goes out, after
// the longest pause at most.
func TestClockBackDoesNotHoldMessages(t *testing.T) {
	k := newClock()
	r, c, _ := setUp(t, withClock(k))
	c.fail = failing(1, errGateway)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	assert.Equal(t, 750*time.Millisecond, k.pass(t, -24*time.Hour))
	assert.LessOrEqual(t, k.pass(t, 0), 8*time.Second)
	c.await(t, 1)
	assert.Equal(t, []string{echoed(0)}, c.lines("talk"))
}

// A restart goes on with the attempts where they were, and in the middle of
// the question.
func TestRestartGoesOn(t *testing.T) {
	path := filepath.Join(t.TempDir(), "triagebot.db")
	k := newClock()
	s, c := openStore(t, path), newChat()
	conf := config(s, c)
	withClock(k)(&conf)
	c.fail = failing(2, errGateway)
	r, err := turns.New(conf)
	require.NoError(t, err)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	k.pass(t, 0)
	assert.Equal(t, 1500*time.Millisecond, (<-k.asked).d)
	require.NoError(t, r.Close(context.Background()))
	require.NoError(t, s.Close())

	k2 := newClock()
	k2.now = k.Now()
	conf.Store = openStore(t, path)
	withClock(k2)(&conf)
	again := newRunner(t, conf)
	assert.Equal(t, 1500*time.Millisecond, k2.pass(t, 0), "the third attempt is not made before its time")
	c.await(t, 1)
	require.NoError(t, again.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 1)
	assert.Equal(t, []string{echoed(0), echoed(1)}, c.lines("talk"))
}

// What is put into the outbox apart from a turn is sent too.
func TestSend(t *testing.T) {
	r, c, s := setUp(t)
	list, err := s.Queue(t.Context(), store.Outgoing{To: "talk", Kind: store.KindNotice, Lines: []string{"vera has your case"}, Made: start})
	require.NoError(t, err)
	r.Send(list...)
	c.await(t, 1)
	assert.Equal(t, []string{"vera has your case"}, c.lines("talk"))
}
