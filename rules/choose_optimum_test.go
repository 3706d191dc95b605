package rules_test

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// tight is a budget that a small problem can use up.
const tight = 2000

// tally sums up the ratio of a policy's true cost to that of the best plan.
type tally struct {
	name        string
	do          policy
	mean, worst float64
	above       int // problems with a ratio above one
}

func (t *tally) add(cost, optimum float64, problems int) {
	ratio := cost / optimum
	t.mean += ratio / float64(problems)
	t.worst = max(t.worst, ratio)
	if ratio > 1+1e-6 {
		t.above++
	}
}

func TestChooseAgainstOptimum(t *testing.T) {
	for _, set := range []struct {
		name     string
		problems int
		draw     func(*rand.Rand) *rules.Problem
	}{
		{"small", 240, smallProblem},
		{"parity", 80, parityProblem},
	} {
		t.Run(set.name, func(t *testing.T) {
			if testing.Short() {
				set.problems /= 4
			}
			tallies := []*tally{
				{name: "Choose", do: chosen(rules.DefaultBudget)},
				{name: "Choose, tight budget", do: chosen(tight)},
				{name: "one step ahead", do: oneStep},
				{name: "information gain", do: informed(false, 0.9)},
				{name: "information gain per minute", do: informed(true, 0.9)},
				{name: "fixed order", do: inOrder(0.9)},
			}
			exact := 0
			for seed := range set.problems {
				p := set.draw(rand.New(rand.NewPCG(uint64(seed), 7)))
				best := optimum(p)
				for _, budget := range []int{0, tight, rules.DefaultBudget} {
					a := rules.Choose(p, budget)
					require.GreaterOrEqual(t, a.Cost, best-1e-8, "a plan cheaper than the best one, seed %d budget %d", seed, budget)
					require.LessOrEqual(t, a.AtLeast, best+1e-8, "the floor is above the best plan, seed %d budget %d", seed, budget)
					if a.Exact {
						require.InDelta(t, best, a.Cost, 1e-6, "seed %d budget %d", seed, budget)
					}
					if a.Exact && budget == rules.DefaultBudget {
						exact++
					}
				}
				for _, y := range tallies {
					cost := follow(p, y.do)
					require.GreaterOrEqual(t, cost, best-1e-8, "%s, seed %d", y.name, seed)
					y.add(cost, best, set.problems)
				}
			}
			t.Logf("%d problems, %d of them solved exactly at the first step", set.problems, exact)
			t.Logf("%-28s %8s %8s %8s", "true cost / best cost", "mean", "worst", "above 1")
			for _, y := range tallies {
				t.Logf("%-28s %8.4f %8.4f %8d", y.name, y.mean, y.worst, y.above)
			}
			for _, y := range tallies[:2] {
				assert.LessOrEqual(t, y.mean, 1.10, y.name)
				assert.LessOrEqual(t, y.worst, 1.5, y.name)
			}
			assert.Greater(t, exact, set.problems*9/10)
		})
	}
}
