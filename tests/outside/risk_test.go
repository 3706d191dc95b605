package outside_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/rules"
)

// risks are the chances that a whole process gives a piece that is out of
// tolerance and accepted, or in tolerance and rejected. A piece of true value x
// is measured with uncertainty u; that the reading falls within the acceptance
// limits is then the conformity of x to them.
func risks(mean, sigma, u, lo, hi, acceptLo, acceptHi float64) (falseAccept, falseReject float64) {
	const steps = 40000
	width := 12 * sigma / steps
	for i := range steps {
		x := mean - 6*sigma + (float64(i)+0.5)*width
		z := (x - mean) / sigma
		mass := math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi)) * width
		accepted := rules.Conformity(acceptLo, acceptHi, x, u)
		if x < lo || x > hi {
			falseAccept += mass * accepted
		} else {
			falseReject += mass * (1 - accepted)
		}
	}
	return falseAccept, falseReject
}

func TestGlobalRisk(t *testing.T) {
	for _, c := range []struct {
		source                  string
		mean, sigma, u          float64
		limit, accept           float64 // half-widths around centre
		centre                  float64
		falseAccept, tolerance1 float64
		falseReject, tolerance2 float64 // -1: not published
	}{
		{"Deaver, as in the tests of sandialabs/suncal: ±2σ, test uncertainty ratio 4", 0, 1, 0.25, 2, 2, 0, 0.008, 5e-4, 0.015, 5e-4},
		{"the same: ±2.5σ, ratio 1", 0, 1, 2.5 / 2, 2.5, 2.5, 0, 0.005, 5e-4, -1, 0},
		{"the same: ±2σ, ratio 2, accepted at 0.91 of the limit", 0, 1, 0.5, 2, 1.82, 0, 0.008, 5e-4, 0.066, 5e-4},
		{"JCGM 106:2012, 9.5.3, resistors (inputs published, results from memory)", 1500, 0.12, 0.04, 0.20, 0.18, 1500, 0.01, 5e-4, 0.07, 5e-3},
	} {
		accept, reject := risks(c.mean, c.sigma, c.u, c.centre-c.limit, c.centre+c.limit, c.centre-c.accept, c.centre+c.accept)
		assert.InDelta(t, c.falseAccept, accept, c.tolerance1, c.source)
		if c.falseReject >= 0 {
			assert.InDelta(t, c.falseReject, reject, c.tolerance2, c.source)
		}
	}
}
