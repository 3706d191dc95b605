package outside_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// A 10 kΩ NTC with B25/85 = 3977 K: °C and Ω of the maker's table (data sheet of
// NTCLE100E3103, from memory).
var thermistor = [][2]float64{
	{-20, 96358}, {-10, 55046}, {0, 32554}, {10, 19872}, {20, 12488}, {25, 10000}, {30, 8059}, {40, 5330},
	{50, 3605}, {60, 2490}, {70, 1753}, {80, 1256}, {90, 915.4}, {100, 677.3},
}

// steinhartHart is the extended equation with the coefficients published for
// this part; L = ln(R/R25).
func steinhartHart(ohms float64) (celsius float64) {
	l := math.Log(ohms / 10000)
	return 1/(3.354016e-3+l*(2.569850e-4+l*(2.620131e-6+l*6.383091e-8))) - 273.15
}

// steinhartOhms turns it over: the resistance falls as it gets warmer.
func steinhartOhms(celsius float64) float64 {
	return smallest(10, 1e6, func(ohms float64) bool { return steinhartHart(ohms) <= celsius })
}

// ntc reads the knowledge base's table the way a limit does.
func ntc(t *testing.T, celsius float64) float64 {
	t.Helper()
	return number(t, scope(t, builtKits(t)[0]), fmt.Sprintf("table('ntc-10k', %g)", celsius))
}

func TestThermistorTable(t *testing.T) {
	for _, p := range thermistor {
		assert.InDelta(t, p[1], ntc(t, p[0]), 1e-6, "%g °C", p[0])
		assert.InDelta(t, p[0], steinhartHart(p[1]), 0.0115, "the table agrees with the equation at %g Ω", p[1])
	}
}

// Between the points, a curve linear in log R must stay within 0.5 %; in the
// steep first ten degrees within 0.55 %.
func TestThermistorBetweenItsPoints(t *testing.T) {
	for celsius := -20.0; celsius <= 100; celsius++ {
		within := 0.005
		if celsius < -10 {
			within = 0.0055
		}
		assert.InEpsilon(t, steinhartOhms(celsius), ntc(t, celsius), within, "%g °C", celsius)
	}
}

// The plain equation R25·exp(B·(1/T - 1/298.15)), in the language of limits, is
// 4 % too high at 0 °C and 11 % at -20 °C (computed): a window that is to hold
// sensors of either kind must be wider than that.
func TestThermistorByBetaAlone(t *testing.T) {
	s := scope(t, builtKits(t)[0])
	off := func(celsius float64) float64 {
		return number(t, s, fmt.Sprintf("10000 * exp(3977 * (1 / (%g + 273.15) - 1 / 298.15)) / table('ntc-10k', %g)", celsius, celsius)) - 1
	}
	assert.InDelta(t, 0.04, off(0), 0.005)
	assert.InDelta(t, 0.11, off(-20), 0.005)
	for celsius := 0.0; celsius <= 100; celsius += 10 {
		assert.LessOrEqual(t, math.Abs(off(celsius)), 0.045, "%g °C", celsius)
	}
}

// judged is how the check of the motor's sensor takes a resistance.
func judged(t *testing.T, ohms float64) rules.Judgement {
	t.Helper()
	kit := bikes(t).Kit("yarrow-72")
	require.NotNil(t, kit, "the kit with a sensor in its motor")
	j, err := scope(t, kit).Judge(check(t, "motor-temp-ohms"), rules.Reading{Value: ohms, Unit: "Ω", Decimals: -1})
	require.NoError(t, err)
	require.False(t, j.Odd, "%g Ω", ohms)
	return j
}

func TestSoundMotorSensor(t *testing.T) {
	for _, celsius := range []float64{0, 10, 20, 30} {
		j := judged(t, steinhartOhms(celsius))
		assert.Equal(t, "good", j.Window, "%g °C", celsius)
		assert.False(t, j.Close, "%g °C", celsius)
	}
}

// A sensor that follows the plain equation is as sound. At 0 °C, 4.1 % above the
// table, it may stand at the edge to the window of frost, which is healthy too;
// at -20 °C, 11.1 % above, it must not be sure to be open.
func TestSoundMotorSensorByBetaAlone(t *testing.T) {
	c := check(t, "motor-temp-ohms")
	for _, celsius := range []float64{-10, 0, 10, 20, 30} {
		healthy := 0.0
		for _, w := range judged(t, betaOhms(celsius)).Windows {
			if window(t, c, w.ID).Healthy {
				healthy += w.Probability
			}
		}
		assert.GreaterOrEqual(t, healthy, rules.Sure, "%g °C", celsius)
	}
	j := judged(t, betaOhms(-20))
	assert.True(t, j.Window == "cold" || j.Close, "%+v", j.Windows)
}

// betaOhms is R25·exp(B·(1/T - 1/298.15)).
func betaOhms(celsius float64) float64 {
	return 10000 * math.Exp(3977*(1/(celsius+273.15)-1/298.15))
}

func TestFailedMotorSensor(t *testing.T) {
	for ohms, want := range map[float64]string{0: "shorted", math.Inf(1): "open"} {
		j := judged(t, ohms)
		assert.Equal(t, want, j.Window)
		assert.False(t, j.Close)
		assert.False(t, window(t, check(t, "motor-temp-ohms"), j.Window).Healthy)
	}
}
