package turns_test

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
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// word is an aside that says one line.
func word(line string) func(*conversation.State, time.Time) ([]conversation.Event, conversation.Turn, error) {
	return func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
		return []conversation.Event{{Kind: conversation.BotSaid, Time: now, Lines: []string{line}}}, conversation.Turn{Say: []string{line}}, nil
	}
}

func TestAside(t *testing.T) {
	r, c, s := setUp(t)
	require.ErrorIs(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Step: word("x")}), turns.ErrNoTalk)
	require.Error(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk"}))
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	c.await(t, 1)
	require.NoError(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Step: word("by the way"), Kind: store.KindNotice,
		Tell: []store.Outgoing{{To: "volunteers", Kind: store.KindWord, Lines: []string{"told"}}}}))
	c.await(t, 2)
	assert.Equal(t, []string{echoed(0), "by the way"}, c.lines("talk"))
	assert.Equal(t, []string{"told"}, c.lines("volunteers"))
	talk, events, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.EqualValues(t, 2, talk.Turns)
	assert.Equal(t, "owner-talk", talk.Owner)
	assert.Equal(t, conversation.BotSaid, events[len(events)-1].Kind)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 1)))
	c.await(t, 1)
	assert.Equal(t, echoed(1), c.lines("talk")[2], "the talk goes on where it was")
}

func TestAsideThatDoesNothing(t *testing.T) {
	r, c, s := setUp(t)
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	c.await(t, 1)
	nothing := func(*conversation.State, time.Time) ([]conversation.Event, conversation.Turn, error) {
		return nil, conversation.Turn{}, nil
	}
	require.NoError(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Step: nothing}))
	refused := errors.New("not now")
	refuses := func(*conversation.State, time.Time) ([]conversation.Event, conversation.Turn, error) {
		return nil, conversation.Turn{}, refused
	}
	require.ErrorIs(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Step: refuses}), refused)
	breaks := func(*conversation.State, time.Time) ([]conversation.Event, conversation.Turn, error) { panic("x") }
	require.ErrorContains(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Step: breaks}), "broke down")
	// An act that is refused keeps the turn from being kept: there is no case.
	act := &store.Act{Who: "vera", Deed: store.DeedAsk, Text: "x", Time: start}
	require.ErrorIs(t, r.Aside(t.Context(), turns.Aside{Conversation: "talk", Act: act, Step: word("x")}), store.ErrNoCase)
	talk, _, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.EqualValues(t, 1, talk.Turns)
}

// Act and turn are kept together or not at all: with the case taken by another
// nothing is said, and with it taken by who acts both are there.
func TestAsideWithAnAct(t *testing.T) {
	r, c, s := setUp(t)
	m := incoming("talk", 0)
	m.Text = "person"
	require.NoError(t, r.Take(t.Context(), m))
	c.await(t, 2)
	_, _, err := s.Act(t.Context(), 1, store.Act{Who: "vera", Deed: store.DeedTake, Time: start})
	require.NoError(t, err)
	ask := func(who string) error {
		return r.Aside(t.Context(), turns.Aside{Conversation: "talk", Act: &store.Act{Who: who, Deed: store.DeedAsk, Text: "x", Time: start}, Step: word("asked")})
	}
	var taken *store.TakenError
	require.ErrorAs(t, ask("walt"), &taken)
	assert.Equal(t, "vera", taken.By)
	before, _, err := s.Conversation("talk")
	require.NoError(t, err)
	require.NoError(t, ask("vera"))
	c.await(t, 1)
	after, _, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, before.Turns+1, after.Turns)
	kept, _, err := s.Case(1)
	require.NoError(t, err)
	require.Len(t, kept.Audit, 3)
	assert.Equal(t, store.DeedAsk, kept.Audit[2].Deed)
}

// Asides among messages: each has its turn once, and every turn is told of once.
func TestAsidesAmongMessages(t *testing.T) {
	var (
		mu       sync.Mutex
		happened []store.Turn
	)
	r, c, s := setUp(t, func(c *turns.Config) {
		c.Happened = func(t store.Turn, _ store.Committed) {
			mu.Lock()
			defer mu.Unlock()
			happened = append(happened, t)
		}
	})
	require.NoError(t, r.Take(t.Context(), incoming("talk", 0)))
	var all sync.WaitGroup
	for i := range 20 {
		all.Go(func() {
			assert.NoError(t, r.Aside(context.Background(), turns.Aside{Conversation: "talk", Step: word(fmt.Sprintf("aside %d", i))}))
		})
	}
	for n := 1; n < 20; n++ {
		require.NoError(t, r.Take(t.Context(), incoming("talk", n)))
	}
	all.Wait()
	c.await(t, 40)
	talk, events, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.EqualValues(t, 40, talk.Turns)
	assert.Len(t, happened, 40)
	var said []string
	for _, e := range events {
		if e.Kind == conversation.BotSaid {
			said = append(said, e.Lines...)
		}
	}
	assert.Equal(t, said, c.lines("talk"), "sent in the order they were kept")
	for i, h := range happened {
		assert.EqualValues(t, i, h.Base)
	}
}
