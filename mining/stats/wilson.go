package stats

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Interval is a range of a quantity at some level of confidence.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// Wilson is the score interval of a share, x of n, two-sided at level:
//
//	(p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n)
//
// It stays within 0..1 and is usable for small n and for x = 0 or n, where the
// textbook interval collapses. With n = 0 nothing is known: 0..1.
//
// Source: E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; NIST/SEMATECH
// e-Handbook 7.2.4.1.
func Wilson(x, n int, level float64) Interval {
	if n <= 0 || x < 0 || x > n {
		return Interval{0, 1}
	}
	z := normalQuantile((1 + level) / 2)
	nn, p := float64(n), float64(x)/float64(n)
	mid := p + z*z/(2*nn)
	half := z * math.Sqrt(p*(1-p)/nn+z*z/(4*nn*nn))
	low, high := (mid-half)/(1+z*z/nn), (mid+half)/(1+z*z/nn)
	if x == 0 {
		low = 0 // rounding would leave 1e-17
	}
	if x == n {
		high = 1
	}
	return Interval{low, high}
}

func normalQuantile(p float64) float64 {
	return distuv.Normal{Mu: 0, Sigma: 1}.Quantile(p)
}
