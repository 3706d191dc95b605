package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

func act(who string, deed store.Deed) store.Act {
	return store.Act{Time: start.Add(time.Hour), Who: who, Deed: deed}
}

func closing(who string) store.Act {
	a := act(who, store.DeedClose)
	a.Cause, a.Remedy = "throttle-dead", "replace-throttle"
	return a
}

// do acts on case 1 and expects it to be allowed.
func do(t testing.TB, s *store.Store, a store.Act, tell ...store.Outgoing) store.Case {
	t.Helper()
	c, _, err := s.Act(context.Background(), 1, a, tell...)
	require.NoError(t, err)
	return c
}

func TestCaseFromHandOverToClose(t *testing.T) {
	s := newStore(t)
	done := commit(t, s, handOver(turn("talk", "ada", 0)))
	require.Equal(t, uint64(1), done.Case)
	require.Len(t, done.Outgoing, 2)
	assert.Equal(t, store.KindCase, done.Outgoing[1].Kind)
	assert.Equal(t, "volunteers", done.Outgoing[1].To)
	assert.Equal(t, uint64(1), done.Outgoing[1].Case)

	do(t, s, act("vera", store.DeedTake))
	_, _, err := s.Act(t.Context(), 1, act("walt", store.DeedTake))
	var taken *store.TakenError
	require.ErrorAs(t, err, &taken)
	assert.Equal(t, "vera", taken.By)
	note := act("walt", store.DeedNote)
	note.Text = "same as last week"
	do(t, s, note)
	on := act("vera", store.DeedHandOn)
	on.To = "walt"
	assert.Equal(t, "walt", do(t, s, on).Taker)
	c := do(t, s, closing("walt"), store.Outgoing{To: "talk", Kind: store.KindNotice, Lines: []string{"closed"}})
	assert.Equal(t, store.Closed, c.State)
	_, _, err = s.Act(t.Context(), 1, act("vera", store.DeedTake))
	require.ErrorIs(t, err, store.ErrCaseClosed)
	do(t, s, act("vera", store.DeedReopen))

	c, document, err := s.Case(1)
	require.NoError(t, err)
	assert.JSONEq(t, `{"transcript":"words 0 of ada"}`, string(document))
	assert.Equal(t, store.Waiting, c.State)
	assert.Empty(t, c.Cause)
	var who []string
	for _, a := range c.Audit {
		who = append(who, a.Who+" "+string(a.Deed))
	}
	assert.Equal(t, []string{"triagebot opened", "vera taken", "walt noted", "vera handed-on", "walt closed", "vera reopened"}, who)
	counts, err := s.Counts()
	require.NoError(t, err)
	assert.Equal(t, map[string]uint64{"closed/sorrel-60/throttle-dead/replace-throttle": 1}, counts)
	assert.Len(t, outbox(t, s), 3)
}

func TestHandedOverAgain(t *testing.T) {
	s := newStore(t)
	commit(t, s, handOver(turn("talk", "ada", 0)))
	do(t, s, act("vera", store.DeedTake))
	do(t, s, closing("vera"))
	done := commit(t, s, handOver(turn("talk", "ada", 1)))
	assert.Equal(t, uint64(1), done.Case, "a conversation has one case")
	assert.Equal(t, store.KindCase, done.Outgoing[1].Kind, "volunteers are told again")
	c, document, err := s.Case(1)
	require.NoError(t, err)
	assert.Equal(t, store.Waiting, c.State)
	assert.JSONEq(t, `{"transcript":"words 1 of ada"}`, string(document))
}

// What an owner adds while the case is open goes into its document, and makes
// no noise.
func TestOwnerAddsToTheCase(t *testing.T) {
	s := newStore(t)
	commit(t, s, handOver(turn("talk", "ada", 0)))
	do(t, s, act("vera", store.DeedTake))
	more := handOver(turn("talk", "ada", 1))
	more.HandOver.Anew = false
	done := commit(t, s, more)
	assert.Len(t, done.Outgoing, 1)
	c, document, err := s.Case(1)
	require.NoError(t, err)
	assert.Equal(t, "vera", c.Taker)
	assert.Len(t, c.Audit, 2)
	assert.JSONEq(t, `{"transcript":"words 1 of ada"}`, string(document))
}

func TestTwoTakersAtOnce(t *testing.T) {
	s := newStore(t)
	for n := range 20 {
		commit(t, s, handOver(turn(fmt.Sprintf("talk-%d", n), "ada", 0)))
	}
	for id := uint64(1); id <= 20; id++ {
		var all sync.WaitGroup
		errs := make([]error, 8)
		for i := range errs {
			all.Go(func() { _, _, errs[i] = s.Act(context.Background(), id, act(fmt.Sprintf("v%d", i), store.DeedTake)) })
		}
		all.Wait()
		c, _, err := s.Case(id)
		require.NoError(t, err)
		won := 0
		for i, err := range errs {
			if err == nil {
				won++
				assert.Equal(t, fmt.Sprintf("v%d", i), c.Taker)
				continue
			}
			var taken *store.TakenError
			require.ErrorAs(t, err, &taken)
			assert.Equal(t, c.Taker, taken.By, "the loser is told who has it")
		}
		assert.Equal(t, 1, won)
		assert.Len(t, c.Audit, 2)
	}
}

func TestNoSuchCase(t *testing.T) {
	s := newStore(t)
	_, _, err := s.Case(7)
	require.ErrorIs(t, err, store.ErrNoCase)
	_, _, err = s.Act(t.Context(), 7, act("vera", store.DeedTake))
	require.ErrorIs(t, err, store.ErrNoCase)
}

// Whatever people do, in whatever order: what holds of every case, always.
func TestLifeCycle(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c, err := (store.Case{ID: 1}).After(act(store.Bot, store.DeedOpen))
		require.NoError(t, err)
		for range rapid.IntRange(1, 30).Draw(t, "acts") {
			a := store.Act{
				Time:     start.Add(time.Duration(rapid.IntRange(-60, 60).Draw(t, "minute")) * time.Minute),
				Who:      rapid.SampledFrom([]string{"vera", "walt", "", store.Bot}).Draw(t, "who"),
				Deed:     rapid.SampledFrom([]store.Deed{store.DeedOpen, store.DeedRenew, store.DeedTake, store.DeedNote, store.DeedHandOn, store.DeedClose, store.DeedReopen, store.DeedAsk, store.DeedRemind, "dance"}).Draw(t, "deed"),
				To:       rapid.SampledFrom([]string{"", "walt"}).Draw(t, "to"),
				Text:     rapid.SampledFrom([]string{"", "a note"}).Draw(t, "text"),
				Cause:    rapid.SampledFrom([]string{"", "throttle-dead"}).Draw(t, "cause"),
				Remedy:   rapid.SampledFrom([]string{"", "replace-throttle"}).Draw(t, "remedy"),
				NotFound: rapid.Bool().Draw(t, "not found"),
				Keeper:   rapid.Bool().Draw(t, "keeper"),
			}
			before, audit := c, len(c.Audit)
			after, err := c.After(a)
			require.Equal(t, audit, len(before.Audit), "the case given is not changed")
			if err != nil {
				require.Equal(t, before, after, "a refused act changes nothing")
				var taken *store.TakenError
				if errors.As(err, &taken) {
					require.Equal(t, store.Taken, before.State)
					require.Equal(t, before.Taker, taken.By)
				}
				continue
			}
			require.NotEmpty(t, a.Who)
			require.Equal(t, audit+1, len(after.Audit))
			if a.Time.Before(before.Changed) {
				a.Time = before.Changed
			}
			require.Equal(t, a, after.Audit[audit], "the audit is in order of time though the clock went back")
			require.False(t, after.Changed.Before(before.Changed), "the clock may go back, the case does not")
			switch after.State {
			case store.Waiting:
				require.Empty(t, after.Taker)
				require.Empty(t, after.Cause+after.Remedy)
			case store.Taken:
				require.NotEmpty(t, after.Taker)
			case store.Closed:
				require.NotEqual(t, after.NotFound, after.Cause != "" && after.Remedy != "")
			default:
				t.Fatalf("state %q", after.State)
			}
			if before.State == store.Taken && after.Taker != before.Taker {
				require.True(t, (a.Who == before.Taker || a.Keeper) && a.Deed == store.DeedHandOn, "nobody loses a case but by their own hand or a keeper's: %+v", a)
			}
			c = after
		}
	})
}

// Cases by state are always the cases in that state.
func TestCasesByState(t *testing.T) {
	s := newStore(t)
	for n := range 9 {
		commit(t, s, handOver(turn(fmt.Sprintf("talk-%d", n), "ada", 0)))
	}
	for id := uint64(1); id <= 6; id++ {
		_, _, err := s.Act(t.Context(), id, act("vera", store.DeedTake))
		require.NoError(t, err)
	}
	for id := uint64(1); id <= 3; id++ {
		_, _, err := s.Act(t.Context(), id, closing("vera"))
		require.NoError(t, err)
	}
	_, _, err := s.Act(t.Context(), 2, act("walt", store.DeedReopen))
	require.NoError(t, err)
	for state, want := range map[store.State][]uint64{store.Waiting: {2, 7, 8, 9}, store.Taken: {4, 5, 6}, store.Closed: {1, 3}} {
		var ids []uint64
		after := uint64(0)
		for {
			list, err := s.Cases(state, after, 2)
			require.NoError(t, err)
			if len(list) == 0 {
				break
			}
			for _, c := range list {
				assert.Equal(t, state, c.State)
				ids, after = append(ids, c.ID), c.ID
			}
		}
		assert.Equal(t, want, ids, state)
	}
}

// A talk that ends in danger and is handed over keeps its reason.
func TestReasonOfACase(t *testing.T) {
	s := newStore(t)
	x := handOver(turn("talk", "ada", 0))
	x.Phase, x.HandOver.Reason = conversation.Stopped, conversation.ReasonDanger
	commit(t, s, x)
	c, _, err := s.Case(1)
	require.NoError(t, err)
	assert.Equal(t, conversation.ReasonDanger, c.Reason)
	assert.Equal(t, "sorrel-60", c.Kit)
}
