package rehearsal

import (
	"math"
	"slices"
)

// normal95 is the standard normal quantile of a two-sided 95 % interval.
const normal95 = 1.959963984540054

// Share is a proportion with its Wilson score interval at 95 %.
type Share struct {
	Of   int     `json:"of"`
	N    int     `json:"n"`
	Is   float64 `json:"share"`
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// shareOf is x of n as a proportion; of nothing it is everything from 0 to 1.
func shareOf(x, n int) Share {
	s := Share{Of: n, N: x, High: 1}
	if n > 0 {
		s.Is = float64(x) / float64(n)
		s.Low, s.High = Wilson(x, n, normal95)
	}
	return s
}

// Wilson is the Wilson score interval of x successes in n trials; z is the
// standard normal quantile of the level wanted. Of no trials it is 0 to 1.
func Wilson(x, n int, z float64) (low, high float64) {
	if n <= 0 {
		return 0, 1
	}
	k, m := float64(x), float64(n)
	p := k / m
	centre := p + z*z/(2*m)
	half := z * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	scale := 1 + z*z/m
	return max(0, (centre-half)/scale), min(1, (centre+half)/scale)
}

// Spread is the mean and the 90th percentile of some figures.
type Spread struct {
	N    int     `json:"n"`
	Mean float64 `json:"mean"`
	P90  float64 `json:"p90"`
}

// spreadOf takes the nearest-rank percentile: a figure that occurred.
func spreadOf(list []float64) Spread {
	if len(list) == 0 {
		return Spread{}
	}
	sorted := slices.Sorted(slices.Values(list))
	sum := 0.0
	for _, x := range sorted {
		sum += x
	}
	at := int(math.Ceil(0.9*float64(len(sorted)))) - 1
	return Spread{N: len(sorted), Mean: sum / float64(len(sorted)), P90: sorted[at]}
}
