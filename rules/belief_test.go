package rules_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// invented makes a knowledge base of n causes and m checks with three windows
// each, on a kit whose line some of the causes open.
func invented(n, m int, seed uint64) *kb.KB {
	r := rand.New(rand.NewPCG(seed, 1))
	k := &kb.KB{About: kb.About{Belief: kb.BeliefSettings{Pairs: 0.1, Unlisted: 0.05, NothingWrong: 0.03, Slip: 0.02}, Cost: kb.CostSettings{HandOver: 45, Sure: 0.9}}}
	kit := &kb.Kit{ID: "kit", Line: kb.Line{Source: "source", Ground: "ground", Links: []kb.Link{
		{ID: "l0", From: "source", To: "p0"}, {ID: "l1", From: "p0", To: "p1"}, {ID: "l2", From: "p1", To: "p2"},
	}}}
	k.Kits = []*kb.Kit{kit}
	for j := range m {
		c := &kb.Check{ID: fmt.Sprintf("check-%d", j), Kind: "measure", Windows: []kb.Window{
			{ID: "low", From: "0", To: "1"}, {ID: "good", From: "1", To: "2", Healthy: true}, {ID: "high", From: "2", To: "3"},
		}}
		if j%5 == 0 {
			c.Line = &kb.LineReads{At: fmt.Sprintf("p%d", j/5%3), Reads: map[string]map[string]float64{"dead": {"low": 0.95}, "weak": {"low": 0.5}}}
		}
		k.Checks = append(k.Checks, c)
	}
	for i := range n {
		c := &kb.Cause{ID: fmt.Sprintf("cause-%d", i), Prior: 1 + 20*r.Float64(), Remedy: "mend"}
		switch i % 7 {
		case 0:
			c.Line.Opens = []string{fmt.Sprintf("l%d", i/7%3)}
		case 1:
			c.Line.Weakens = []string{fmt.Sprintf("l%d", i/7%3)}
		}
		for j := range m {
			if r.Float64() < 0.2 {
				low := r.Float64()
				c.Shows = append(c.Shows, kb.Show{Of: fmt.Sprintf("check-%d", j), Outcomes: map[string]float64{"low": low, "high": (1 - low) * r.Float64()}})
			}
		}
		k.Causes = append(k.Causes, c)
	}
	return k
}

func evidence(r *rand.Rand) []float64 {
	soft := []float64{r.Float64(), r.Float64(), r.Float64()}
	sum := soft[0] + soft[1] + soft[2]
	for i := range soft {
		soft[i] /= sum
	}
	return soft
}

// The belief over all singles and pairs must be what plain enumeration in log
// space gives. The enumeration here is written from the documentation of
// Belief, cell by cell, and shares no code with it but the single cells.
func TestBeliefIsExact(t *testing.T) {
	const causes, pieces = 80, 40
	k := invented(causes, pieces, 7)
	m, err := rules.NewModel(k, k.Kits[0], nil)
	require.NoError(t, err)
	b := rules.NewBelief(m)
	r := rand.New(rand.NewPCG(3, 4))
	log := map[[2]int]float64{}
	for h, p := range priors(k) {
		log[h] = math.Log(p)
	}
	for j := range pieces {
		soft := evidence(r)
		require.NoError(t, b.Observe(m.Index(k.Checks[j].ID), soft))
		for h := range log {
			log[h] += math.Log(bruteLikelihood(k, k.Checks[j], h, soft))
		}
	}
	top := math.Inf(-1)
	for _, l := range log {
		top = max(top, l)
	}
	total := 0.0
	for _, l := range log {
		total += math.Exp(l - top)
	}
	want := make([]float64, causes)
	for h, l := range log {
		for _, c := range h {
			if c >= 0 {
				want[c] += math.Exp(l-top) / total
			}
		}
	}
	got := b.Causes()
	for i := range want {
		assert.InDelta(t, want[i], got[i], 1e-9, "cause %d", i)
	}
	assert.InDelta(t, math.Exp(log[[2]int{-1, -1}]-top)/total, b.NothingWrong(), 1e-9)
	assert.InDelta(t, math.Exp(log[[2]int{-2, -2}]-top)/total, b.Unlisted(), 1e-9)
}

// priors enumerates nothing (-1,-1), unlisted (-2,-2), singles (i,-1) and pairs.
func priors(k *kb.KB) map[[2]int]float64 {
	total, pairs := 0.0, 0.0
	for _, c := range k.Causes {
		total += c.Prior
	}
	for i, a := range k.Causes {
		for _, c := range k.Causes[i+1:] {
			pairs += a.Prior / total * c.Prior / total
		}
	}
	set := k.About.Belief
	p := map[[2]int]float64{{-1, -1}: set.NothingWrong, {-2, -2}: set.Unlisted}
	for i, a := range k.Causes {
		p[[2]int{i, -1}] = a.Prior / total * (1 - set.NothingWrong - set.Unlisted - set.Pairs)
		for j := i + 1; j < len(k.Causes); j++ {
			p[[2]int{i, j}] = a.Prior / total * k.Causes[j].Prior / total / pairs * set.Pairs
		}
	}
	return p
}

// bruteLikelihood draws both causes' outcomes in every combination.
func bruteLikelihood(k *kb.KB, c *kb.Check, h [2]int, soft []float64) float64 {
	slip := k.About.Belief.Slip
	leak := []float64{slip / 2, 1 - slip, slip / 2}
	at := func(d []float64) (l float64) {
		for o := range d {
			l += d[o] * soft[o]
		}
		return l
	}
	switch {
	case h[0] == -1:
		return at(leak)
	case h[0] == -2:
		return at([]float64{0.1, 0.8, 0.1})
	}
	const good = 1
	// settle turns "this cause shows nothing" into the healthy bike's slips.
	settle := func(d []float64) float64 {
		out := []float64{d[0], 0, d[2]}
		for o := range out {
			out[o] += d[good] * leak[o]
		}
		return at(out)
	}
	a, sa := bruteCell(k, c, k.Causes[h[0]])
	if h[1] < 0 {
		return settle(a)
	}
	b, sb := bruteCell(k, c, k.Causes[h[1]])
	switch {
	case sa > sb:
		return settle(a)
	case sb > sa:
		return settle(b)
	}
	both := make([]float64, 3)
	for x := range a {
		for y := range b {
			p := a[x] * b[y]
			switch {
			case x == good:
				both[y] += p
			case y == good:
				both[x] += p
			default:
				both[x] += p / 2
				both[y] += p / 2
			}
		}
	}
	return settle(both)
}

// bruteCell is what one cause shows at one check: its own word, else what its
// broken link does to the point, blurred by half the slip.
func bruteCell(k *kb.KB, c *kb.Check, cause *kb.Cause) ([]float64, int) {
	d, state := []float64{0, 1, 0}, 0
	if c.Line != nil {
		var link, point int
		fmt.Sscanf(c.Line.At, "p%d", &point)
		for _, l := range cause.Line.Opens {
			fmt.Sscanf(l, "l%d", &link)
			if link <= point {
				d, state = []float64{0.95, 0.05, 0}, 2
			}
		}
		for _, l := range cause.Line.Weakens {
			fmt.Sscanf(l, "l%d", &link)
			if link <= point {
				d, state = []float64{0.5, 0.5, 0}, 1
			}
		}
	}
	for _, s := range cause.Shows {
		if s.Of == c.ID {
			low, high := s.Outcomes["low"], s.Outcomes["high"]
			d = []float64{low, 1 - low - high, high}
		}
	}
	e := k.About.Belief.Slip / 2
	for o := range d {
		d[o] = (1-e)*d[o] + e/3
	}
	return d, state
}

func TestRemediedLeavesTheOtherHalfOfAPair(t *testing.T) {
	k := invented(6, 4, 1)
	for _, c := range k.Causes {
		c.Shows, c.Line = nil, kb.CauseLine{}
	}
	low, high := map[string]float64{"low": 0.98}, map[string]float64{"high": 0.98}
	k.Causes[0].Shows = []kb.Show{{Of: "check-1", Outcomes: low}, {Of: "check-3", Outcomes: low}}
	k.Causes[2].Shows = []kb.Show{{Of: "check-2", Outcomes: high}}
	m, err := rules.NewModel(k, k.Kits[0], nil)
	require.NoError(t, err)
	b := rules.NewBelief(m)
	require.NoError(t, b.Observe(m.Index("check-1"), []float64{1, 0, 0}))
	require.NoError(t, b.Observe(m.Index("check-3"), []float64{1, 0, 0}))
	require.NoError(t, b.Observe(m.Index("check-2"), []float64{0, 0, 1}))
	s := b.Suspects(0.1)
	require.NotEmpty(t, s)
	assert.Len(t, s[0].Causes, 2, "both faults show, so the pair leads")
	require.NoError(t, b.Remedied([]int{0}))
	s = b.Suspects(0.1)
	assert.Equal(t, "cause-2", s[0].Causes[0].ID)
	assert.Greater(t, s[0].Probability, 0.8)
}

func TestImpossibleEvidence(t *testing.T) {
	x := rules.NewWeights([]float64{0.5, 0.5})
	require.ErrorIs(t, x.Observe([]float64{0, 0}), rules.ErrImpossible)
	assert.Zero(t, x.P(0))
}

func TestManyPiecesOfEvidenceDoNotRunDown(t *testing.T) {
	x := rules.NewWeights([]float64{0.5, 0.5})
	for range 5000 {
		require.NoError(t, x.Observe([]float64{1e-3, 0.999e-3}))
	}
	assert.InDelta(t, 1/(1+math.Exp(5000*math.Log(0.999))), x.P(0), 1e-9)
	assert.InDelta(t, 5000*math.Log(1e-3), x.LogEvidence(), 1)
}

// BenchmarkObserve holds one piece of evidence against one plain multiply-add
// pass over as many hypotheses; the aim is at most 5 times.
func BenchmarkObserve(b *testing.B) {
	k := invented(80, 40, 7)
	m, err := rules.NewModel(k, k.Kits[0], nil)
	require.NoError(b, err)
	soft := []float64{0.5, 0.3, 0.2}
	plain := make([]float64, 2+80+80*79/2)
	for i := range plain {
		plain[i] = 1
	}
	start := time.Now()
	const passes = 2000
	for range passes {
		for i := range plain {
			plain[i] = plain[i]*0.999 + 0.001
		}
	}
	baseline := float64(time.Since(start).Nanoseconds()) / passes
	for _, c := range []struct{ name, check string }{{"plain", "check-1"}, {"line", "check-0"}} {
		b.Run(c.name, func(b *testing.B) {
			belief := rules.NewBelief(m)
			obs := m.Index(c.check)
			n := 0
			for b.Loop() {
				if n++; n%30 == 0 {
					belief = rules.NewBelief(m)
				}
				if err := belief.Observe(obs, soft); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/baseline, "x-plain-pass")
		})
	}
}
