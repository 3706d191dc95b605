package stats

import "math"

// Stratum is one fourfold table: of All things, Rows belong to the group in
// question and Marked carry the mark; Both do both.
type Stratum struct{ All, Rows, Marked, Both int }

// ExcessInStrata tests whether the group carries the mark more often than the
// rest once strata are compared with like strata. Given the margins, and no
// difference, each Both is hypergeometric and their sum is the convolution;
// p = P(sum >= seen) is exact and one-sided. With one stratum it is Fisher's
// exact test. Expected is the mean of the sum.
//
// Source: N. Mantel, W. Haenszel, J. Natl. Cancer Inst. 22 (1959) 719; R. A.
// Fisher, The Design of Experiments (1935), chapter 2.
func ExcessInStrata(strata []Stratum) (seen int, expected, p float64) {
	sum := []float64{1}
	shift := 0
	for _, s := range strata {
		if s.All <= 0 || s.Rows < 0 || s.Marked < 0 || s.Rows > s.All || s.Marked > s.All {
			continue
		}
		seen += s.Both
		expected += float64(s.Rows) * float64(s.Marked) / float64(s.All)
		low, dist := hypergeometric(s)
		shift += low
		next := make([]float64, len(sum)+len(dist)-1)
		for i, a := range sum {
			for j, b := range dist {
				next[i+j] += a * b
			}
		}
		sum = next
	}
	for i := len(sum) - 1; i >= 0 && i+shift >= seen; i-- {
		p += sum[i]
	}
	return seen, expected, math.Min(1, p)
}

// hypergeometric lists the probabilities of low, low+1 ... marked in the group,
// but for what lies 12 standard deviations and more from the mean: that is
// beyond any p of use, and would make the work grow with the square of the counts.
func hypergeometric(s Stratum) (low int, dist []float64) {
	lc := func(n, k int) float64 {
		a, _ := math.Lgamma(float64(n) + 1)
		b, _ := math.Lgamma(float64(k) + 1)
		c, _ := math.Lgamma(float64(n-k) + 1)
		return a - b - c
	}
	share := float64(s.Rows) / float64(s.All)
	mean := share * float64(s.Marked)
	far := 12 + 12*math.Sqrt(mean*(1-share)*float64(s.All-s.Marked)/math.Max(1, float64(s.All-1)))
	low = max(0, s.Rows+s.Marked-s.All, int(mean-far))
	for k := low; k <= min(s.Rows, s.Marked, int(mean+far)); k++ {
		dist = append(dist, math.Exp(lc(s.Marked, k)+lc(s.All-s.Marked, s.Rows-k)-lc(s.All, s.Rows)))
	}
	return low, dist
}
