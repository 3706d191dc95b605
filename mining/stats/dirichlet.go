package stats

// Dirichlet learns shares from counts. The prior shares (they need not sum to
// one) count as much as strength cases; the result is the mean of the
// posterior, (strength prior(i) + n(i)) / (strength + n), which sums to one.
// strength is how many counted cases weigh as much as what was believed
// before; with strength 0 the counts alone remain.
//
// Source: A. Gelman et al., Bayesian Data Analysis, 3rd edition, 3.4 (2.4 for
// two classes).
func Dirichlet(prior []float64, strength float64, n []int) []float64 {
	var mass, total float64
	for i := range prior {
		mass += prior[i]
		total += float64(n[i])
	}
	after := make([]float64, len(prior))
	if strength+total <= 0 {
		strength = 1 // nothing known and nothing seen: what was believed stays
	}
	for i := range prior {
		share := 0.0
		if mass > 0 {
			share = prior[i] / mass
		}
		after[i] = (strength*share + float64(n[i])) / (strength + total)
	}
	return after
}
