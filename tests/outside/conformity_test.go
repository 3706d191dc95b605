package outside_test

import (
	"math"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// An edge that no reading here comes near, where a tolerance is open.
const (
	farBelow = "-1e6"
	farAbove = "1e6"
)

// tolerance is a check whose window "inside" is a tolerance interval; "" leaves
// a side open.
func tolerance(lower, upper string) *kb.Check {
	c := &kb.Check{ID: "tolerance", Kind: "measure", Unit: "V"}
	from := farBelow
	if lower != "" {
		c.Windows = append(c.Windows, kb.Window{ID: "below", From: from, To: lower})
		from = lower
	}
	to := upper
	if upper == "" {
		to = farAbove
	}
	c.Windows = append(c.Windows, kb.Window{ID: "inside", From: from, To: to, Healthy: true})
	if upper != "" {
		c.Windows = append(c.Windows, kb.Window{ID: "above", From: upper, To: farAbove})
	}
	return c
}

// exactMeter makes a scope in which a reading knows only its own spread.
func exactMeter(t *testing.T) *rules.Scope {
	t.Helper()
	s, err := rules.NewScope(&kb.KB{}, &kb.Kit{ID: "bench"}, nil)
	require.NoError(t, err)
	return s
}

// known is a reading y with standard uncertainty u. A spread is taken as
// rectangular, so that it must be u·√3 wide.
func known(y, u float64) rules.Reading {
	return rules.Reading{Value: y, Unit: "V", Decimals: -1, Spread: u * math.Sqrt(3)}
}

func inside(t *testing.T, j rules.Judgement) float64 {
	t.Helper()
	for _, w := range j.Windows {
		if w.ID == "inside" {
			return w.Probability
		}
	}
	require.Fail(t, "the judgement has no window \"inside\"")
	return 0
}

func TestConformanceProbability(t *testing.T) {
	for _, c := range []struct {
		source       string
		lower, upper string
		y, u         float64
		published    float64
	}{
		{"JCGM 106:2012, 7.4, two-sided: viscosity of an oil (inputs published, result from memory)", "12.5", "16.3", 13.6, 1.8, 0.66},
		{"JCGM 106:2012, 7.3, one-sided: breakdown voltage of a Zener diode (from memory)", "", "-5.40", -5.47, 0.05, 0.92},
		{"JCGM 106:2012, 7.3, the same turned over: a lower limit", "5.40", "", 5.47, 0.05, 0.92},
		{"ILAC-G8:09/2019, simple acceptance: up to 50 % false accept at the limit", "", "10", 10, 0.1, 0.50},
	} {
		j, err := exactMeter(t).Judge(tolerance(c.lower, c.upper), known(c.y, c.u))
		require.NoError(t, err, c.source)
		assert.InDelta(t, c.u, j.Uncertainty, 1e-12, c.source)
		assert.InDelta(t, c.published, inside(t, j), 0.005, c.source)
		assert.True(t, j.Close, "%s: below 95 %% it is too close to call", c.source)

		lo, hi := bound(t, c.lower, -1), bound(t, c.upper, 1)
		assert.InDelta(t, inside(t, j), rules.Conformity(lo, hi, c.y, c.u), 1e-12, c.source)
	}
}

// bound is a limit as a number; an open side is infinite.
func bound(t *testing.T, src string, sign int) float64 {
	t.Helper()
	if src == "" {
		return math.Inf(sign)
	}
	v, err := strconv.ParseFloat(src, 64)
	require.NoError(t, err)
	return v
}

// JCGM 106:2012, 7.3, table 1 (from memory): the distance from the limit, in
// standard uncertainties, that a wanted conformance probability takes.
func TestDistanceForAWantedProbability(t *testing.T) {
	for _, c := range []struct{ wanted, z float64 }{
		{0.80, 0.84}, {0.90, 1.28}, {0.95, 1.64}, {0.99, 2.33}, {0.999, 3.09},
	} {
		z := smallest(0, 6, func(z float64) bool {
			return rules.Conformity(math.Inf(-1), 10, 10-z*0.2, 0.2) >= c.wanted
		})
		assert.InDelta(t, c.z, z, 0.005, "for a probability of %g", c.wanted)
	}
	// From 1.645 on a reading is sure: the 95 % row of the table.
	for z, tooClose := range map[float64]bool{1.64: true, 1.65: false} {
		j, err := exactMeter(t).Judge(tolerance("", "10"), known(10-z*0.2, 0.2))
		require.NoError(t, err)
		assert.Equal(t, tooClose, j.Close, "at %g standard uncertainties from the limit", z)
	}
}

// smallest is where a condition that stays true once it holds begins to hold.
func smallest(lo, hi float64, holds func(float64) bool) float64 {
	for range 60 {
		if mid := (lo + hi) / 2; holds(mid) {
			hi = mid
		} else {
			lo = mid
		}
	}
	return hi
}

// JCGM 106:2012, 8.3 (from memory): a limit of 100 km/h, a relative uncertainty
// of 2 %, and a fine only from a probability of 0.999 on: from 107 km/h.
func TestSpeedLimit(t *testing.T) {
	s, err := rules.NewScope(
		&kb.KB{About: kb.About{Meters: map[string]kb.Meter{"V": {Percent: 2 * math.Sqrt(3)}}}}, &kb.Kit{ID: "bench"}, nil)
	require.NoError(t, err)
	speeding := func(speed float64) bool {
		j, err := s.Judge(tolerance("", "100"), rules.Reading{Value: speed, Unit: "V", Decimals: -1})
		require.NoError(t, err)
		return j.Windows[1].Probability >= 0.999
	}
	first := 0
	for speed := 100; speed < 120 && first == 0; speed++ {
		if speeding(float64(speed)) {
			first = speed
		}
	}
	assert.Equal(t, 107, first)
	assert.InDelta(t, 106.59, smallest(100, 120, speeding), 0.005, "computed: 100 / (1 - 0.02·3.0902)")
}

// A guard band as wide as the expanded uncertainty (k = 2) leaves a risk of
// 2.3 % at most (JCGM 106:2012, 8.3.2, computed); ILAC-G8:09/2019 states
// "below 2.5 %".
func TestGuardBand(t *testing.T) {
	const limit, u = 10, 0.15
	j, err := exactMeter(t).Judge(tolerance("", "10"), known(limit-2*u, u))
	require.NoError(t, err)
	assert.InDelta(t, 0.97725, inside(t, j), 5e-6)
	assert.False(t, j.Close)
	assert.Equal(t, "inside", j.Window)
}
