package rules_test

import (
	"math"
	"math/rand/v2"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// twoFaults is a sound problem to spoil: one check tells two faults apart.
func twoFaults() *rules.Problem {
	return &rules.Problem{
		Prob:     []float64{.6, .4},
		Checks:   []rules.ProblemCheck{{Like: [][]float64{{1, 0}, {0, 1}}, Cost: 2, Opens: 1}},
		Remedies: []rules.ProblemRemedy{{Cures: []bool{true, false}, Cost: 1, Wrong: 50}, {Cures: []bool{false, true}, Cost: 1, Wrong: 50}},
		Access:   []float64{3},
		HandOver: 40,
	}
}

func TestChooseEdges(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(p *rules.Problem)
		kind  rules.ActionKind
		index int
		cost  float64
	}{
		{"as it is", func(*rules.Problem) {}, rules.AskCheck, 0, 6},
		{"cover open already", func(p *rules.Problem) { p.Opened = 1 }, rules.AskCheck, 0, 3},
		{"no checks", func(p *rules.Problem) { p.Checks = nil }, rules.TryRemedy, 0, 1 + .4*51},
		{"no remedies", func(p *rules.Problem) { p.Remedies = nil }, rules.HandOver, 0, 40},
		{"neither", func(p *rules.Problem) { p.Checks, p.Remedies = nil, nil }, rules.HandOver, 0, 40},
		{"one hypothesis is certain", func(p *rules.Problem) { p.Prob = []float64{0, 1} }, rules.TryRemedy, 1, 1},
		{"not scaled to one", func(p *rules.Problem) { p.Prob = []float64{6, 4} }, rules.AskCheck, 0, 6},
		{"handing over is free", func(p *rules.Problem) { p.HandOver = 0 }, rules.HandOver, 0, 0},
		{"handing over is cheap", func(p *rules.Problem) { p.HandOver = 5 }, rules.HandOver, 0, 5},
		{"cover out of reach", func(p *rules.Problem) { p.Access[0] = math.Inf(1) }, rules.TryRemedy, 0, 1 + .4*51},
		{"check out of reach", func(p *rules.Problem) { p.Checks[0].Cost = math.Inf(1) }, rules.TryRemedy, 0, 1 + .4*51},
		{"remedies out of reach", func(p *rules.Problem) { p.Remedies[0].Cost, p.Remedies[1].Cost = 40, math.Inf(1) }, rules.HandOver, 0, 40},
		{"a wrong remedy is a disaster", func(p *rules.Problem) {
			p.Checks, p.Remedies[0].Wrong, p.Remedies[1].Wrong = nil, math.Inf(1), math.Inf(1)
		}, rules.HandOver, 0, 40},
		{"a check that tells nothing", func(p *rules.Problem) { p.Checks[0].Like[1] = []float64{1, 0} }, rules.TryRemedy, 0, 1 + .4*51},
		{"everything is free", func(p *rules.Problem) {
			p.Checks[0].Cost, p.Access[0] = 0, 0
			for i := range p.Remedies {
				p.Remedies[i].Cost, p.Remedies[i].Wrong = 0, 0
			}
		}, rules.TryRemedy, 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := twoFaults()
			c.spoil(p)
			require.NoError(t, p.Valid())
			a := rules.Choose(p, rules.DefaultBudget)
			assert.Equal(t, c.kind, a.Kind)
			assert.Equal(t, c.index, a.Index)
			assert.InDelta(t, c.cost, a.Cost, 1e-9)
			assert.True(t, a.Exact)
		})
	}
}

func TestChooseWithoutBudgetStillAnswers(t *testing.T) {
	for _, budget := range []int{0, -1, math.MinInt} {
		a := rules.Choose(twoFaults(), budget)
		assert.Equal(t, rules.TryRemedy, a.Kind)
		assert.InDelta(t, 1+.4*51, a.Cost, 1e-9)
		assert.False(t, a.Exact)
	}
}

func TestChooseRefusesSenselessProblems(t *testing.T) {
	nan, inf := math.NaN(), math.Inf(1)
	for _, c := range []struct {
		name, says string
		spoil      func(p *rules.Problem)
	}{
		{"no hypotheses", "no hypothesis has any probability", func(p *rules.Problem) { *p = rules.Problem{HandOver: 40} }},
		{"all impossible", "no hypothesis has any probability", func(p *rules.Problem) { p.Prob = []float64{0, 0} }},
		{"probability NaN", "hypothesis 1 has probability NaN", func(p *rules.Problem) { p.Prob[1] = nan }},
		{"probability negative", "hypothesis 0 has probability -1", func(p *rules.Problem) { p.Prob[0] = -1 }},
		{"probability infinite", "hypothesis 0 has probability +Inf", func(p *rules.Problem) { p.Prob[0] = inf }},
		{"probabilities overflow", "sum to infinity", func(p *rules.Problem) { p.Prob = []float64{math.MaxFloat64, math.MaxFloat64} }},
		{"likelihood NaN", "check 0: hypothesis 1 has likelihood NaN", func(p *rules.Problem) { p.Checks[0].Like[1][0] = nan }},
		{"likelihood negative", "likelihood -0.5", func(p *rules.Problem) { p.Checks[0].Like[1] = []float64{1.5, -.5} }},
		{"row too light", "sum to 0.5", func(p *rules.Problem) { p.Checks[0].Like[0] = []float64{.5, 0} }},
		{"row empty", "hypothesis 0 has 0 outcomes", func(p *rules.Problem) { p.Checks[0].Like[0] = nil }},
		{"rows ragged", "hypothesis 1 has 1 outcomes, the first has 2", func(p *rules.Problem) { p.Checks[0].Like[1] = []float64{1} }},
		{"row missing", "likelihoods for 1 hypotheses; there are 2", func(p *rules.Problem) { p.Checks[0].Like = p.Checks[0].Like[:1] }},
		{"check cost NaN", "check 0: it costs NaN", func(p *rules.Problem) { p.Checks[0].Cost = nan }},
		{"check cost negative", "check 0: it costs -1", func(p *rules.Problem) { p.Checks[0].Cost = -1 }},
		{"unknown cover", "opens covers 10, but only 1", func(p *rules.Problem) { p.Checks[0].Opens = 2 }},
		{"too many covers", "65 covers", func(p *rules.Problem) { p.Access = make([]float64, 65) }},
		{"cover NaN", "opening cover 0 costs NaN", func(p *rules.Problem) { p.Access[0] = nan }},
		{"remedy NaN", "remedy 1 costs NaN", func(p *rules.Problem) { p.Remedies[1].Cost = nan }},
		{"wrong negative", "remedy 0 costs 1, and -3", func(p *rules.Problem) { p.Remedies[0].Wrong = -3 }},
		{"cures missing", "remedy 0 speaks of 1 hypotheses; there are 2", func(p *rules.Problem) { p.Remedies[0].Cures = []bool{true} }},
		{"hand-over NaN", "handing over costs NaN", func(p *rules.Problem) { p.HandOver = nan }},
		{"hand-over infinite", "handing over costs +Inf", func(p *rules.Problem) { p.HandOver = inf }},
		{"hand-over negative", "handing over costs -1", func(p *rules.Problem) { p.HandOver = -1 }},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := twoFaults()
			c.spoil(p)
			assert.ErrorContains(t, p.Valid(), c.says)
			a := rules.Choose(p, rules.DefaultBudget)
			assert.Equal(t, rules.HandOver, a.Kind)
			assert.False(t, math.IsNaN(a.Cost) || math.IsInf(a.Cost, 0))
		})
	}
	assert.Equal(t, rules.Action{}, rules.Choose(nil, rules.DefaultBudget))
}

// Two checks behind one cover pay for it together; either alone does not.
func TestChooseOpensACoverForTwo(t *testing.T) {
	p := &rules.Problem{
		Prob:     []float64{.25, .25, .25, .25},
		Access:   []float64{6},
		HandOver: 30,
	}
	for bit := range 2 {
		c := rules.ProblemCheck{Cost: 1, Opens: 1}
		for y := range 4 {
			row := []float64{0, 0}
			row[y>>bit&1] = 1
			c.Like = append(c.Like, row)
		}
		p.Checks = append(p.Checks, c)
	}
	for y := range 4 {
		r := rules.ProblemRemedy{Cures: make([]bool, 4), Cost: 12, Wrong: 12}
		r.Cures[y] = true
		p.Remedies = append(p.Remedies, r)
	}
	a := rules.Choose(p, rules.DefaultBudget)
	assert.Equal(t, rules.AskCheck, a.Kind)
	assert.InDelta(t, 6+1+1+12, a.Cost, 1e-9)
	assert.Equal(t, rules.HandOver, oneStep(p).Kind, "one step ahead sees no use in it")
}

// More than 64 remedies, and hypotheses that many of them cure.
func TestChooseManyRemedies(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	p := workshopProblem(rng, 40, 20, 150)
	require.NoError(t, p.Valid())
	a := rules.Choose(p, rules.DefaultBudget)
	assert.Less(t, a.Cost, p.HandOver)
	assert.LessOrEqual(t, a.AtLeast, a.Cost)
}

// A search keeps to its budget but for the step it is in.
func TestChooseKeepsToItsBudget(t *testing.T) {
	p := workshopProblem(rand.New(rand.NewPCG(1, 3)), 60, 45, 30)
	for _, budget := range []int{1000, 10_000, 100_000, rules.DefaultBudget} {
		a := rules.Choose(p, budget)
		assert.Less(t, a.Work, budget+20_000)
	}
}

// Choose shares its scratch memory between calls; concurrent calls and calls
// on other problems in between must not show.
func TestChooseConcurrently(t *testing.T) {
	var problems []*rules.Problem
	var want []rules.Action
	for seed := range uint64(12) {
		rng := rand.New(rand.NewPCG(seed, 11))
		p := smallProblem(rng)
		if seed%3 == 0 {
			p = workshopProblem(rng, 60, 45, 30)
		}
		problems = append(problems, p)
		want = append(want, rules.Choose(p, 20_000))
	}
	var wg sync.WaitGroup
	for worker := range 4 {
		wg.Go(func() {
			for i := range problems {
				at := (i*5 + worker*7) % len(problems)
				assert.Equal(t, want[at], rules.Choose(problems[at], 20_000))
			}
		})
	}
	wg.Wait()
}
