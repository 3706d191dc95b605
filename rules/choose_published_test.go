package rules_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// never is a cost that no plan can afford; it stands for "not allowed".
const never = 1e6

// identification is a problem where each state has a remedy of its own that
// must not be tried wrongly, and every test costs one: its optimum is the
// smallest expected number of tests. tests[t][s] is the outcome in state s.
func identification(prob []float64, tests [][]int) *rules.Problem {
	p := &rules.Problem{Prob: prob, HandOver: never}
	for _, test := range tests {
		c := rules.ProblemCheck{Cost: 1}
		for _, o := range test {
			row := []float64{0, 0}
			row[o] = 1
			c.Like = append(c.Like, row)
		}
		p.Checks = append(p.Checks, c)
	}
	for s := range prob {
		r := rules.ProblemRemedy{Cures: make([]bool, len(prob)), Wrong: never}
		r.Cures[s] = true
		p.Remedies = append(p.Remedies, r)
	}
	return p
}

// The test sequencing example of K. Pattipati and M. Alexandridis, IEEE Trans.
// SMC 20(4), 1990. The problem is as published; its matrix and the optimum of
// 2.18 are from memory, and agree with an independent recalculation. The 2.86
// of the greedy rule is calculated.
func TestChoosePublishedTestSequencing(t *testing.T) {
	states := [][]int{ // rows s0..s5, columns t1..t5
		{0, 0, 0, 0, 0},
		{0, 1, 0, 0, 1},
		{0, 0, 1, 1, 0},
		{1, 0, 0, 1, 1},
		{1, 1, 0, 0, 0},
		{1, 1, 1, 1, 0},
	}
	tests := make([][]int, 5)
	for i := range tests {
		for _, s := range states {
			tests[i] = append(tests[i], s[i])
		}
	}
	p := identification([]float64{.70, .01, .02, .10, .05, .12}, tests)
	a := rules.Choose(p, rules.DefaultBudget)
	assert.True(t, a.Exact)
	assert.InDelta(t, 2.18, a.Cost, 1e-9)
	assert.InDelta(t, 2.18, optimum(p), 1e-9)
	assert.InDelta(t, 2.18, follow(p, chosen(rules.DefaultBudget)), 1e-9)
	assert.InDelta(t, 2.86, follow(p, informed(true, 1)), 1e-9, "the greedy rule")
}

// order lists the remedies that Choose tries when each of them fails, as
// numbers from one.
func order(p *rules.Problem) []int {
	var tried []int
	s := start()
	for {
		w, opened := s.stand(p)
		if total(w) == 0 {
			return tried
		}
		rest, _, remedies := s.rest(p, w, opened)
		a := rules.Choose(rest, rules.DefaultBudget)
		if a.Kind != rules.TryRemedy {
			return tried
		}
		tried = append(tried, remedies[a.Index]+1)
		s = s.tries(remedies[a.Index])
	}
}

// The rule of Kadane and Simon: with independent remedies the order by
// probability over cost is best. The numbers are calculated.
func TestChooseTriesByProbabilityOverCost(t *testing.T) {
	prob, cost := []float64{.4, .3, .2, .1}, []float64{5, 15, 1, 2}
	p := &rules.Problem{Prob: prob, HandOver: never}
	for i, c := range cost {
		r := rules.ProblemRemedy{Cures: make([]bool, 4), Cost: c}
		r.Cures[i] = true
		p.Remedies = append(p.Remedies, r)
	}
	a := rules.Choose(p, rules.DefaultBudget)
	assert.True(t, a.Exact)
	assert.InDelta(t, 10.3, a.Cost, 1e-9)
	assert.Equal(t, []int{3, 1, 4, 2}, order(p))
	assert.InDelta(t, 10.3, follow(p, chosen(0)), 1e-9, "the rule needs no search")
}

// Remedies that share faults break that rule: it gives 2.7333 here, begun with
// A3 and A0. The numbers are calculated.
func TestChooseTriesDependentRemedies(t *testing.T) {
	p := &rules.Problem{
		Prob: []float64{1. / 9, 2. / 9, 4. / 9, 2. / 9}, HandOver: never,
		Remedies: []rules.ProblemRemedy{
			{Cost: 3.9, Cures: []bool{true, true, false, true}},
			{Cost: 2, Cures: []bool{false, false, false, true}},
			{Cost: 2, Cures: []bool{false, true, false, false}},
			{Cost: 1, Cures: []bool{true, false, true, false}},
		},
	}
	a := rules.Choose(p, rules.DefaultBudget)
	assert.True(t, a.Exact)
	assert.InDelta(t, 7./3, a.Cost, 1e-9)
	assert.InDelta(t, 7./3, follow(p, chosen(rules.DefaultBudget)), 1e-9)
	got := order(p)
	require.NotEmpty(t, got)
	assert.Equal(t, 4, got[0], "A3 is first; A1 and A2 cost and cure the same")
	assert.ElementsMatch(t, []int{2, 3, 4}, got)
	assert.InDelta(t, 2.7333, follow(p, chosen(0)), 1e-4, "the rule alone")
}

// With a test for every way to split the symbols in two, the best plan is a
// Huffman code. The lengths are from memory and agree with a recalculation,
// but for the dyadic one, which is calculated.
func TestChooseFindsHuffmanCodes(t *testing.T) {
	for _, c := range []struct {
		name   string
		prob   []float64
		length float64
	}{
		{"Cover and Thomas, 5 symbols", []float64{.25, .25, .20, .15, .15}, 2.30},
		{"CLRS, 6 symbols", []float64{.45, .13, .12, .16, .09, .05}, 2.24},
		{"dyadic", []float64{1. / 2, 1. / 4, 1. / 8, 1. / 8}, 1.75},
		{"8 horses", []float64{1. / 2, 1. / 4, 1. / 8, 1. / 16, 1. / 64, 1. / 64, 1. / 64, 1. / 64}, 2.00},
	} {
		t.Run(c.name, func(t *testing.T) {
			var tests [][]int
			for mask := 1; mask < 1<<(len(c.prob)-1); mask++ {
				var test []int
				for s := range c.prob {
					test = append(test, mask>>s&1)
				}
				tests = append(tests, test)
			}
			p := identification(c.prob, tests)
			a := rules.Choose(p, rules.DefaultBudget)
			assert.InDelta(t, c.length, a.Cost, 1e-9)
			t.Logf("%d tests: exact %v, floor %.4f, work %d", len(tests), a.Exact, a.AtLeast, a.Work)
			entropy := 0.0
			for _, v := range c.prob {
				entropy -= v * math.Log2(v)
			}
			assert.GreaterOrEqual(t, a.Cost, entropy-1e-9)
			assert.Less(t, a.Cost, entropy+1)
		})
	}
}
