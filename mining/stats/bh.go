package stats

import (
	"cmp"
	"slices"
)

// BenjaminiHochberg returns the adjusted p-values, in the order given: those at
// most q are the findings among which at most a share q are expected to be
// false. With p sorted, adjusted(i) = min over j >= i of m p(j) / j.
//
// Holds for independent tests and for positively dependent ones (a part and
// its causes rise together). When nothing at all has risen, the chance of any
// finding is at most q.
//
// Source: Y. Benjamini, Y. Hochberg, J. R. Stat. Soc. B 57 (1995) 289.
func BenjaminiHochberg(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return cmp.Compare(p[a], p[b]) })
	adjusted := make([]float64, len(p))
	least := 1.0
	for rank := len(order); rank > 0; rank-- {
		i := order[rank-1]
		least = min(least, p[i]*float64(len(p))/float64(rank))
		adjusted[i] = least
	}
	return adjusted
}
