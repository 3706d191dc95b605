package rehearsal_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/rehearsal"
)

// TestWilson: R. G. Newcombe, Statistics in Medicine 17 (1998), 857-872, table I,
// method 3 (from memory, agreeing with the formula worked by hand), and the
// extremes 0 and 32 of 32 and 5 of 10 at 90 %, as kept in the tests of a public
// statistics package.
func TestWilson(t *testing.T) {
	const z95, z90 = 1.959963984540054, 1.6448536269514722
	for _, c := range []struct {
		x, n      int
		z         float64
		low, high float64
		within    float64
	}{
		{81, 263, z95, 0.2553, 0.3662, 5e-5},
		{15, 148, z95, 0.0624, 0.1605, 5e-5},
		{0, 20, z95, 0, 0.1611, 5e-5},
		{1, 29, z95, 0.0061, 0.1718, 5e-5},
		{32, 32, z95, 0.8928208, 1, 5e-8},
		{0, 32, z95, 0, 0.1071792, 5e-8},
		{5, 10, z90, 0.2692718, 0.7307282, 5e-8},
		{0, 0, z95, 0, 1, 0},
	} {
		low, high := rehearsal.Wilson(c.x, c.n, c.z)
		assert.InDelta(t, c.low, low, c.within, "%d of %d", c.x, c.n)
		assert.InDelta(t, c.high, high, c.within, "%d of %d", c.x, c.n)
	}
}
