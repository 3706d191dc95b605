package store_test

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

func TestTurnIsKept(t *testing.T) {
	s := newStore(t)
	done := commit(t, s, turn("talk", "ada", 0))
	commit(t, s, turn("talk", "ada", 1))
	require.Len(t, done.Outgoing, 1)
	assert.LessOrEqual(t, len(done.Outgoing[0].Nonce), 25, "the platform takes no longer nonce")

	talk, events, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, uint64(2), talk.Turns)
	assert.Equal(t, "ada", talk.Owner)
	assert.Equal(t, append(said("words 0 of ada"), said("words 1 of ada")...), events)
	list := outbox(t, s)
	require.Len(t, list, 2)
	assert.Equal(t, done.Outgoing[0].Nonce, list[0].Nonce)
	assert.NotEqual(t, list[0].Nonce, list[1].Nonce)
}

func TestNoTurnTwice(t *testing.T) {
	s := newStore(t)
	commit(t, s, turn("talk", "ada", 0))
	before := records(t, s)

	again := turn("talk", "ada", 1)
	again.Message = "talk-m0"
	_, err := s.Commit(context.Background(), again)
	require.ErrorIs(t, err, store.ErrSeen)

	stale := turn("talk", "ada", 0)
	stale.Message = "another"
	_, err = s.Commit(context.Background(), stale)
	require.ErrorIs(t, err, store.ErrStale)
	assert.Equal(t, before, records(t, s), "a refused turn leaves nothing behind")
}

// Many who answer the same message at the same time: one turn, and many
// messages at the same time: each its turn.
func TestNoTurnTwiceAtOnce(t *testing.T) {
	s := newStore(t)
	var all sync.WaitGroup
	var mu sync.Mutex
	kept := map[string]int{}
	for i := range 200 {
		all.Go(func() {
			x := turn(fmt.Sprintf("talk-%d", i%40), "ada", 0)
			_, err := s.Commit(context.Background(), x)
			mu.Lock()
			defer mu.Unlock()
			if err == nil {
				kept[x.Conversation]++
			} else {
				assert.ErrorIs(t, err, store.ErrSeen)
			}
		})
	}
	all.Wait()
	assert.Len(t, kept, 40)
	for id, n := range kept {
		assert.Equal(t, 1, n, id)
	}
	assert.Len(t, outbox(t, s), 40)
}

func TestSeenIsBounded(t *testing.T) {
	defer store.SeenLimit(10)()
	s := newStore(t)
	for n := range 100 {
		commit(t, s, turn("talk", "ada", n))
		known := 0
		for m := range n + 1 {
			seen, err := s.Seen(fmt.Sprintf("talk-m%d", m))
			require.NoError(t, err)
			if seen {
				known++
			} else {
				assert.Less(t, m, n-9, "message %d of %d is forgotten too early", m, n)
			}
		}
		assert.LessOrEqual(t, known, 20)
	}
}

func TestBadNames(t *testing.T) {
	s := newStore(t)
	for _, name := range []string{"", "a\x00b", string(make([]byte, 201)), string([]byte{0})} {
		for _, spoil := range []func(*store.Turn){
			func(x *store.Turn) { x.Conversation = name },
			func(x *store.Turn) { x.Owner = name },
			func(x *store.Turn) { x.Outgoing[0].To = name },
		} {
			x := turn("talk", "ada", 0)
			spoil(&x)
			_, err := s.Commit(context.Background(), x)
			assert.ErrorContains(t, err, "must have 1 to 200 bytes", "%q", name)
		}
	}
	_, _, err := s.Conversation("")
	assert.Error(t, err)
	_, err = s.Forget(context.Background(), "")
	assert.Error(t, err)
	assert.Error(t, s.Set(context.Background(), "", "x"))
}

// Names must not reach into each other's records.
func TestNamesDoNotMix(t *testing.T) {
	s := newStore(t)
	for _, id := range []string{"a", "ab", "a b", "a\x01", "b"} {
		commit(t, s, turn(id, "ada", 0))
	}
	_, events, err := s.Conversation("a")
	require.NoError(t, err)
	assert.Len(t, events, 1)
	e, err := s.Forget(t.Context(), "ad")
	require.NoError(t, err)
	assert.Zero(t, e)
}

func TestPages(t *testing.T) {
	s := newStore(t)
	fill(t, s, 130, 2) // more than one byte counts
	var ids []string
	after := ""
	for {
		list, talks, err := s.Talks(after, 7)
		require.NoError(t, err)
		require.Len(t, talks, len(list))
		if len(list) == 0 {
			break
		}
		ids, after = append(ids, list...), list[len(list)-1]
	}
	assert.Len(t, ids, 130)
	assert.IsIncreasing(t, ids)

	var mail []store.Outgoing
	last := uint64(0)
	for {
		list, err := s.Outbox(last, 7)
		require.NoError(t, err)
		if len(list) == 0 {
			break
		}
		mail, last = append(mail, list...), list[len(list)-1].Number
	}
	assert.Len(t, mail, 304, "260 answers and 44 cases told")
	for i, o := range mail {
		assert.Equal(t, uint64(i+1), o.Number)
	}
}

// What a turn keeps must fold to the state it was worked out with.
func TestEventsSurvive(t *testing.T) {
	s := newStore(t)
	events := said("it cuts out at 38.5 V", conversation.Event{Kind: conversation.KitKnown, Time: start, ID: "sorrel-60"},
		conversation.Event{Kind: conversation.Read, Time: start, ID: "pack-volts", Reading: &conversation.Measured{Value: 38.5, Unit: "V", Decimals: 1}},
		conversation.Event{Kind: conversation.Read, Time: start, ID: "motor-temp-ohms", Reading: &conversation.Measured{Overload: true, Unit: "Ω"}},
		conversation.Event{Kind: conversation.Asked, Time: start, Question: &conversation.PendingAsk{Kind: conversation.AskCheck, ID: "pack-volts", Again: true}},
		conversation.Event{Kind: conversation.BotSaid, Time: start, Lines: []string{"one", "two \U0001f6b2"}})
	x := turn("talk", "ada", 0)
	x.Events = events
	commit(t, s, x)
	_, got, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, conversation.Replay(events), conversation.Replay(got))
}

func TestSettings(t *testing.T) {
	s := newStore(t)
	v, err := s.Setting("last-seen")
	require.NoError(t, err)
	assert.Empty(t, v)
	require.NoError(t, s.Set(context.Background(), "last-seen", "17"))
	require.NoError(t, s.Set(context.Background(), "last-seen", "18"))
	v, err = s.Setting("last-seen")
	require.NoError(t, err)
	assert.Equal(t, "18", v)
}
