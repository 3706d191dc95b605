package search

import "math"

// The features of a fit that its score is made of.
const (
	bias = iota
	cover
	dense
	whole
	heft
	order
	cross
	evidence
	clash
	mixed
	turned
	single
	square
	head
	least
	turnedHead
	pool
	headless
	exact
	hanging
	features
)

// weights were fitted by logistic regression on the phrases of the knowledge
// base itself, each taken out in turn and read as a message, and on the
// messages in testdata/dev.txt; so a score of 0.8 is right about eight times
// in ten. What is told to be there and what is told not to be there have their
// own: "goes" is a small part of "goes backwards".
var (
	presentWeights = [features]float64{bias: -6.10, cover: 2.01, dense: 0.70, whole: 0.90, heft: 2.50, order: 0.45, cross: -1.00, evidence: 2.20, clash: -1.20, mixed: -2.50, turned: -2.50, single: -0.67, square: -0.21, head: 0.50, least: 1.80, turnedHead: 2.10, pool: 0.59, headless: -1.50, exact: 1.00, hanging: -1.00}
	absentWeights  = [features]float64{bias: -6.93, cover: 0.67, dense: 0.70, whole: 0.90, heft: 2.37, order: 0.62, cross: -1.00, evidence: 1.84, clash: -1.20, mixed: -2.50, turned: -2.50, single: -0.98, square: 0.75, head: 0.50, least: 1.80, turnedHead: 2.59, pool: 0.72, headless: -1.50, exact: 1.62, hanging: -1.44}
)

// measures gives the features of a fit.
func (f *fit) measures() [features]float64 {
	v := [features]float64{bias: 1, cover: f.cover, dense: f.dense, whole: f.whole,
		heft: math.Min(f.heft, 8) / 8, order: f.order, cross: f.cross, evidence: f.evidence,
		mixed:  1 - math.Abs(2*f.agree-1), // 0 when all signs agree, or all differ
		square: f.cover * f.whole, head: f.head, least: f.least, pool: f.pool,
	}
	if f.clash {
		v[clash] = 1
	}
	if !f.same {
		v[turned] = 1
		v[turnedHead] = f.head
	}
	if f.hanging {
		v[hanging] = 1
	}
	if f.headless {
		v[headless] = 1
	}
	if f.cover > 0.98 && f.whole > 0.98 && f.same {
		v[exact] = 1
	}
	if len(f.found) == 1 {
		v[single] = 1
	}
	return v
}

// score says how surely the clause means what the phrase says, 0..1.
func score(f *fit, present bool) float64 {
	w := &absentWeights
	if present {
		w = &presentWeights
	}
	z := 0.0
	for i, v := range f.measures() {
		z += v * w[i]
	}
	return 1 / (1 + math.Exp(-(surerBias + surerSlope*z)))
}

// A finding that stands after choose has beaten its rivals, and is righter than
// its score alone: these bring its confidence to how often it is right.
const (
	surerBias  = 0.56
	surerSlope = 2.24
)

// otherTalk says how surely a clause is of other talk.
func otherTalk(f *fit) float64 {
	z := -7 + 6.5*f.cover + 1.2*f.dense + 1.2*f.whole + 1.5*math.Min(f.heft, 8)/8 - 3*f.cross
	return 1 / (1 + math.Exp(-z))
}
