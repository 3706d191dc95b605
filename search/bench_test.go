package search

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// more gives a knowledge base with n times as many phrases: each is varied by
// words in front and behind, and by a number, as owners' phrases are.
func more(k *kb.KB, n int) *kb.KB {
	fronts := []string{"so", "hello", "today", "since monday", "on the way home", "after work", "again", "my mate says", "for a while now", "out of nowhere"}
	out := *k
	out.Symptoms = nil
	for _, s := range k.Symptoms {
		c := *s
		c.Phrases, c.Absent = vary(s.Phrases, fronts, n), vary(s.Absent, fronts, n)
		out.Symptoms = append(out.Symptoms, &c)
	}
	return &out
}

func vary(phrases, fronts []string, n int) []string {
	var out []string
	for _, p := range phrases {
		for i := range n {
			out = append(out, fmt.Sprintf("%s %s w%d", fronts[i%len(fronts)], p, i))
		}
	}
	return out
}

func benchmarkMatch(b *testing.B, k *kb.KB) {
	x, err := New(k)
	require.NoError(b, err)
	defer x.Close()
	lines := readLabelled(b, "testdata/dev.txt")
	var took []time.Duration
	i := 0
	for b.Loop() {
		start := time.Now()
		x.Match(lines[i%len(lines)].text)
		took = append(took, time.Since(start))
		i++
	}
	b.StopTimer()
	slices.Sort(took)
	b.ReportMetric(float64(slowest(x, lines).Nanoseconds()), "slowest-ns")
	b.ReportMetric(float64(took[len(took)*50/100].Nanoseconds()), "p50-ns")
	b.ReportMetric(float64(took[len(took)*99/100].Nanoseconds()), "p99-ns")
}

// slowest is the time of the message that takes longest, each at its best of
// ten, which leaves out what other programs on the machine take.
func slowest(x *Index, lines []labelled) time.Duration {
	var most time.Duration
	for _, l := range lines {
		best := time.Hour
		for range 10 {
			start := time.Now()
			x.Match(l.text)
			best = min(best, time.Since(start))
		}
		most = max(most, best)
	}
	return most
}

func BenchmarkMatch(b *testing.B) {
	benchmarkMatch(b, embeddedKB(b))
}

func BenchmarkMatch50x(b *testing.B) {
	benchmarkMatch(b, more(embeddedKB(b), 50))
}

func BenchmarkNew(b *testing.B) {
	k := embeddedKB(b)
	for b.Loop() {
		x, err := New(k)
		require.NoError(b, err)
		require.NoError(b, x.Close())
	}
}
