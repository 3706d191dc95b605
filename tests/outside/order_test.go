package outside_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/rules"
)

// Where one action mends one fault, the order by probability over cost is the
// best (Kadane, Simon 1977; stated in arXiv 1203.3502). The figures of this
// case are computed: of all 24 orders 3, 1, 4, 2 costs least, 10.3; the order by
// probability alone costs 14.5.
func TestOrderByProbabilityOverCost(t *testing.T) {
	prob := []float64{0.4, 0.3, 0.2, 0.1}
	cost := []float64{5, 15, 1, 2}
	// Handing over must be dearer than all actions together, or it would be the plan.
	p := rules.Problem{Prob: append([]float64(nil), prob...), HandOver: 1000}
	for i, c := range cost {
		cures := make([]bool, len(prob))
		cures[i] = true
		p.Remedies = append(p.Remedies, rules.ProblemRemedy{Cures: cures, Cost: c})
	}
	open := []int{0, 1, 2, 3} // the actions that the problem still lists
	expected, left := 0.0, 1.0
	for step, published := range []struct {
		action int
		toEnd  float64 // expected cost from here, given that the fault is still there
	}{
		{3, 10.3}, {1, 9.3 / 0.8}, {4, 5.3 / 0.4}, {2, 15},
	} {
		a := rules.Choose(&p, rules.DefaultBudget)
		if !assert.Equal(t, rules.TryRemedy, a.Kind, "step %d", step+1) {
			return
		}
		i := open[a.Index]
		assert.Equal(t, published.action, i+1, "step %d", step+1)
		assert.InDelta(t, published.toEnd, a.Cost, 1e-9, "step %d", step+1)
		assert.LessOrEqual(t, a.AtLeast, published.toEnd+1e-9, "step %d", step+1)
		expected += left * cost[i]
		left -= prob[i]
		p.Prob[i] = 0
		p.Remedies = append(p.Remedies[:a.Index], p.Remedies[a.Index+1:]...)
		open = append(open[:a.Index], open[a.Index+1:]...)
	}
	assert.InDelta(t, 10.3, expected, 1e-9)
}
