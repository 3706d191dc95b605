package rules_test

import (
	"math"

	"triagebot/rules"
)

// The simple rules that the search is measured against.

// informed asks what tells most about the hypotheses, whatever it costs or for
// its cost, until a remedy is sure enough.
func informed(perMinute bool, sure float64) policy {
	return func(p *rules.Problem) rules.Action {
		if _, cured := likeliest(p); cured >= sure {
			return finish(p)
		}
		pick, most := -1, 0.0
		for c := range p.Checks {
			gain := information(p, c)
			if gain < 1e-9 {
				continue
			}
			if perMinute {
				gain /= asking(p, c, p.Opened) + 1e-9
			}
			if gain > most {
				pick, most = c, gain
			}
		}
		if pick < 0 {
			return finish(p)
		}
		return rules.Action{Kind: rules.AskCheck, Index: pick}
	}
}

// inOrder asks the checks as they stand, without those that tell nothing,
// until a remedy is sure enough.
func inOrder(sure float64) policy {
	return func(p *rules.Problem) rules.Action {
		if _, cured := likeliest(p); cured >= sure {
			return finish(p)
		}
		for c := range p.Checks {
			if information(p, c) > 1e-9 {
				return rules.Action{Kind: rules.AskCheck, Index: c}
			}
		}
		return finish(p)
	}
}

// oneStep looks one check ahead: it asks what lowers the cost of ending most.
func oneStep(p *rules.Problem) rules.Action {
	best, least := finish(p), ending(p, p.Prob)
	for c := range p.Checks {
		v := asking(p, c, p.Opened)
		for o := range p.Checks[c].Like[0] {
			w := append([]float64(nil), p.Prob...)
			for i := range w {
				w[i] *= p.Checks[c].Like[i][o]
			}
			v += ending(p, w)
		}
		if v < least-1e-12 {
			best, least = rules.Action{Kind: rules.AskCheck, Index: c}, v
		}
	}
	return best
}

// ending is the cost of the best remedy and then handing over, or of handing
// over at once.
func ending(p *rules.Problem, w []float64) float64 {
	best := total(w) * p.HandOver
	for r, rem := range p.Remedies {
		v := trying(p, r, w)
		for i, m := range w {
			if !rem.Cures[i] {
				v += m * p.HandOver
			}
		}
		best = min(best, v)
	}
	return best
}

// finish tries the likeliest remedy if that, and then handing over, is
// expected to be cheaper than handing over at once.
func finish(p *rules.Problem) rules.Action {
	r, cured := likeliest(p)
	if r >= 0 && trying(p, r, p.Prob)+(1-cured)*p.HandOver < p.HandOver {
		return rules.Action{Kind: rules.TryRemedy, Index: r}
	}
	return rules.Action{Kind: rules.HandOver}
}

func likeliest(p *rules.Problem) (pick int, most float64) {
	pick = -1
	for r, rem := range p.Remedies {
		m := 0.0
		for i, v := range p.Prob {
			if rem.Cures[i] {
				m += v
			}
		}
		if m > most {
			pick, most = r, m
		}
	}
	return pick, most
}

// information is the mutual information of a check with the hypotheses, in bits.
func information(p *rules.Problem, c int) float64 {
	gain := 0.0
	for o := range p.Checks[c].Like[0] {
		mass := 0.0
		for i, v := range p.Prob {
			mass += v * p.Checks[c].Like[i][o]
		}
		for i, v := range p.Prob {
			if l := p.Checks[c].Like[i][o]; l > 0 && v > 0 {
				gain += v * l * math.Log2(l/mass)
			}
		}
	}
	return gain
}
