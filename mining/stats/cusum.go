package stats

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// CUSUM is the tabular cumulative sum about a target with allowance k:
//
//	up(i)   = max(0, up(i-1)   + x(i) - target - k)
//	down(i) = max(0, down(i-1) + target - k - x(i))
//
// A change is signalled where one exceeds the decision limit h.
//
// Source: E. S. Page, Biometrika 41 (1954) 100; D. C. Montgomery, G. C.
// Runger, Applied Statistics and Probability for Engineers, chapter 16.
func CUSUM(x []float64, target, k float64) (up, down []float64) {
	up, down = make([]float64, len(x)), make([]float64, len(x))
	var u, d float64
	for i, v := range x {
		u, d = max(0, u+v-target-k), max(0, d+target-k-v)
		up[i], down[i] = u, d
	}
	return up, down
}

// CountChart is an upper CUSUM for counts: S(i) = max(0, S(i-1) + x(i) - K),
// with a signal where S >= H.
type CountChart struct {
	Rate float64 // in control, per period
	K    float64 // reference value
	H    float64 // decision limit
	ARL  float64 // average periods to a false signal at Rate
}

// NewCountChart designs the chart for Poisson counts of this rate, tuned to a
// rise by factor: K = rate (factor-1) / ln(factor), which is the quickest test
// for just that rise, rounded to a step on which the sums fall exactly. H is
// the least limit with an average run length in control of at least arl; the
// run length is that of the Markov chain over the steps, hence exact.
//
// Source: J. M. Lucas, Technometrics 27 (1985) 129 (reference value); D. Brook,
// D. A. Evans, Biometrika 59 (1972) 539 (run length).
func NewCountChart(rate, factor, arl float64) (CountChart, error) {
	if !(rate > 0) || !(factor > 1) || !(arl > 1) || arl > longestRun || rate > 1e6 {
		return CountChart{}, fmt.Errorf("designing a chart of counts: rate %g, factor %g, run length %g: give a rate above 0, a factor above 1 and a run length from 1 to 1e12", rate, factor, arl)
	}
	k := rate * (factor - 1) / math.Log(factor)
	steps := stepsPerUnit(k)
	ref := int(math.Round(k * float64(steps)))
	run := func(limit int) float64 { return countRunLength(rate, ref, steps, limit) }
	low, high := 0, steps*int(math.Ceil(1+math.Sqrt(rate)))
	for run(high) < arl {
		low, high = high, high*2
		if high > 4000 {
			return CountChart{}, fmt.Errorf("designing a chart of counts: rate %g wants a limit beyond what can be worked out: compare periods instead", rate)
		}
	}
	for high-low > 1 {
		if mid := (low + high) / 2; run(mid) < arl {
			low = mid
		} else {
			high = mid
		}
	}
	return CountChart{rate, float64(ref) / float64(steps), float64(high) / float64(steps), run(high)}, nil
}

// stepsPerUnit is the coarsest grid on which k is met to 10 %. A chart tuned to
// a slightly other rise is as good; a fine grid costs with its third power.
func stepsPerUnit(k float64) int {
	for _, s := range []int{1, 2, 4, 5, 10, 20} {
		r := math.Round(k * float64(s))
		if r >= 1 && math.Abs(r/float64(s)-k) <= 0.1*k {
			return s
		}
	}
	return int(math.Ceil(2 / k)) // a very small rate
}

// countRunLength solves (I - Q) L = 1, Q being the moves among the sums
// 0 .. limit-1 in steps; L(0) is the run length from the start.
func countRunLength(rate float64, ref, steps, limit int) float64 {
	pois := distuv.Poisson{Lambda: rate}
	return runLength(limit, func(from, to int) float64 {
		// to = from + steps*x - ref
		if to == 0 {
			return pois.CDF(math.Floor(float64(ref-from) / float64(steps)))
		}
		d := to - from + ref
		if d < 0 || d%steps != 0 {
			return 0
		}
		return pois.Prob(float64(d / steps))
	})
}

// NormalRunLength is the run length in control of an upper CUSUM with k and h
// in standard deviations, by the same chain over cells of the sum. It is here
// to hold the chain against the published figures for the normal case.
func NormalRunLength(k, h float64, cells int) float64 {
	width := 2 * h / float64(2*cells-1)
	norm := distuv.Normal{Mu: 0, Sigma: 1}
	return runLength(cells, func(from, to int) float64 {
		d := float64(to-from)*width + k
		if to == 0 {
			return norm.CDF(d + width/2)
		}
		return norm.CDF(d+width/2) - norm.CDF(d-width/2)
	})
}

func runLength(n int, move func(from, to int) float64) float64 {
	a, ones := mat.NewDense(n, n, nil), mat.NewVecDense(n, nil)
	for i := range n {
		ones.SetVec(i, 1)
		for j := range n {
			v := -move(i, j)
			if i == j {
				v++
			}
			a.Set(i, j, v)
		}
	}
	var l mat.VecDense
	if err := l.SolveVec(a, ones); err != nil {
		if _, near := err.(mat.Condition); !near {
			return longestRun
		}
	}
	if v := l.AtVec(0); v > 0 && v < longestRun {
		return v
	}
	return longestRun // so rare a signal that rounding drowns it
}

// longestRun stands for any run length that is beyond the arithmetic.
const longestRun = 1e12
