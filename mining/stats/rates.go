package stats

import (
	"math"
	"sort"

	"gonum.org/v1/gonum/mathext"
)

// Rates is the comparison of two Poisson rates.
type Rates struct {
	Ratio    float64  // rate of the first to rate of the second; +Inf when the second saw none
	Range    Interval // 95 %, exact
	Greater  float64  // one-sided p: the first rate is no greater
	TwoSided float64  // p: the rates are equal
}

// CompareRates compares n1 events in exposure t1 with n0 events in exposure t0
// by the exact conditional test: given the sum n = n1 + n0, and equal rates,
// n1 is binomial with n and t1/(t1+t0). The two-sided p adds up all outcomes
// that are no more probable than the one seen. The interval of the ratio is
// the Clopper-Pearson one of the binomial share, turned into odds.
//
// Being discrete the test is conservative: an error of the first kind is at
// most as frequent as stated, with small counts far less so.
//
// Source: J. Przyborowski, H. Wilenski, Biometrika 31 (1940) 313.
func CompareRates(n1 int, t1 float64, n0 int, t0 float64) Rates {
	if n1 < 0 || n0 < 0 || !(t1 > 0) || !(t0 > 0) || math.IsInf(t1, 1) || math.IsInf(t0, 1) {
		nan := math.NaN()
		return Rates{nan, Interval{nan, nan}, nan, nan}
	}
	n, share := n1+n0, t1/(t1+t0)
	r := Rates{Range: Interval{0, math.Inf(1)}, Greater: binomialUpper(n1, n, share), TwoSided: twoSided(n1, n, share)}
	switch {
	case n == 0:
		r.Ratio = math.NaN()
	case n0 == 0:
		r.Ratio = math.Inf(1)
	default:
		r.Ratio = float64(n1) / t1 / (float64(n0) / t0)
	}
	odds := func(p float64) float64 { return p / (1 - p) * t0 / t1 }
	if n1 > 0 {
		r.Range.Low = odds(mathext.InvRegIncBeta(float64(n1), float64(n0+1), 0.025))
	}
	if n0 > 0 {
		r.Range.High = odds(mathext.InvRegIncBeta(float64(n1+1), float64(n0), 0.975))
	}
	return r
}

// binomialUpper is P(X >= x) for X of n with probability p.
func binomialUpper(x, n int, p float64) float64 {
	switch {
	case x <= 0:
		return 1
	case x > n:
		return 0
	}
	return mathext.RegIncBeta(float64(x), float64(n-x+1), p)
}

func logBinomial(x, n int, p float64) float64 {
	lg := func(k int) float64 { v, _ := math.Lgamma(float64(k) + 1); return v }
	return lg(n) - lg(x) - lg(n-x) + float64(x)*math.Log(p) + float64(n-x)*math.Log1p(-p)
}

// twoSided looks for where the other tail begins by bisection, because
// the probabilities rise to the mode and then fall.
func twoSided(x, n int, p float64) float64 {
	if n == 0 {
		return 1
	}
	seen := logBinomial(x, n, p) + 1e-7 // equal ones must count as equal in spite of rounding
	mode := int(math.Floor(float64(n+1) * p))
	switch {
	case float64(x) == float64(n)*p:
		return 1
	case float64(x) > float64(n)*p:
		// The last k below the mode with probability no more than that of x.
		k := sort.Search(mode+1, func(k int) bool { return logBinomial(k, n, p) > seen })
		return math.Min(1, binomialUpper(x, n, p)+1-binomialUpper(k, n, p))
	}
	k := mode + sort.Search(n-mode+1, func(d int) bool { return mode+d > n || logBinomial(mode+d, n, p) <= seen })
	return math.Min(1, 1-binomialUpper(x+1, n, p)+binomialUpper(k, n, p))
}

// PoissonUpper is the exact one-sided upper limit, at level, of the mean of a
// Poisson count of which n were seen.
//
// Source: F. Garwood, Biometrika 28 (1936) 437.
func PoissonUpper(n int, level float64) float64 {
	return mathext.GammaIncRegInv(float64(n)+1, level)
}
