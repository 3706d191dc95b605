package tests

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/search"
)

// hunting is a talk whose every turn matches words, judges a figure, updates
// the belief and chooses the next check.
var hunting = []string{
	"my sorrel lights up fine but twisting does nothing",
	"none of these, all clear",
	"all clicked home, dry and clean",
	"1.52",
	"4.98 V",
	"0.93",
	"3.9",
	"no change",
	"all three are right",
	"on and normal",
	"68.2 V",
	"68.1",
}

// BenchmarkTurn is one turn at the full knowledge base. The aim is 5 ms at the
// 99th percentile.
func BenchmarkTurn(b *testing.B) {
	benchmarkTurns(b, newEngine(b))
}

// BenchmarkTurnGrowth is the same with more causes and phrases: copies of the
// knowledge base's own under other ids, on parts that no kit has been asked about.
func BenchmarkTurnGrowth(b *testing.B) {
	for _, times := range []int{1, 10} {
		b.Run(fmt.Sprintf("causes-%dx", times), func(b *testing.B) {
			k := loadKB(b)
			multiplyCauses(k, times)
			benchmarkTurns(b, engineOf(b, k))
		})
	}
	for _, times := range []int{1, 10, 100} {
		b.Run(fmt.Sprintf("phrases-%dx", times), func(b *testing.B) {
			k := loadKB(b)
			multiplyPhrases(k, times)
			benchmarkTurns(b, engineOf(b, k))
		})
	}
}

func engineOf(b *testing.B, k *kb.KB) *conversation.Engine {
	x, err := search.New(k)
	require.NoError(b, err)
	b.Cleanup(func() { _ = x.Close() })
	e, err := conversation.New(k, conversationMatcher{x})
	require.NoError(b, err)
	return e
}

func benchmarkTurns(b *testing.B, e *conversation.Engine) {
	// One talk first, so that what is made once for all talks is made.
	x := newTalk(b, e, "")
	for _, says := range hunting {
		x.say(says)
	}
	var took []time.Duration
	x = newTalk(b, e, "")
	turn := 0
	for b.Loop() {
		if turn == len(hunting) || x.st.Phase.Ended() {
			x, turn = newTalk(b, e, ""), 0
		}
		start := time.Now()
		x.say(hunting[turn])
		took = append(took, time.Since(start))
		turn++
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
}

// multiplyCauses adds copies of every cause, each a little less common.
func multiplyCauses(k *kb.KB, times int) {
	causes := k.Causes
	for n := 1; n < times; n++ {
		for _, c := range causes {
			copied := *c
			copied.ID = fmt.Sprintf("%s-%d", c.ID, n)
			copied.Prior = c.Prior / float64(10*n)
			k.Causes = append(k.Causes, &copied)
		}
	}
}

// multiplyPhrases adds variants of every phrase, each with a word of its own.
func multiplyPhrases(k *kb.KB, times int) {
	word := 0
	for _, s := range k.Symptoms {
		phrases := s.Phrases
		for n := 1; n < times; n++ {
			for _, p := range phrases {
				word++
				s.Phrases = append(s.Phrases, fmt.Sprintf("%s zq%dx", p, word))
			}
		}
	}
}

// BenchmarkStart is what happens between the start of the process and the
// first question: loading, indexing, greeting and one turn.
func BenchmarkStart(b *testing.B) {
	for b.Loop() {
		k, found := kb.Load(kb.Embedded())
		require.False(b, kb.HasErrors(found))
		x, err := search.New(k)
		require.NoError(b, err)
		e, err := conversation.New(k, conversationMatcher{x})
		require.NoError(b, err)
		_, turn, err := e.Step(conversation.NewState(), hunting[0], testTime)
		require.NoError(b, err)
		require.NotNil(b, turn.Ask)
		require.NoError(b, x.Close())
	}
}
