package tests

import (
	"fmt"
	"runtime/debug"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/rules"
	"triagebot/search"
)

// hunted are causes of one kit over all parts of the trade; the textbook's
// owner of each has a talk whose every turn matches words or judges a figure,
// updates the belief and chooses the next step.
var hunted = []string{
	"throttle-stuck-low", "main-fuse-blown", "harness-ground-open", "controller-dead",
	"hall-sensor-dead", "display-unplugged", "bms-tripped", "brake-switch-stuck",
}

const firstWords = "my sorrel lights up fine but twisting does nothing"

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
	e, err := conversation.New(k, hearing.Through(x))
	require.NoError(b, err)
	return e
}

func benchmarkTurns(b *testing.B, e *conversation.Engine) {
	asInMain(b)
	k := e.KB()
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(b, err)
	// One talk first, so that what is made once for all talks is made.
	newTalk(b, e, "sorrel-60").say(firstWords)
	var took []time.Duration
	owner, next := 0, ""
	x := newTalk(b, e, "sorrel-60")
	for b.Loop() {
		o := textbook{k, m, m.Cause(hunted[owner])}
		if next == "" {
			x, next = newTalk(b, e, "sorrel-60"), o.complaint()
		}
		start := time.Now()
		turn := x.say(next)
		took = append(took, time.Since(start))
		switch {
		case x.st.Phase.Ended() || turn.Ask == nil || turn.Ask.Check == "cured" || len(x.st.Answers) > 30:
			owner, next = (owner+1)%len(hunted), ""
		case turn.Ask.Kind == "talk":
			next = "I do not know"
		default:
			next = o.answer(turn.Ask, x.st)
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "p50-ms")
	b.ReportMetric(float64(took[len(took)*99/100].Microseconds())/1000, "p99-ms")
}

// asInMain lets the collector run as rarely as cmd/triagebot's main does.
func asInMain(b *testing.B) {
	before := debug.SetGCPercent(400)
	b.Cleanup(func() { debug.SetGCPercent(before) })
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
	asInMain(b)
	for b.Loop() {
		k, found := kb.Load(kb.Embedded())
		require.False(b, kb.HasErrors(found))
		x, err := search.New(k)
		require.NoError(b, err)
		e, err := conversation.New(k, hearing.Through(x))
		require.NoError(b, err)
		_, turn, err := e.Step(conversation.NewState(), firstWords, testTime)
		require.NoError(b, err)
		require.NotNil(b, turn.Ask)
		require.NoError(b, x.Close())
	}
}
