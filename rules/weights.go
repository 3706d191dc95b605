package rules

import (
	"errors"
	"math"
)

// ErrImpossible is returned when the evidence leaves no hypothesis: every one
// of them says that it cannot have happened.
var ErrImpossible = errors.New("no hypothesis allows this evidence")

// Weights is an unnormalised distribution over hypotheses. The common factor
// of all weights is kept aside as a logarithm, so that evidence can go on
// coming in without the numbers running down to nothing.
type Weights struct {
	w   []float64
	sum float64
	log float64
}

// NewWeights starts from prior probabilities, which need not sum to one.
func NewWeights(prior []float64) *Weights {
	x := &Weights{w: append([]float64(nil), prior...)}
	for _, p := range prior {
		x.sum += p
	}
	return x
}

// Observe multiplies in the likelihood of one piece of evidence under each
// hypothesis.
func (x *Weights) Observe(likelihood []float64) error {
	sum := 0.0
	for i, l := range likelihood {
		x.w[i] *= l
		sum += x.w[i]
	}
	return x.settle(sum)
}

// settle takes over a new sum, and rescales when it has run low.
func (x *Weights) settle(sum float64) error {
	if !(sum > 0) || math.IsInf(sum, 0) {
		x.sum = 0
		return ErrImpossible
	}
	x.sum = sum
	if sum < 1e-60 {
		for i := range x.w {
			x.w[i] /= sum
		}
		x.sum, x.log = 1, x.log+math.Log(sum)
	}
	return nil
}

// P is the probability of hypothesis i.
func (x *Weights) P(i int) float64 {
	if x.sum == 0 {
		return 0
	}
	return x.w[i] / x.sum
}

// LogEvidence is the natural logarithm of the probability of all evidence so
// far, relative to the sum of the priors given.
func (x *Weights) LogEvidence() float64 { return x.log + math.Log(x.sum) }
