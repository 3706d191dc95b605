package rules_test

import (
	"math/rand/v2"
	"testing"

	"triagebot/rules"
)

// The first is exact, the second the size of the trade, the third what comes
// when the caller does not leave out what is unlikely.
func BenchmarkChoose(b *testing.B) {
	for _, size := range []struct {
		name                   string
		hyps, checks, remedies int
	}{
		{"small-10x8x6", 10, 8, 6},
		{"workshop-60x45x30", 60, 45, 30},
		{"tenfold-600x45x30", 600, 45, 30},
	} {
		b.Run(size.name, func(b *testing.B) {
			var problems []*rules.Problem
			for seed := range uint64(16) {
				rng := rand.New(rand.NewPCG(seed, 3))
				problems = append(problems, workshopProblem(rng, size.hyps, size.checks, size.remedies))
			}
			b.ReportAllocs()
			work, n := 0, 0
			for b.Loop() {
				work += rules.Choose(problems[n%len(problems)], rules.DefaultBudget).Work
				n++
			}
			b.ReportMetric(float64(work)/float64(n), "work/op")
		})
	}
}
