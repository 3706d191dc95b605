package stats_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/mining/stats"
)

// Each figure below says where it was published, and which of them were only
// remembered ("from memory") and not read at their source.

func TestWilsonPublished(t *testing.T) {
	cases := []struct {
		x, n      int
		level     float64
		low, high float64
		tolerance float64
		source    string
	}{
		{5, 10, 0.90, 0.2692718, 0.7307282, 5e-8, "snapshot tests of the R package cards"},
		{32, 32, 0.95, 0.8928208, 1, 5e-8, "the same"},
		{0, 32, 0.95, 0, 0.1071792, 5e-8, "the same"},
		{81, 263, 0.95, .2553, .3662, 5e-5, "R. G. Newcombe, Stat. Med. 17 (1998) 857, table I; from memory"},
		{15, 148, 0.95, .0624, .1605, 5e-5, "the same; from memory"},
		{0, 20, 0.95, 0, .1611, 5e-5, "the same; from memory"},
		{1, 29, 0.95, .0061, .1718, 5e-5, "the same; from memory"},
		// One-sided 95 % is two-sided 90 %.
		{26, 200, 0.90, 0.09577, math.NaN(), 5e-6, "NIST/SEMATECH e-Handbook 7.2.4.1; from memory"},
	}
	for _, c := range cases {
		got := stats.Wilson(c.x, c.n, c.level)
		assert.InDelta(t, c.low, got.Low, c.tolerance, "%d of %d: %s", c.x, c.n, c.source)
		if !math.IsNaN(c.high) {
			assert.InDelta(t, c.high, got.High, c.tolerance, "%d of %d: %s", c.x, c.n, c.source)
		}
	}
}

func TestCompareRatesPublished(t *testing.T) {
	// K. Krishnamoorthy, J. Thomson, J. Stat. Plan. Inference 119 (2004) 23,
	// section 6, compares these counts of 100 each; the conditional test's p is
	// computed by hand: 2 (1/2)^3, and 2 (1 + 8 + 28) / 2^8.
	assert.InDelta(t, 0.25, stats.CompareRates(0, 100, 3, 100).TwoSided, 1e-12)
	assert.InDelta(t, 0.2890625, stats.CompareRates(2, 100, 6, 100).TwoSided, 1e-12)
	assert.InDelta(t, 0.2890625, stats.CompareRates(6, 100, 2, 100).TwoSided, 1e-12)
	// Example of poisson.test in R's own manual; from memory.
	r := stats.CompareRates(11, 800, 6+8+7, 1083+1050+878)
	assert.InDelta(t, 0.07967, r.TwoSided, 5e-6)
	assert.InDelta(t, 1.971488, r.Ratio, 5e-7)
	assert.InDelta(t, 0.8584264, r.Range.Low, 5e-7)
	assert.InDelta(t, 4.2772659, r.Range.High, 5e-7)
	// Upper limit after no events: the rule of three, exactly -ln 0.05.
	assert.InDelta(t, 2.995732, stats.PoissonUpper(0, 0.95), 1e-6)
}

func TestBenjaminiHochbergPublished(t *testing.T) {
	// Y. Benjamini, Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289, section 3.2:
	// at 0.05 the first four are rejected.
	p := []float64{.0001, .0004, .0019, .0095, .0201, .0278, .0298, .0344, .0459, .3240, .4262, .5719, .6528, .7590, 1}
	adjusted := stats.BenjaminiHochberg(p)
	rejected := 0
	for _, q := range adjusted {
		if q <= 0.05 {
			rejected++
		}
	}
	assert.Equal(t, 4, rejected)
	want := []float64{.0015, .003, .0095, .035625, .0603, .063857, .063857, .0645, .0765, .486, .581182, .714875, .753231, .813214, 1}
	assert.InDeltaSlice(t, want, adjusted, 1e-6)
	// The step goes up: .04 alone is above its own line of .05 x 2/3.
	for _, q := range stats.BenjaminiHochberg([]float64{.001, .04, .009}) {
		assert.LessOrEqual(t, q, 0.05)
	}
}

func TestCUSUMPublished(t *testing.T) {
	// D. C. Montgomery, G. C. Runger, Applied Statistics and Probability for
	// Engineers, example 16-6, tables 16-7 and 16-8.
	x := []float64{102.0, 94.8, 98.3, 98.4, 102.0, 98.5, 99.0, 97.7, 100.0, 98.1, 101.3, 98.7, 101.1, 98.4, 97.0, 96.7, 100.3, 101.4, 97.2, 101.0}
	up, down := stats.CUSUM(x, 99, 1)
	assert.InDeltaSlice(t, []float64{2, 0, 0, 0, 2, .5, 0, 0, 0, 0, 1.3, 0, 1.1, 0, 0, 0, .3, 1.7, 0, 1}, up, 1e-9)
	assert.InDeltaSlice(t, []float64{0, 3.2, 2.9, 2.5, 0, 0, 0, .3, 0, 0, 0, 0, 0, 0, 1, 2.3, 0, 0, .8, 0}, down, 1e-9)

	// NIST/SEMATECH e-Handbook 6.3.2.3; from memory. First signal at group 14.
	x = []float64{324.925, 324.675, 324.725, 324.350, 325.350, 325.225, 324.125, 324.525, 325.225, 324.600, 324.625, 325.150, 328.325, 327.250,
		327.825, 328.500, 326.675, 327.775, 326.875, 328.350}
	up, _ = stats.CUSUM(x, 325, 0.3175)
	first := 0
	for first < len(up) && up[first] <= 4.1959 {
		first++
	}
	assert.Equal(t, 14, first+1)
	assert.InDeltaSlice(t, []float64{3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.00, 19.04}, up[12:], 0.006)

	// One-sided run lengths in control with k = 0.5: Montgomery, Introduction to
	// Statistical Quality Control, table 9-3, has 168 and 465 for both sides;
	// D. M. Hawkins's 335.4 and 930.9 for one; from memory.
	assert.InDelta(t, 335.4, stats.NormalRunLength(0.5, 4, 400), 0.5)
	assert.InDelta(t, 930.9, stats.NormalRunLength(0.5, 5, 400), 1.5)
}

// nist is data set of the NIST/SEMATECH e-Handbook 8.4.1.3.
func nist() []stats.Life {
	var lives []stats.Life
	for _, h := range []float64{54, 187, 216, 240, 244, 335, 361, 373, 375, 386} {
		lives = append(lives, stats.Life{Time: h, Failed: true})
	}
	return append(lives, stats.Life{Time: 500, Count: 10})
}

func TestWeibullPublished(t *testing.T) {
	w, err := stats.FitWeibull(nist(), 0.95)
	require.NoError(t, err)
	assert.InDelta(t, 606.5280, w.Scale, 0.0006) // the page's own last digits come from a coarser search
	assert.InDelta(t, 1.7208, w.Shape, 5e-5)
	assert.InDelta(t, -75.135, w.LogLikelihood, 5e-4)
	assert.InDelta(t, 154.27, 4-2*w.LogLikelihood, 5e-3)
	assert.InDelta(t, 540.737, w.Mean(), 0.001)
	assert.InDelta(t, 323.806, w.Deviation(), 0.001)
	assert.Equal(t, 10, w.Failures)
	assert.Equal(t, 10, w.Running)
}

func TestKaplanMeierPublished(t *testing.T) {
	// E. J. Freireich et al., Blood 21 (1963) 699, 6-mercaptopurine arm, as in
	// every textbook of the subject; from memory.
	failed := []float64{6, 6, 6, 7, 10, 13, 16, 22, 23}
	running := []float64{6, 9, 10, 11, 17, 19, 20, 25, 32, 32, 34, 35}
	var lives []stats.Life
	for _, x := range failed {
		lives = append(lives, stats.Life{Time: x, Failed: true})
	}
	for _, x := range running {
		lives = append(lives, stats.Life{Time: x})
	}
	var got []float64
	for _, s := range stats.KaplanMeier(lives) {
		got = append(got, s.Survives)
	}
	assert.InDeltaSlice(t, []float64{.857, .807, .753, .690, .627, .538, .448}, got, 5e-4)
}

func TestStrataPublished(t *testing.T) {
	// R. A. Fisher's lady tasting tea: three of four right, 17/70.
	_, _, p := stats.ExcessInStrata([]stats.Stratum{{All: 8, Rows: 4, Marked: 4, Both: 3}})
	assert.InDelta(t, 17.0/70, p, 1e-12)
}

func TestDirichletPublished(t *testing.T) {
	// A. Gelman et al., Bayesian Data Analysis, 3rd edition, p. 37: 437 of 980
	// with a uniform prior, that is two classes and a strength of 2.
	after := stats.Dirichlet([]float64{1, 1}, 2, []int{437, 543})
	assert.InDelta(t, 0.44602851, after[0], 5e-9)
	assert.InDelta(t, 1, after[0]+after[1], 1e-12)
}
