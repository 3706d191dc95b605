package desk_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
)

func times(t desk.Times) func(*desk.Config) { return func(c *desk.Config) { c.Times = t } }

func (r *room) tick() {
	r.t.Helper()
	require.NoError(r.t, r.desk.Tick(r.t.Context(), r.config.Now()))
}

// Volunteers are reminded of a case that nobody takes, so often and no more;
// a restart repeats nothing, and taking it ends it.
func TestReminders(t *testing.T) {
	set := times(desk.Times{Remind: 4 * time.Hour, RemindAgain: 24 * time.Hour, Reminders: 2, Silent: -1})
	r := newRoom(t, set)
	id := r.handedOver("t1")
	r.clock.add(3 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
	r.clock.add(time.Hour)
	r.tick()
	both := r.chat.await(t, 2)
	said := map[string]string{both[0].To: words(both[0]), both[1].To: words(both[1])}
	assert.Equal(t, "Case 1 has waited 4 h for somebody to take it.\nKit: Sorrel 60 moped.", said["volunteers"])
	assert.Equal(t, "Nobody has been free for your case yet. I have reminded them; it is not forgotten.", said["t1"])
	r.tick()
	r.restart(set)
	r.tick()
	r.chat.nothingMore(t)
	r.clock.add(24 * time.Hour)
	r.tick()
	assert.Contains(t, words(r.chat.await(t, 1)[0]), "28 h")
	r.clock.add(48 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)

	_, err := r.desk.Take(t.Context(), vera, id)
	require.NoError(t, err)
	_, err = r.desk.HandOn(t.Context(), vera, id, "")
	require.NoError(t, err)
	r.chat.await(t, 3)
	r.clock.add(4 * time.Hour)
	r.tick()
	r.chat.await(t, 2)
	c, _, err := r.desk.Case(id)
	require.NoError(t, err)
	assert.Equal(t, store.DeedRemind, c.Audit[len(c.Audit)-1].Deed, "a new wait is reminded of anew")
	_, err = r.desk.Take(t.Context(), vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	r.clock.add(100 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
}

// A silent owner is asked once whether to go on; then the talk is laid aside
// without a word, and goes on where it was when the owner writes.
func TestSilentOwner(t *testing.T) {
	set := times(desk.Times{Silent: 24 * time.Hour, Aside: 48 * time.Hour})
	r := newRoom(t, set)
	asked := r.says("t1", "my sorrel 60 is completely dead, no display")
	require.NotNil(t, asked.Ask)
	r.clock.add(23 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
	r.clock.add(time.Hour)
	r.tick()
	nudge := r.chat.await(t, 1)[0]
	assert.Contains(t, words(nudge), "Are you still at it?")
	require.NotNil(t, nudge.Ask, "the question comes with it, so that it can be answered there")
	assert.Equal(t, asked.Ask.Check, nudge.Ask.Check)
	for range 2 {
		r.tick()
		r.restart(set)
		r.clock.add(20 * time.Hour)
	}
	r.tick()
	r.chat.nothingMore(t)
	assert.Equal(t, conversation.Asking, r.state("t1").Phase)
	r.clock.add(8 * time.Hour)
	r.tick()
	r.restart(set)
	r.clock.add(1000 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
	st := r.state("t1")
	assert.Equal(t, conversation.Done, st.Phase)
	assert.Equal(t, conversation.ReasonSilent, st.Reason)
	turns, _, err := r.store.Conversation("t1")
	require.NoError(t, err)
	assert.EqualValues(t, 3, turns.Turns, "said, nudged, laid aside: each once")
	assert.Equal(t, start, turns.Last, "the nudge does not count as the owner's word")

	back := r.says("t1", asked.Ask.Options[0].Label)
	assert.Equal(t, "We go on where we were.", back.Lines[0])
	require.NotNil(t, back.Ask)
	assert.NotEqual(t, asked.Ask.Check, back.Ask.Check, "the answer counted")
	r.clock.add(24 * time.Hour)
	r.tick()
	assert.Contains(t, words(r.chat.await(t, 1)[0]), "Are you still at it?", "a new silence, a new nudge")
}

// Handed-over talks are the people's: no nudge, no laying aside.
func TestNoNudgeOnceHandedOver(t *testing.T) {
	r := newRoom(t, times(desk.Times{Remind: -1}))
	r.handedOver("t1")
	r.clock.add(1000 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
}

// Old talks are erased once a day, and with them what was in memory.
func TestRetention(t *testing.T) {
	set := times(desk.Times{RetentionDays: 30, Silent: -1, Remind: -1})
	r := newRoom(t, set)
	r.says("t1", "my sorrel 60 is completely dead, no display")
	id := r.handedOver("t2")
	r.tick()
	r.clock.add(29 * 24 * time.Hour)
	r.tick()
	talk, _, err := r.store.Conversation("t1")
	require.NoError(t, err)
	require.EqualValues(t, 1, talk.Turns)
	r.clock.add(2 * 24 * time.Hour)
	r.tick()
	talk, _, err = r.store.Conversation("t1")
	require.NoError(t, err)
	assert.Zero(t, talk.Turns)
	_, _, err = r.desk.Case(id)
	assert.NoError(t, err, "a case that is not closed is kept")
	assert.Contains(t, words(r.says("t1", "thank you")), "", "the talk begins anew")
	assert.Equal(t, 1, r.state("t1").Turn)
}

// A clock that was set back repeats nothing, silences nothing and keeps the
// times of a talk in order.
func TestClockJumpsBack(t *testing.T) {
	set := times(desk.Times{Silent: 24 * time.Hour, Aside: 24 * time.Hour, Remind: 4 * time.Hour, RetentionDays: 10})
	r := newRoom(t, set)
	r.says("t1", "my sorrel 60 is completely dead, no display")
	id := r.handedOver("t2")
	r.clock.add(4 * time.Hour)
	r.tick()
	r.chat.await(t, 2)
	r.clock.add(-1000 * time.Hour)
	r.tick()
	r.chat.nothingMore(t)
	r.says("t1", "how?")
	st := r.state("t1")
	for i, l := range st.Transcript[1:] {
		assert.False(t, l.Time.Before(st.Transcript[i].Time), "line %d is earlier than the one before", i+1)
	}
	_, err := r.desk.Take(t.Context(), vera, id)
	require.NoError(t, err)
	r.chat.await(t, 1)
	r.clock.add(24 * time.Hour)
	r.tick()
	assert.Contains(t, words(r.chat.await(t, 1)[0]), "Are you still at it?", "time goes on from where it was")

	// After a restart nothing is left but the store, whose times lie ahead.
	r.restart(set)
	r.says("t1", "how?")
	st = r.state("t1")
	for i, l := range st.Transcript[1:] {
		assert.False(t, l.Time.Before(st.Transcript[i].Time), "line %d is earlier than the one before", i+1)
	}
	c, err := r.desk.Note(t.Context(), vera, id, "x")
	require.NoError(t, err)
	for i, a := range c.Audit[1:] {
		assert.False(t, a.Time.Before(c.Audit[i].Time))
	}
	r.tick()
	r.chat.nothingMore(t)
}

func TestSteady(t *testing.T) {
	c := &clock{now: start}
	now := desk.Steady(c.Now)
	assert.Equal(t, start, now())
	c.add(-time.Hour)
	assert.Equal(t, start, now(), "stands")
	c.add(time.Minute)
	assert.Equal(t, start.Add(time.Minute), now(), "and goes on at the pace of the clock")
	c.add(-time.Hour)
	assert.Equal(t, start.Add(time.Minute), now(), "once more")
	c.add(3 * time.Hour)
	assert.Equal(t, start.Add(time.Hour+time.Minute), now(), "joins the clock once that is ahead")
	c.add(time.Second)
	assert.Equal(t, start.Add(time.Hour+time.Minute+time.Second), now())
}

// However many are silent, a tick nudges some and leaves the rest for the next.
func TestNudgesAreNoFlood(t *testing.T) {
	r := newRoom(t)
	for i := range 250 {
		_, err := r.store.Commit(t.Context(), store.Turn{Conversation: fmt.Sprintf("t%03d", i), Owner: "ada", Message: fmt.Sprintf("m%d", i), Time: start,
			Events: []conversation.Event{{Kind: conversation.OwnerSaid, Time: start, Text: "hm"}}, Phase: conversation.Opening})
		require.NoError(t, err)
	}
	r.clock.add(24 * time.Hour)
	r.tick()
	r.chat.await(t, 200)
	r.chat.nothingMore(t)
	assert.Equal(t, 250, r.desk.Open())
	r.tick()
	r.chat.await(t, 50)
	r.tick()
	r.chat.nothingMore(t)
}

// BenchmarkTick is a look at what is due when nothing is.
func BenchmarkTick(b *testing.B) {
	const talks = 20_000
	r := newRoom(b)
	var all sync.WaitGroup
	for w := range 100 {
		all.Go(func() {
			for i := w; i < talks; i += 100 {
				_, err := r.store.Commit(context.Background(), store.Turn{Conversation: fmt.Sprintf("t%d", i), Owner: fmt.Sprintf("o%d", i), Time: start,
					Message: fmt.Sprintf("m%d", i), Events: []conversation.Event{{Kind: conversation.OwnerSaid, Time: start, Text: "hm"}}, Phase: conversation.Opening})
				if err != nil {
					b.Error(err)
				}
			}
		})
	}
	all.Wait()
	for b.Loop() {
		if err := r.desk.Tick(context.Background(), start); err != nil {
			b.Fatal(err)
		}
	}
}

// Run looks after each pause, and ends with its context.
func TestRun(t *testing.T) {
	pauses, waits := make(chan time.Time), make(chan time.Duration, 100)
	r := newRoom(t, times(desk.Times{Every: time.Minute, Remind: time.Hour, Silent: -1}), func(c *desk.Config) {
		c.After = func(d time.Duration) <-chan time.Time {
			waits <- d
			return pauses
		}
	})
	r.handedOver("t1")
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- r.desk.Run(ctx) }()
	assert.Equal(t, time.Minute, <-waits)
	r.clock.add(time.Hour)
	r.chat.nothingMore(t)
	pauses <- time.Time{}
	r.chat.await(t, 2)
	<-waits
	stop()
	require.NoError(t, <-ended)

	// What is open is known from the start.
	r.says("t2", "my sorrel 60 is completely dead, no display")
	r.restart()
	assert.Zero(t, r.desk.Open())
	over, end := context.WithCancel(t.Context())
	end()
	require.NoError(t, r.desk.Run(over))
	assert.Equal(t, 1, r.desk.Open())
}

func TestTickOnAClosedStore(t *testing.T) {
	r := newRoom(t, times(desk.Times{RetentionDays: 1}))
	require.NoError(t, r.store.Close())
	assert.True(t, errors.Is(r.desk.Tick(t.Context(), start), store.ErrClosed))
}
