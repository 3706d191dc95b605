package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Wire: IEC 60228 class 5 plain copper, Ω/km at 20 °C, and its annex's
// factors that bring a resistance back to 20 °C.
func TestCopperAgainstIEC60228(t *testing.T) {
	for mm2, perKm := range map[float64]float64{0.5: 39.0, 0.75: 26.0, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30, 10: 1.91, 16: 1.21, 25: 0.780} {
		r, err := copper(mm2, 1000, 20)
		require.NoError(t, err)
		assert.InDelta(t, perKm, r, 1e-9, "%g mm²", mm2)
	}
	for celsius, back := range map[float64]float64{5: 1.064, 10: 1.042, 30: 0.962, 40: 0.926, 60: 0.862, 80: 0.806} {
		at20, err := copper(4, 1, 20)
		require.NoError(t, err)
		r, err := copper(4, 1, celsius)
		require.NoError(t, err)
		assert.InDelta(t, back, at20/r, 0.001, "%g °C", celsius)
	}
	// 4 m in the loop at 15 A: 0.80 V on 1.5 mm², 0.297 V on 4 mm².
	for mm2, drop := range map[float64]float64{1.5: 0.80, 2.5: 0.479, 4: 0.297, 6: 0.198} {
		r, err := copper(mm2, 4, 20)
		require.NoError(t, err)
		assert.InDelta(t, drop, 15*r, 0.003, "%g mm²", mm2)
	}
	_, err := copper(3, 1, 20)
	assert.ErrorContains(t, err, "no such size")
}

// Thermistor: 10 kΩ NTC, B25/85 3977 K, the data sheet's table.
func TestThermistorAgainstItsTable(t *testing.T) {
	for celsius, ohm := range map[float64]float64{-20: 96358, -10: 55046, 0: 32554, 10: 19872, 20: 12488, 25: 10000,
		30: 8059, 40: 5330, 50: 3605, 60: 2490, 70: 1753, 80: 1256, 90: 915.4, 100: 677.3} {
		assert.InEpsilon(t, ohm, thermistor(celsius), 0.001, "%g °C", celsius)
	}
}

// Cells: the measured open-circuit voltages of Sunil, Pattipati and
// Balasingam (2025), at their points and half way between two.
func TestCellVoltagesAgainstTheTables(t *testing.T) {
	assert.InDelta(t, 3.5737, nmcVolts.at(0.2915), 1e-9)
	assert.InDelta(t, 4.1932, nmcVolts.at(1), 1e-9)
	assert.InDelta(t, (3.7017+4.0637)/2, nmcVolts.at((0.4573+0.8342)/2), 1e-9)
	assert.InDelta(t, 3.2772, lfpVolts.at(0.2972), 1e-9)
	// Between 30 and 98 % an LFP cell moves 74 mV: a meter cannot tell.
	assert.InDelta(t, 0.074, lfpVolts.at(0.9833)-lfpVolts.at(0.2972), 0.0005)
	assert.Equal(t, nmcVolts.at(0), nmcVolts.at(-1))
	assert.Equal(t, nmcVolts.at(1), nmcVolts.at(2))
}

// Packs: full and empty by series cells, as on the kits' cards.
func TestPackLimits(t *testing.T) {
	for id, want := range map[string][2]float64{"teasel-48": {54.6, 39.0}, "sorrel-60": {69.4, 53.2}, "yarrow-72": {84.0, 60.0}} {
		b, err := buildOf(id, 0)
		require.NoError(t, err)
		assert.InDelta(t, want[0], b.full(), 0.06, id)
		assert.InDelta(t, want[1], b.empty(), 0.06, id)
	}
}

// Six steps: one hall changes at each step, three on in six each, never all
// alike: sensors 120° apart.
func TestSixSteps(t *testing.T) {
	want := [6]string{"101", "100", "110", "010", "011", "001"}
	high := [3]int{}
	for i, s := range sixStep {
		text, changed := "", 0
		next := sixStep[(i+1)%6]
		for h := range s {
			text += either(s[h], "1", "0")
			if s[h] {
				high[h]++
			}
			if s[h] != next[h] {
				changed++
			}
		}
		assert.Equal(t, want[i], text)
		assert.Equal(t, 1, changed, "step %d", i)
		assert.NotContains(t, []string{"000", "111"}, text)
	}
	assert.Equal(t, [3]int{3, 3, 3}, high)
	// And the controller reads just these, through plugs and pull-ups.
	b, err := New("sorrel-60", nil, 1)
	require.NoError(t, err)
	codes, err := b.hallCodes(scene{})
	require.NoError(t, err)
	for i, c := range codes {
		for h := range 3 {
			assert.Equal(t, sixStep[i][h], c>>h&1 == 1, "step %d hall %d", i, h)
		}
	}
}

// Meter: ±(0.5 % of reading + 2 digits) on DC volts, 6000 counts: every
// reading of every meter stays inside, and some come near the edge.
func TestMeterKeepsItsClass(t *testing.T) {
	for _, c := range []struct {
		scale scale
		truth []float64
	}{
		{voltScale, []float64{0.012, 0.85, 4.2, 5.05, 5.97, 6.03, 42, 54.6, 63.2, 84}},
		{ohmScale, []float64{0.2, 9.5, 470, 4700, 12488, 96358, 2.2e6, 30e6}},
		{diodeScale, []float64{0.002, 0.45, 0.65, 1.9}},
	} {
		d := roll(1, "meters")
		edge := 0.0
		for range 3000 {
			for _, truth := range c.truth {
				r := c.scale.shown(truth, d.between(-1, 1), d.between(-1, 1), d.between(-1, 1))
				require.False(t, r.Overload)
				digit := math.Pow(10, -float64(r.Decimals))
				allowed := truth*c.scale.percent/100 + c.scale.digits*digit
				off := math.Abs(r.Value - truth)
				require.LessOrEqual(t, off, allowed*(1+1e-9), "%g %s shown as %v", truth, c.scale.unit, r)
				edge = math.Max(edge, off/allowed)
			}
		}
		assert.Greater(t, edge, 0.8, "a meter better than its class is no test of the rules")
	}
	assert.Equal(t, "4.200 V", voltScale.shown(4.2, 0, 0, 0).String())
	assert.Equal(t, "54.60 V", voltScale.shown(54.6, 0, 0, 0).String())
	assert.Equal(t, "63.2 V", voltScale.shown(63.2, 0, 0, 0).String())
	assert.Equal(t, "12.49 kΩ", ohmScale.shown(12488, 0, 0, 0).String())
	assert.Equal(t, "0.3 Ω", ohmScale.shown(0.3, 0, 0, 0).String())
	assert.Equal(t, "OL", ohmScale.shown(100e6, 0, 0, 0).String())
	assert.Equal(t, "0.000 V", voltScale.shown(-0.0001, 0, 0, 0).String())
}
