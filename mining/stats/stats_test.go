package stats_test

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"triagebot/mining/stats"
)

// The two-sided p against adding up every outcome.
func TestTwoSidedByEnumeration(t *testing.T) {
	for _, share := range []float64{0.1, 0.25, 0.5, 0.8} {
		for n := 1; n <= 25; n++ {
			b := distuv.Binomial{N: float64(n), P: share}
			for x := 0; x <= n; x++ {
				want := 0.0
				for y := 0; y <= n; y++ {
					if b.Prob(float64(y)) <= b.Prob(float64(x))*(1+1e-7) {
						want += b.Prob(float64(y))
					}
				}
				assert.InDelta(t, min(1, want), stats.CompareRates(x, share, n-x, 1-share).TwoSided, 1e-9, "%d of %d at %g", x, n, share)
			}
		}
	}
}

// The exact test never rejects more often than it says.
func TestCompareRatesKeepsItsLevel(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	rejected, trials := 0, 4000
	for range trials {
		n1 := int(distuv.Poisson{Lambda: 13, Src: rng}.Rand())
		n0 := int(distuv.Poisson{Lambda: 39, Src: rng}.Rand())
		if stats.CompareRates(n1, 13, n0, 39).Greater <= 0.05 {
			rejected++
		}
	}
	assert.Less(t, float64(rejected)/float64(trials), 0.06)
	assert.Greater(t, float64(rejected)/float64(trials), 0.02, "so conservative that it sees nothing")
}

// The run length of the chain against counting weeks to the signal.
func TestCountChartRunLength(t *testing.T) {
	for _, rate := range []float64{0.15, 0.8, 4, 30} {
		c, err := stats.NewCountChart(rate, 2, 200)
		require.NoError(t, err)
		require.GreaterOrEqual(t, c.ARL, 200.0)
		rng := rand.New(rand.NewPCG(7, uint64(rate*100)))
		p := distuv.Poisson{Lambda: rate, Src: rng}
		const runs = 3000
		weeks := 0
		for range runs {
			for s := 0.0; s < c.H-1e-9; {
				s = max(0, s+p.Rand()-c.K)
				weeks++
			}
		}
		assert.InEpsilon(t, c.ARL, float64(weeks)/runs, 0.08, "rate %g: K %g, H %g", rate, c.K, c.H)
	}
	c, err := stats.NewCountChart(600, 2, 1e5)
	require.NoError(t, err)
	assert.Greater(t, c.K+c.H, 820.0)
	for _, bad := range [][3]float64{{0, 2, 100}, {1, 1, 100}, {1, 2, 0}, {math.NaN(), 2, 100}, {1e9, 2, 100}} {
		_, err := stats.NewCountChart(bad[0], bad[1], bad[2])
		assert.Error(t, err, "%v", bad)
	}
}

// The stated intervals hold the true values about as often as they say.
func TestWeibullIntervalsCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	shape, scale, trials := 2.0, 5000.0, 600
	heldShape, heldScale := 0, 0
	for range trials {
		var lives []stats.Life
		for range 80 {
			life, watched := scale*math.Pow(rng.ExpFloat64(), 1/shape), 8000*rng.Float64()
			lives = append(lives, stats.Life{Time: min(life, watched), Failed: life <= watched})
		}
		w, err := stats.FitWeibull(lives, 0.95)
		require.NoError(t, err)
		if w.ShapeRange.Low <= shape && shape <= w.ShapeRange.High {
			heldShape++
		}
		if w.ScaleRange.Low <= scale && scale <= w.ScaleRange.High {
			heldScale++
		}
	}
	assert.InDelta(t, 0.95, float64(heldShape)/float64(trials), 0.03)
	assert.InDelta(t, 0.95, float64(heldScale)/float64(trials), 0.03)
}

func TestFewOrOddData(t *testing.T) {
	for _, lives := range [][]stats.Life{nil, {{Time: 5, Failed: true}}, {{Time: 5, Failed: true}, {Time: 5, Failed: true}},
		{{Time: 5}, {Time: 7}}, {{Time: -1, Failed: true}, {Time: 0, Failed: true}, {Time: math.NaN(), Failed: true}}} {
		_, err := stats.FitWeibull(lives, 0.95)
		assert.ErrorIs(t, err, stats.ErrFewFailures)
	}
	// A count is as good as so many lives.
	one, err := stats.FitWeibull([]stats.Life{{Time: 3, Failed: true, Count: 2}, {Time: 9, Failed: true}}, 0.9)
	require.NoError(t, err)
	two, err := stats.FitWeibull([]stats.Life{{Time: 3, Failed: true}, {Time: 9, Failed: true}, {Time: 3, Failed: true}}, 0.9)
	require.NoError(t, err)
	assert.InEpsilon(t, one.Shape, two.Shape, 1e-9)
	assert.InEpsilon(t, one.ScaleRange.High, two.ScaleRange.High, 1e-9)

	assert.Equal(t, stats.Interval{Low: 0, High: 1}, stats.Wilson(0, 0, 0.95))
	assert.True(t, math.IsNaN(stats.CompareRates(1, 0, 1, 1).Greater))
	assert.Equal(t, 1.0, stats.CompareRates(0, 1, 0, 1).TwoSided)
	assert.Empty(t, stats.KaplanMeier(nil))
	assert.Empty(t, stats.BenjaminiHochberg(nil))
	seen, _, p := stats.ExcessInStrata([]stats.Stratum{{All: 3, Rows: 9}})
	assert.Zero(t, seen)
	assert.Equal(t, 1.0, p)
	assert.Equal(t, []float64{0.25, 0.75}, stats.Dirichlet([]float64{1, 3}, 0, []int{0, 0}))
}

func TestTally(t *testing.T) {
	var a, b stats.Tally
	assert.True(t, math.IsNaN(a.Mean()))
	for i := 1; i <= 10; i++ {
		b.Add(float64(i), 1)
	}
	a.Merge(&b)
	a.Add(math.NaN(), 1)
	assert.Equal(t, 10, a.N())
	assert.Equal(t, 5.5, a.Mean())
	assert.Equal(t, 5.0, a.Quantile(0.5))
	assert.Equal(t, 9.0, a.Quantile(0.9))
	assert.Equal(t, 10.0, a.Quantile(1))
	assert.Equal(t, []float64{-0.0123, 1230, 5.02, 0}, []float64{stats.Round(-0.01234), stats.Round(1234), stats.Round(5.019), stats.Round(0)})
}
