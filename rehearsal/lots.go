package rehearsal

import (
	"hash/fnv"
	"math/rand/v2"
)

// lots are seeded draws for one purpose, so that a new draw in one place does
// not change all the others.
type lots struct{ *rand.Rand }

func lotsFor(seed uint64, purpose string) lots {
	h := fnv.New64a()
	h.Write([]byte(purpose))
	return lots{rand.New(rand.NewPCG(seed, h.Sum64()))}
}

// chance is true with a probability.
func (l lots) chance(p float64) bool { return l.Float64() < p }

// of draws one of the texts, "" of none.
func (l lots) of(list []string) string {
	if len(list) == 0 {
		return ""
	}
	return list[l.IntN(len(list))]
}

// weigh draws an index by weights.
func (l lots) weigh(weights []float64) int {
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	x := l.Float64() * sum
	for i, w := range weights {
		if x -= w; x < 0 {
			return i
		}
	}
	return len(weights) - 1
}
