package bench

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// dice are a stream of seeded draws. Each purpose has a stream of its own,
// named, so that a new draw in one place does not change all the others.
type dice struct{ *rand.Rand }

func roll(seed uint64, purpose string) dice {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	return dice{rand.New(rand.NewPCG(seed, h.Sum64()))}
}

// between draws evenly.
func (d dice) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// around draws within a part of the middle: around(5, 0.1) is 4.5 to 5.5.
func (d dice) around(middle, part float64) float64 {
	return middle * d.between(1-part, 1+part)
}

// decades draws evenly over the powers of ten between two values, for what
// spreads over magnitudes, such as a bad contact.
func (d dice) decades(low, high float64) float64 {
	return low * math.Pow(high/low, d.Float64())
}

// chance is true with a probability.
func (d dice) chance(p float64) bool { return d.Float64() < p }

// weigh draws an index by weights.
func (d dice) weigh(weights ...float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	x := d.Float64() * sum
	for i, w := range weights {
		if x -= w; x < 0 {
			return i
		}
	}
	return len(weights) - 1
}
