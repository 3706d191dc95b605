package rules

// rarest bounds how much a word of the owner's can weigh.
const rarest = 0.005

// Said is the evidence that an owner told of an outcome, in words that were
// understood with this confidence: the share of such readings of such words
// that are right. With the rest of the probability the words told nothing, which
// is not the same as telling the contrary: an outcome told of with confidence c
// is c + (1-c)*before likely afterwards, if nothing else is known.
func (m *Model) Said(obs, outcome int, confidence float64) []float64 {
	e := make([]float64, len(m.base[obs]))
	for i := range e {
		e[i] = 1 - confidence
	}
	e[outcome] += confidence / max(rarest, m.base[obs][outcome])
	return scaled(e)
}

// Denied is the evidence that an owner told that it is not this outcome.
func (m *Model) Denied(obs, outcome int, confidence float64) []float64 {
	e := make([]float64, len(m.base[obs]))
	others := max(rarest, 1-m.base[obs][outcome])
	for i := range e {
		e[i] = 1 - confidence
		if i != outcome {
			e[i] += confidence / others
		}
	}
	return scaled(e)
}

// scaled makes the weights sum to one.
func scaled(e []float64) []float64 {
	sum := 0.0
	for _, x := range e {
		sum += x
	}
	for i := range e {
		e[i] /= sum
	}
	return e
}

// Stands is how likely an outcome that an owner told of is true by now, e being
// the evidence of the words, which the belief has taken in: what was found since
// may have made it doubtful. Pairs are left out; they hardly move it.
func (b *Belief) Stands(obs, outcome int, e []float64) float64 {
	m := b.m
	told, all := 0.0, 0.0
	add := func(p float64, like func(k int) float64) {
		sum := 0.0
		for k, x := range e {
			sum += x * like(k)
		}
		if sum > 0 {
			told += p * e[outcome] * like(outcome) / sum
			all += p
		}
	}
	add(b.x.P(0), func(k int) float64 { return m.leak[obs][k] })
	add(b.x.P(1), func(k int) float64 { return m.unlist[obs][k] })
	for i := range m.Causes {
		add(b.x.P(firstSingle+i), func(k int) float64 { return m.Likelihood(obs, k, i) })
	}
	if all == 0 {
		return 1
	}
	return told / all
}
