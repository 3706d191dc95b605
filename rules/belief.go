package rules

import (
	"cmp"
	"slices"

	"triagebot/kb"
)

// Belief is the probability of each hypothesis: nothing wrong, something these
// rules do not know, each cause alone, and each pair of causes. It is exact
// over this space.
//
// Two causes meet in one observation as in a noisy-OR over its outcomes: each
// cause draws what it shows; where only one draws a fault, that one is seen;
// where both do, either is, with equal chance; where neither does, the healthy
// bike's slips are seen. For a symptom this is the leaky noisy-OR. The one
// exception is the supply line: where one cause leaves the point of a check in
// a worse state than the other, it hides the other.
type Belief struct {
	m     *Model
	x     Weights
	fixed []bool // causes whose remedy was carried out

	// Per cause, for the evidence at hand: the probability of the healthy
	// outcome, half of one more than that, the evidence's weight on the faults
	// shown, and the constant of a cause that is hidden from the row's.
	alpha, beta, gamma, delta []float64
	single                    []float64
	state                     []LineState
}

// firstSingle is where single causes begin, behind nothing-wrong and unlisted.
const firstSingle = 2

// wronglyDone is the chance that a remedy reported as done did not take: the
// cause it was for stays possible.
const wronglyDone = 0.05

// NewBelief starts from the priors of the model.
func NewBelief(m *Model) *Belief {
	n := len(m.Causes)
	b := &Belief{m: m, fixed: make([]bool, n), state: make([]LineState, n)}
	b.alpha, b.beta, b.gamma, b.delta = make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	b.single = make([]float64, n)
	b.x = *NewWeights(m.start)
	return b
}

// priors are those of all hypotheses: a pair is as likely as its causes
// together, scaled to the share that pairs have.
func (m *Model) priors() []float64 {
	n := len(m.Causes)
	set := m.KB.About.Belief
	prior := make([]float64, firstSingle+n+n*(n-1)/2)
	prior[0], prior[1] = set.NothingWrong, set.Unlisted
	rest := 1 - set.NothingWrong - set.Unlisted
	pairs := 0.0
	if n > 1 {
		pairs = set.Pairs
	}
	for i, p := range m.prior {
		prior[firstSingle+i] = p * (rest - pairs)
	}
	mass, at := 0.0, firstSingle+n
	for i := range n {
		for j := i + 1; j < n; j++ {
			if m.Causes[i] != m.Causes[j] { // two forms of one cause are no pair
				prior[at] = m.prior[i] * m.prior[j]
			}
			mass += prior[at]
			at++
		}
	}
	if mass > 0 {
		for i := firstSingle + n; i < len(prior); i++ {
			prior[i] *= pairs / mass
		}
	}
	return prior
}

// Model returns what the belief is about.
func (b *Belief) Model() *Model { return b.m }

// Observe takes in one piece of evidence: for the observation at place obs the
// probability of each of its outcomes.
func (b *Belief) Observe(obs int, soft []float64) error {
	healthy := b.likelihoods(obs, soft)
	w, n := b.x.w, len(b.m.Causes)
	w[0] *= healthy
	w[1] *= dot(b.m.unlist[obs], soft)
	sum := w[0] + w[1]
	for i := range n {
		w[firstSingle+i] *= b.single[i]
		sum += w[firstSingle+i]
	}
	sum += b.pairs(w[firstSingle+n:], healthy)
	return b.x.settle(sum)
}

// likelihoods fills the per-cause figures of one piece of evidence and returns
// the likelihood of the healthy bike.
func (b *Belief) likelihoods(obs int, soft []float64) float64 {
	healthy := dot(b.m.leak[obs], soft)
	row := b.m.shows[obs]
	for i := range row {
		s := &row[i]
		faulty := dot(s.dist, soft)
		b.single[i] = s.healthy*healthy + faulty
		a, state := s.healthy, s.state
		if b.fixed[i] {
			a, faulty, state = 1, 0, Live
		}
		b.alpha[i], b.beta[i], b.gamma[i] = a, (1+a)/2, faulty
		b.state[i] = state
	}
	return healthy
}

// pairs multiplies the likelihood into every pair and returns their sum.
//
// With a the probability of showing nothing and f the weight of the evidence
// on what is shown, a pair's likelihood is a1·a2·healthy + f1·b2 + f2·b1, where
// b = (1+a)/2: three multiplications and no branch, because this loop runs over
// thousands of pairs for each piece of evidence.
func (b *Belief) pairs(w []float64, healthy float64) float64 {
	n := len(b.m.Causes)
	masked := false
	for _, s := range b.state {
		masked = masked || s != Live
	}
	alpha, beta, gamma := b.alpha, b.beta, b.gamma
	if masked {
		return b.maskedPairs(w, healthy)
	}
	total, at := 0.0, 0
	for i := range n {
		k := n - 1 - i
		total += row(w[at:at+k], alpha[i+1:], beta[i+1:], gamma[i+1:], alpha[i]*healthy, gamma[i], beta[i])
		at += k
	}
	return total
}

// row is the inner loop; two sums, because one would wait for itself.
func row(w, alpha, beta, gamma []float64, x, y, z float64) float64 {
	alpha, beta, gamma = alpha[:len(w)], beta[:len(w)], gamma[:len(w)]
	even, odd := 0.0, 0.0
	j := 0
	for ; j+1 < len(w); j += 2 {
		p := w[j] * (alpha[j]*x + beta[j]*y + gamma[j]*z)
		q := w[j+1] * (alpha[j+1]*x + beta[j+1]*y + gamma[j+1]*z)
		w[j], w[j+1] = p, q
		even += p
		odd += q
	}
	if j < len(w) {
		w[j] *= alpha[j]*x + beta[j]*y + gamma[j]*z
		even += w[j]
	}
	return even + odd
}

// maskedPairs is pairs for an observation at which some causes leave the line
// in a worse state than others.
func (b *Belief) maskedPairs(w []float64, healthy float64) float64 {
	n := len(b.m.Causes)
	// A hidden or hiding cause brings its own likelihood as a constant.
	own := b.delta
	for i := range n {
		own[i] = b.alpha[i]*healthy + b.gamma[i]
	}
	total, at := 0.0, 0
	for i := range n {
		si, ai, bi, fi := b.state[i], b.alpha[i]*healthy, b.beta[i], b.gamma[i]
		r := w[at : at+n-1-i]
		states, alpha, beta, gamma, alone := b.state[i+1:n], b.alpha[i+1:n], b.beta[i+1:n], b.gamma[i+1:n], own[i+1:n]
		sum := 0.0
		for j := range r {
			var l float64
			switch s := states[j]; {
			case s == si:
				l = alpha[j]*ai + beta[j]*fi + gamma[j]*bi
			case s > si:
				l = alone[j]
			default:
				l = own[i]
			}
			r[j] *= l
			sum += r[j]
		}
		total += sum
		at += len(r)
	}
	return total
}

// Remedied takes in that a remedy was carried out and the fault stayed: the
// causes it mends are no longer the whole story, but may have been half of it.
func (b *Belief) Remedied(causes []int) error {
	n := len(b.m.Causes)
	for _, c := range causes {
		b.fixed[c] = true
	}
	sum := 0.0
	b.x.w[0] *= wronglyDone
	sum += b.x.w[0] + b.x.w[1]
	for i := range n {
		if slices.Contains(causes, i) {
			b.x.w[firstSingle+i] *= wronglyDone
		}
		sum += b.x.w[firstSingle+i]
	}
	b.eachPair(func(at, i, j int) {
		if b.fixed[i] && b.fixed[j] {
			b.x.w[at] *= wronglyDone
		}
		sum += b.x.w[at]
	})
	return b.x.settle(sum)
}

func (b *Belief) eachPair(do func(at, i, j int)) {
	n := len(b.m.Causes)
	at := firstSingle + n
	for i := range n {
		for j := i + 1; j < n; j++ {
			do(at, i, j)
			at++
		}
	}
}

// NothingWrong is the probability that the bike behaves as it should.
func (b *Belief) NothingWrong() float64 { return b.x.P(0) }

// Unlisted is the probability of something these rules do not know.
func (b *Belief) Unlisted() float64 { return b.x.P(1) }

// Causes is, for each cause, the probability that it is there, alone or with
// another, and not yet mended. What all forms of a cause have stands at the first.
func (b *Belief) Causes() []float64 {
	n := len(b.m.Causes)
	p := make([]float64, n)
	for i := range n {
		p[i] = b.x.P(firstSingle + i)
	}
	b.eachPair(func(at, i, j int) {
		w := b.x.P(at)
		if !b.fixed[i] {
			p[i] += w
		}
		if !b.fixed[j] {
			p[j] += w
		}
	})
	for i := n - 1; i > 0; i-- {
		if !b.m.First(i) {
			p[i-1], p[i] = p[i-1]+p[i], 0
		}
	}
	return p
}

// Suspect is a cause, or two causes that are there together, with its probability.
type Suspect struct {
	Causes      []*kb.Cause
	Probability float64
}

// pairNamed is the probability from which a pair is a suspect of its own.
const pairNamed = 0.5

// Suspects lists the causes of at least this probability, strongest first;
// equal ones in the order of the knowledge base. A pair that is likelier than
// not comes before its parts.
func (b *Belief) Suspects(least float64) []Suspect {
	var list []Suspect
	for i, p := range b.Causes() {
		if p >= least && b.m.First(i) {
			list = append(list, Suspect{Causes: []*kb.Cause{b.m.Causes[i]}, Probability: p})
		}
	}
	slices.SortStableFunc(list, func(x, y Suspect) int { return cmp.Compare(y.Probability, x.Probability) })
	b.eachPair(func(at, i, j int) {
		if p := b.x.P(at); p >= pairNamed && !b.fixed[i] && !b.fixed[j] {
			list = slices.Insert(list, 0, Suspect{Causes: []*kb.Cause{b.m.Causes[i], b.m.Causes[j]}, Probability: p})
		}
	})
	return list
}

// Expect is the probability of each outcome of an observation as things stand.
func (b *Belief) Expect(obs int) []float64 {
	n := len(b.m.Obs[obs].Outcomes)
	p := make([]float64, n)
	for o := range n {
		soft := make([]float64, n)
		soft[o] = 1
		healthy := b.likelihoods(obs, soft)
		p[o] = b.x.P(0)*healthy + b.x.P(1)*b.m.unlist[obs][o]
		for i := range b.single {
			p[o] += b.x.P(firstSingle+i) * b.single[i]
		}
		b.eachPair(func(at, i, j int) { p[o] += b.x.P(at) * b.pairLikelihood(i, j, healthy) })
	}
	return p
}

// pairLikelihood is one pair's cell of what pairs works through in bulk, from
// the figures that likelihoods left.
func (b *Belief) pairLikelihood(i, j int, healthy float64) float64 {
	switch {
	case b.state[i] > b.state[j]:
		return b.alpha[i]*healthy + b.gamma[i]
	case b.state[j] > b.state[i]:
		return b.alpha[j]*healthy + b.gamma[j]
	}
	return b.alpha[i]*b.alpha[j]*healthy + b.gamma[i]*b.beta[j] + b.gamma[j]*b.beta[i]
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// Clone returns a belief of its own, for looking at what an answer would change.
func (b *Belief) Clone() *Belief {
	c := NewBelief(b.m)
	copy(c.x.w, b.x.w)
	c.x.sum, c.x.log = b.x.sum, b.x.log
	copy(c.fixed, b.fixed)
	return c
}

// Weight is how strongly a piece of evidence speaks for a cause: its
// probability if that cause is the one, over its probability as things stand.
// Above one it speaks for the cause, below one against it.
func (b *Belief) Weight(obs int, soft []float64, cause int) float64 {
	b.likelihoods(obs, soft)
	all := dot(b.Expect(obs), soft)
	b.likelihoods(obs, soft)
	if all == 0 {
		return 1
	}
	return b.single[cause] / all
}
