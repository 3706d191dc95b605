package rules_test

import (
	"math"
	"math/bits"
	"math/rand/v2"

	"triagebot/rules"
)

func scaleToOne(w []float64) {
	sum := total(w)
	for i := range w {
		w[i] /= sum
	}
}

// smallProblem draws a problem small enough to be solved by exhaustion: up to
// 10 hypotheses, 8 checks, 6 remedies and 3 covers.
func smallProblem(rng *rand.Rand) *rules.Problem {
	hyps := 2 + rng.IntN(9)
	p := &rules.Problem{HandOver: 10 + 90*rng.Float64()}
	for range hyps {
		p.Prob = append(p.Prob, 0.01+math.Pow(rng.Float64(), 2))
	}
	scaleToOne(p.Prob)
	for range rng.IntN(4) {
		p.Access = append(p.Access, 12*rng.Float64())
	}
	style := rng.IntN(3) // all exact, all noisy, mixed
	places := 1
	for range 1 + rng.IntN(8) {
		outcomes := 2 + rng.IntN(3)/2
		if rng.IntN(8) == 0 {
			outcomes = 4
		}
		noisy := style == 1 || style == 2 && rng.IntN(2) == 0
		if noisy && places*(outcomes+1) > 2500 { // exhaustion has to end
			noisy = false
		}
		if noisy {
			places *= outcomes + 1
		} else {
			places *= 2
		}
		p.Checks = append(p.Checks, smallCheck(rng, len(p.Access), hyps, outcomes, noisy))
	}
	smallRemedies(rng, p)
	return p
}

func smallCheck(rng *rand.Rand, covers, hyps, outcomes int, noisy bool) rules.ProblemCheck {
	c := rules.ProblemCheck{Cost: 0.2 + 8*rng.Float64()}
	for b := range covers {
		if rng.IntN(3) == 0 {
			c.Opens |= 1 << b
		}
	}
	for range hyps {
		row := make([]float64, outcomes)
		at := rng.IntN(outcomes)
		if rng.IntN(2) == 0 {
			at = 0
		}
		if noisy {
			slip := 0.02 + 0.3*rng.Float64()
			for k := range row {
				row[k] = slip / float64(outcomes)
			}
			row[at] += 1 - slip
		} else {
			row[at] = 1
		}
		c.Like = append(c.Like, row)
	}
	return c
}

func smallRemedies(rng *rand.Rand, p *rules.Problem) {
	hyps, count, overlap := len(p.Prob), rng.IntN(7), rng.IntN(2) == 0
	wrong := []float64{0, 10 * rng.Float64(), 60 * rng.Float64(), 1000}
	for r := range count {
		rem := rules.ProblemRemedy{Cost: 15 * rng.Float64(), Wrong: wrong[rng.IntN(4)]}
		for i := range hyps {
			rem.Cures = append(rem.Cures, i%count == r || overlap && rng.IntN(5) == 0)
		}
		p.Remedies = append(p.Remedies, rem)
	}
	if unlisted := rng.IntN(2 * hyps); unlisted < hyps {
		for _, r := range p.Remedies {
			r.Cures[unlisted] = false
		}
	}
}

// parityProblem draws a problem where no single check tells anything about the
// remedy: that depends on whether an even number of bits is set, and each check
// shows one bit.
func parityProblem(rng *rand.Rand) *rules.Problem {
	size := 2 + rng.IntN(2)
	hyps := 1 << size
	p := &rules.Problem{HandOver: 20 + 80*rng.Float64()}
	for range hyps {
		p.Prob = append(p.Prob, 0.7+0.6*rng.Float64())
	}
	scaleToOne(p.Prob)
	for c := range 2 * size {
		wrong := 0.0
		if c >= size && rng.IntN(2) == 0 {
			wrong = 0.15 * rng.Float64()
		}
		check := rules.ProblemCheck{Cost: 0.5 + 3*rng.Float64()}
		for y := range hyps {
			row := []float64{wrong, wrong}
			row[y>>(c%size)&1] = 1 - wrong
			check.Like = append(check.Like, row)
		}
		p.Checks = append(p.Checks, check)
	}
	for r := range 2 {
		rem := rules.ProblemRemedy{Cost: 5 * rng.Float64(), Wrong: 30 * rng.Float64()}
		for y := range hyps {
			rem.Cures = append(rem.Cures, bits.OnesCount(uint(y))%2 == r)
		}
		p.Remedies = append(p.Remedies, rem)
	}
	return p
}

// workshopProblem draws a problem of the size and shape of the trade: faults
// along supply lines, measures that split a line, looks that show one part,
// covers shared by neighbours, remedies shared by faults. A third of the
// hypotheses are two faults at once.
func workshopProblem(rng *rand.Rand, hyps, checks, remedies int) *rules.Problem {
	const lines, length = 3, 12
	p := &rules.Problem{HandOver: 45, Access: []float64{3, 8, 5, 12}}
	singles := hyps - hyps/3
	line, at := make([]int, singles), make([]float64, singles)
	for i := range singles {
		line[i], at[i] = rng.IntN(lines+1), length*rng.Float64()
		p.Prob = append(p.Prob, math.Exp(1.6*rng.NormFloat64()))
	}
	scaleToOne(p.Prob)
	for range checks {
		p.Checks = append(p.Checks, workshopCheck(rng, line, at, lines, length))
	}
	cured := make([]int, singles)
	for i := range singles {
		cured[i] = rng.IntN(remedies + 1) // the last stands for none
		for j := range i {
			if line[j] == line[i] && math.Abs(at[j]-at[i]) < 0.4 {
				cured[i] = cured[j]
			}
		}
	}
	for r := range remedies {
		rem := rules.ProblemRemedy{Cost: 1 + 20*math.Pow(rng.Float64(), 2)}
		if rng.IntN(3) > 0 {
			rem.Wrong = 10 + 80*rng.Float64()
		}
		for i := range singles {
			rem.Cures = append(rem.Cures, cured[i] == r)
		}
		p.Remedies = append(p.Remedies, rem)
	}
	addPairs(rng, p, hyps/3)
	return p
}

func workshopCheck(rng *rand.Rand, line []int, at []float64, lines int, length float64) rules.ProblemCheck {
	outcomes := 3 + rng.IntN(4)
	c := rules.ProblemCheck{Cost: 0.5 + 2*rng.Float64()}
	measure := rng.IntN(3) > 0
	on, where := rng.IntN(lines), length*rng.Float64()
	if measure {
		c.Cost = 2 + 5*rng.Float64()
		c.Opens = 1 << rng.IntN(5) & 15
	}
	slip := 0.01 + 0.04*rng.Float64()
	for i := range line {
		row := make([]float64, outcomes)
		healthy := 1.0
		switch {
		case measure && line[i] == on && at[i] < where: // upstream of the probe
			healthy = 0.05
			row[1+int(at[i])%2] = 1 - healthy
		case !measure && line[i] == on && math.Abs(at[i]-where) < 0.8: // in view
			healthy = 0.15
			row[1+int(3*at[i])%(outcomes-1)] = 1 - healthy
		}
		row[0] = healthy
		for k := range row {
			row[k] = (1-slip)*row[k] + slip/float64(outcomes)
		}
		c.Like = append(c.Like, row)
	}
	return c
}

// addPairs adds hypotheses of two faults at once. A check shows the fault that
// hides more; the remedy of either is worth trying.
func addPairs(rng *rand.Rand, p *rules.Problem, pairs int) {
	singles := len(p.Prob)
	for range pairs {
		i, j := rng.IntN(singles), rng.IntN(singles)
		p.Prob = append(p.Prob, 4*p.Prob[i]*p.Prob[j]*rng.Float64())
		for c := range p.Checks {
			like := &p.Checks[c].Like
			shown := (*like)[i]
			if (*like)[j][0] < shown[0] {
				shown = (*like)[j]
			}
			*like = append(*like, shown)
		}
		for r := range p.Remedies {
			cures := &p.Remedies[r].Cures
			*cures = append(*cures, (*cures)[i] || (*cures)[j])
		}
	}
	scaleToOne(p.Prob)
}
