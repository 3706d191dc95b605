package outside_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/kb"
	"triagebot/rules"
)

// EURACHEM/CITAC guide QUAM, appendix E.1: not less than 7 and not more than
// 10, so a half-width of 1.5 and a standard uncertainty of 0.87 (rectangular,
// a/√3; JCGM 100:2008, 4.3.7).
func TestRectangular(t *testing.T) {
	u := rules.Uncertainty(kb.Meter{}, rules.Reading{Value: 8.5, Decimals: -1, Spread: 1.5})
	assert.InDelta(t, 0.87, u, 0.005)
}

// Accuracies as printed in meter manuals, with the limits that they print.
func TestPrintedAccuracy(t *testing.T) {
	for _, c := range []struct {
		source          string
		meter           kb.Meter
		y, low, high    float64
		printedToWithin float64
	}{
		{"gvda-instrument.com 69432302: ±(0.5 % + 3) at 2 V, steps of 0.001 V", kb.Meter{Percent: 0.5, Digits: 3, Counts: 2000}, 2, 1.987, 2.013, 1e-9},
		{"gvda-instrument.com 102912098: ±(1 % + 2) at 100.0 V", kb.Meter{Percent: 1, Digits: 2, Counts: 2000}, 100, 98.8, 101.2, 1e-9},
		{"victorruoshui.com 72611: ±(0.08 % + 2) at 2.000 V", kb.Meter{Percent: 0.08, Digits: 2, Counts: 6000}, 2, 1.996, 2.004, 5e-4},
	} {
		half := math.Sqrt(3) * rules.Uncertainty(c.meter, rules.Reading{Value: c.y, Decimals: -1})
		assert.InDelta(t, c.low, c.y-half, c.printedToWithin, c.source)
		assert.InDelta(t, c.high, c.y+half, c.printedToWithin, c.source)
	}
}

// The hand meter of the built-in knowledge base is the typical ±(0.5 % + 2)
// with 6000 counts (class of specification from memory, figures computed).
func TestHandMeter(t *testing.T) {
	volts := bikes(t).About.Meters["V"]
	for _, c := range []struct {
		y        float64
		decimals int
		half, u  float64
	}{
		{42.00, 2, 0.23, 0.133},
		{4.200, 3, 0.023, 0.0133},
	} {
		u := rules.Uncertainty(volts, rules.Reading{Value: c.y, Unit: "V", Decimals: c.decimals})
		assert.InEpsilon(t, c.u, u, 0.002, "at %g V", c.y)
		assert.InEpsilon(t, c.half, u*math.Sqrt(3), 0.002, "at %g V", c.y)
	}
}
