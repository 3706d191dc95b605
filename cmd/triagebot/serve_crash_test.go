package main

import (
	"context"
	"fmt"
	"math/rand/v2"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/api"
	"triagebot/casefile/store"
	"triagebot/conversation"
)

const crashTalks = 12

// The running program is killed again and again under load. Afterwards every
// message that was acknowledged has one answer, in order, and what was said is
// what the store says was said.
func TestServeKilled(t *testing.T) {
	kills := 100
	if testing.Short() {
		kills = 5
	}
	p := newPlace(t, "")
	draw := rand.New(rand.NewPCG(7, 11))
	var acked [crashTalks]int // messages acknowledged, always the first ones
	for range kills {
		after := int64(draw.IntN(150)) // so many acknowledgements and deliveries
		l := p.start()
		var happened atomic.Int64
		kill := sync.OnceFunc(func() { assert.NoError(t, l.Process.Kill()) })
		event := func() {
			if happened.Add(1) > after {
				kill()
			}
		}
		p.mu.Lock()
		p.heard = event
		p.mu.Unlock()
		if after == 0 {
			kill()
		}
		p.feed(t, l, &acked, draw.Uint64(), -1, event)
		_ = l.Wait() // killed
		l.client.CloseIdleConnections()
	}
	before, most, sum := acked, 0, 0
	for _, n := range acked {
		most, sum = max(most, n), sum+n
	}
	arrived := make(chan struct{}, 1)
	p.mu.Lock()
	p.heard = func() {
		select {
		case arrived <- struct{}{}:
		default:
		}
	}
	p.mu.Unlock()
	l := p.start()
	p.feed(t, l, &acked, 1, most+1, func() {})
	late := time.After(time.Minute)
	for whole := false; !whole; {
		whole = true
		for i := range crashTalks {
			whole = whole && len(p.sent(crashTalk(i))) > most
		}
		if !whole {
			select {
			case <-arrived:
			case <-late:
				require.Fail(t, "not everything arrives")
			}
		}
	}
	l.stop(t)

	s, err := store.Open(p.store, store.Options{Now: time.Now, MustExist: true})
	require.NoError(t, err)
	defer s.Close()
	lost, doubled, disordered := 0, 0, 0
	for i := range crashTalks {
		got, times := p.sent(crashTalk(i)), map[string]int{}
		said := answers(t, s, api.Place+crashTalk(i))
		require.Len(t, got, most+1)
		require.Len(t, said, most+1)
		for n, d := range got {
			times[d.ReplyTo]++
			if d.ReplyTo != crashMessage(i, n) {
				disordered++
			}
			assert.Equal(t, said[n], d.Lines, "what was sent is what was kept")
		}
		for n := range before[i] {
			switch times[crashMessage(i, n)] {
			case 0:
				lost++
			case 1:
			default:
				doubled++
			}
		}
	}
	t.Logf("%d kills, %d messages acknowledged before the last: lost %d, doubled %d, out of order %d; copies that the chat drops by their nonce %d",
		kills, sum, lost, doubled, disordered, p.twice)
	assert.Zero(t, lost)
	assert.Zero(t, doubled)
	assert.Zero(t, disordered)
	assert.Greater(t, sum, kills*3, "too little load to mean anything")
}

func crashTalk(i int) string       { return fmt.Sprintf("talk-%d", i) }
func crashMessage(i, n int) string { return fmt.Sprintf("talk-%d-m%d", i, n) }

// feed has the owners of all talks write until the program is gone, or, with
// upTo >= 0, until each has so many acknowledged. Some messages are handed in
// again, as a chat does after a reconnect.
func (p *place) feed(t *testing.T, l *life, acked *[crashTalks]int, seed uint64, upTo int, event func()) {
	var all sync.WaitGroup
	for i := range crashTalks {
		all.Go(func() {
			draw := rand.New(rand.NewPCG(seed, uint64(i)))
			for n := max(0, acked[i]-draw.IntN(3)); upTo < 0 || n < upTo; n++ {
				took, err := l.say(context.Background(), crashMessage(i, n), crashTalk(i), fmt.Sprintf("word %d of %d", n, i))
				if err != nil {
					if upTo >= 0 {
						assert.NoError(t, err)
					}
					return
				}
				if !assert.True(t, took.Taken, "%v", took) {
					return
				}
				acked[i] = max(acked[i], n+1)
				event()
			}
		})
	}
	all.Wait()
}

// answers are what the bot said in a conversation, turn by turn, as kept.
func answers(t *testing.T, s *store.Store, talk string) (all [][]string) {
	t.Helper()
	_, events, err := s.Conversation(talk)
	require.NoError(t, err)
	for _, e := range events {
		if e.Kind == conversation.BotSaid {
			all = append(all, e.Lines)
		}
	}
	return all
}
