package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func mustBike(t testing.TB, kit string, seed uint64, causes ...string) *Bike {
	t.Helper()
	b, err := New(kit, causes, seed)
	require.NoError(t, err)
	return b
}

func value(t testing.TB, b *Bike, check string) float64 {
	t.Helper()
	r, err := b.Measure(check)
	require.NoError(t, err)
	if r.Overload {
		return math.Inf(1)
	}
	return r.Value
}

// TestSoundBikesReadWhatTheirPartsGive compares readings with what the parts
// of that very bike must give, by hand: Ohm's law, the cells' table, the
// throttle's fraction of the 5 V just read.
func TestSoundBikesReadWhatTheirPartsGive(t *testing.T) {
	for _, kit := range builds {
		for seed := range uint64(10) {
			b := mustBike(t, kit.id, seed)
			w := &b.works
			cells := w.cell.volts.at(w.charge) * float64(w.series)
			volts := func(want float64) float64 { return want*0.005 + 0.25 }
			for _, check := range []string{"pack-volts", "feed-volts", "charge-port-volts", "display-supply-volts", "converter-in-volts"} {
				assert.InDelta(t, cells, value(t, b, check), volts(cells), "%s %s seed %d", kit.id, check, seed)
			}
			// Under a gentle load: the same less inner resistance times current.
			amps := (w.lightWatts + w.lampWatts*1.3/0.87 + 4) / cells
			assert.InDelta(t, cells-amps*w.packOhm(), value(t, b, "pack-volts-loaded"), volts(cells), "%s seed %d", kit.id, seed)
			assert.InDelta(t, (w.lightWatts/cells)*w.ohm["minus-wire"], value(t, b, "negative-drop"), 0.008)
			assert.Less(t, value(t, b, "isolator-drop"), 0.03)

			five := value(t, b, "throttle-5v")
			assert.InDelta(t, 5.0, five, 0.2)
			assert.InDelta(t, five, value(t, b, "control-5v"), 0.03)
			assert.InDelta(t, five, value(t, b, "hall-5v"), 0.03)
			assert.InDelta(t, w.restAt, value(t, b, "throttle-rest")/five, 0.01)
			assert.InDelta(t, w.fullAt, value(t, b, "throttle-full")/five, 0.015)
			assert.InDelta(t, w.restAt*5.05, value(t, b, "throttle-alone-rest"), 0.04)

			assert.True(t, math.IsInf(value(t, b, "brake-ohms-released"), 1))
			assert.Less(t, value(t, b, "brake-ohms-squeezed"), 1.0)
			assert.InDelta(t, 0, value(t, b, "fuse-continuity"), 0.15)
			assert.InDelta(t, 0, value(t, b, "phase-same"), 0.15)
			assert.Greater(t, value(t, b, "phase-to-case"), 20e6)
			assert.InDelta(t, 0.46, value(t, b, "bridge-diode"), 0.05)
			assert.InDelta(t, w.chargerVolts, value(t, b, "charger-volts"), volts(cells))
			assert.InDelta(t, w.converterVolts, value(t, b, "converter-out-volts"), 0.3)
			if w.motorTemp {
				assert.InEpsilon(t, thermistor(w.celsius), value(t, b, "motor-temp-ohms"), 0.015)
			}
		}
	}
}

// TestUpstreamTakesDownAllBehind opens each link of the supply and reads
// along the line: good up to it, nothing behind it.
func TestUpstreamTakesDownAllBehind(t *testing.T) {
	type point struct{ red, black string }
	line := map[bool][]point{
		true: {{"pack", "pack-minus"}, {"bike-side", "bike-minus"}, {"isolated", "bike-minus"}, {"key-in", "bike-minus"}, {"key-out", "bike-minus"},
			{"logic", "b-minus"}, {"five-volt", "b-minus"}, {"control-5v", "control-ground"}, {"throttle-5v", "throttle-ground"}, {"sensor-5v", "sensor-ground"}},
		false: {{"pack", "pack-minus"}, {"bike-side", "bike-minus"}, {"isolated", "bike-minus"}, {"fused", "bike-minus"}, {"b-plus", "b-minus"}, {"display-supply", "display-ground"},
			{"logic", "b-minus"}, {"five-volt", "b-minus"}, {"control-5v", "control-ground"}, {"throttle-5v", "throttle-ground"}, {"sensor-5v", "sensor-ground"}},
	}
	breaks := map[bool]map[string]int{ // what opens, and the first point behind it
		true:  {"bms": 0, "pack-plug": 1, "isolator": 2, "key-wire": 3, "key-switch": 4, "logic-wire": 5, "control-plug": 7, "harness-5v": 8, "lead-5v": 9},
		false: {"bms": 0, "pack-plug": 1, "isolator": 2, "main-fuse": 3, "feed-wire": 4, "display-cable": 5, "display-wake": 6, "control-plug": 8, "harness-5v": 9, "lead-5v": 10},
	}
	for _, kit := range builds {
		for name, first := range breaks[kit.keyed] {
			b := mustBike(t, kit.id, 3)
			b.works.ohm[name] = open
			for i, p := range line[kit.keyed] {
				v, err := b.volts(scene{}, p.red, p.black)
				require.NoError(t, err)
				if i < first {
					assert.Greater(t, v, 4.5, "%s: %q open, %q before it", kit.id, name, p.red)
				} else {
					assert.Less(t, math.Abs(v), 0.5, "%s: %q open, %q behind it", kit.id, name, p.red)
				}
			}
		}
	}
}

// TestShortDragsAllBranches: a short on one branch of the 5 V takes all of it
// down, and taking that branch off brings it back.
func TestShortDragsAllBranches(t *testing.T) {
	seen := map[string]bool{}
	for _, kit := range builds {
		for seed := range uint64(12) {
			b := mustBike(t, kit.id, seed, "five-volt-shorted")
			for _, check := range []string{"control-5v", "throttle-5v", "hall-5v"} {
				v := value(t, b, check)
				assert.Less(t, v, 4.0, "%s seed %d %s", kit.id, seed, check)
				assert.Greater(t, v, 0.01)
			}
			option, err := b.Try("control-5v-unplugged")
			require.NoError(t, err)
			seen[option] = true
			assert.NotContains(t, []string{"unchanged", "still-none"}, option)
		}
	}
	assert.Len(t, seen, 3, "throttle, halls or sensors, harness: %v", seen)
}

// TestMissingGround: good against pack minus, nothing against the plug's own
// ground, and the signal a little below zero. At the control plug a wire
// broken behind it reads good, a pin backed out of it does not.
func TestMissingGround(t *testing.T) {
	for _, kit := range builds {
		b := mustBike(t, kit.id, 1, "harness-ground-open")
		b.works.rattles, b.works.ohm["harness-ground"] = nil, open
		b.solved = map[scene]*state{}
		assert.InDelta(t, 5, value(t, b, "throttle-5v-pack-minus"), 0.25)
		assert.Less(t, math.Abs(value(t, b, "throttle-5v")), 0.1)
		rest := value(t, b, "throttle-rest")
		assert.True(t, rest <= 0 && rest > -0.1, "%g V", rest)
		assert.InDelta(t, 5, value(t, b, "control-5v"), 0.25)
		b.works.ohm["harness-ground"], b.works.ohm["control-ground"] = 0.07, open
		b.solved = map[scene]*state{}
		assert.Less(t, math.Abs(value(t, b, "control-5v")), 0.1)
		assert.Less(t, math.Abs(value(t, b, "throttle-5v")), 0.1, "from the throttle plug both look the same")
		assert.InDelta(t, 5, value(t, b, "throttle-5v-pack-minus"), 0.25)
		assert.InDelta(t, 5, value(t, b, "hall-5v"), 0.25, "the halls have a ground of their own")
	}
}

// TestLooseMinusLifts: readings against pack minus stand above those against
// the plug's own ground by the drop on the minus wire.
func TestLooseMinusLifts(t *testing.T) {
	for _, kit := range builds {
		b := mustBike(t, kit.id, 2)
		b.works.ohm["minus-wire"] += 0.4
		drop, err := b.volts(loaded, "b-minus", "bike-minus")
		require.NoError(t, err)
		own, err := b.volts(loaded, "throttle-5v", "throttle-ground")
		require.NoError(t, err)
		against, err := b.volts(loaded, "throttle-5v", "bike-minus")
		require.NoError(t, err)
		assert.Greater(t, drop, 0.4)
		assert.InDelta(t, drop, against-own, 0.01)
	}
}

// TestGhostVolts: an open wire reads some volts on a 10 MΩ meter, which a
// small load takes away.
func TestGhostVolts(t *testing.T) {
	b := mustBike(t, "yarrow-72", 6, "throttle-plug-unseated")
	b.works.ohm["throttle-plug"], b.works.ohm["throttle-plug-ground"], b.works.ohm["throttle-plug-signal"] = open, open, open
	st, err := b.state(scene{})
	require.NoError(t, err)
	ghost, err := st.meter("throttle-5v", "bike-minus", resistor{ohm: inputOhm})
	require.NoError(t, err)
	held, err := st.meter("throttle-5v", "bike-minus", resistor{ohm: 10e3})
	require.NoError(t, err)
	assert.Greater(t, ghost, 0.01)
	assert.Less(t, held, 0.001)
}

// TestFaultsShowWhereTheySit: the kits' wiring decides what goes with a fault.
func TestFaultsShowWhereTheySit(t *testing.T) {
	fuse := mustBike(t, "sorrel-60", 1, "main-fuse-blown")
	assert.InDelta(t, 0, value(t, fuse, "feed-volts"), 0.3)
	display, err := fuse.Look("look-display")
	require.NoError(t, err)
	assert.Equal(t, "normal", display, "the key wire leaves before the main fuse")
	teasel := mustBike(t, "teasel-48", 1, "main-fuse-blown")
	display, err = teasel.Look("look-display")
	require.NoError(t, err)
	assert.Equal(t, "dark", display, "this display hangs behind the fuse")

	key := mustBike(t, "yarrow-72", 1, "key-off")
	s, err := key.Symptoms()
	require.NoError(t, err)
	assert.True(t, s["display-blank"] && s["no-drive"])
	assert.False(t, s["dead"] || s["lights-dead"], "the converter hangs before the key")

	ground := mustBike(t, "teasel-48", 3, "lights-ground-loose")
	ground.works.ohm["lights-ground"] = open
	assert.Less(t, value(t, ground, "lights-volts"), 1.0)
	assert.Greater(t, value(t, ground, "lights-volts-pack-minus"), 11.0)

	for _, kit := range builds {
		short := mustBike(t, kit.id, 4, "bridge-shorted")
		assert.Less(t, value(t, short, "bridge-diode"), 0.1)
		option, err := short.Try("drag-unplugged")
		require.NoError(t, err)
		assert.Equal(t, "drags-plugged", option, kit.id)
		for seed := range uint64(4) {
			option, err = mustBike(t, kit.id, seed, "winding-shorted").Try("drag-unplugged")
			require.NoError(t, err)
			assert.Equal(t, "drags-both", option, kit.id)
		}
	}
}

// TestPackResistance: the cells' own at 25 °C, twice that at 0 °C, more when
// near empty.
func TestPackResistance(t *testing.T) {
	b := mustBike(t, "teasel-48", 1)
	w := &b.works
	w.charge, w.celsius = 0.5, 25
	assert.InDelta(t, 13*0.011, w.packOhm(), 1e-9)
	w.celsius = 0
	assert.InDelta(t, 2*13*0.011, w.packOhm(), 1e-9)
	w.celsius, w.charge = 25, 0.05
	assert.InDelta(t, 1.5*13*0.011, w.packOhm(), 1e-9)
	w.celsius, w.weakOhm = 25, 0.2
	assert.InDelta(t, 1.5*13*0.011+0.2, w.packOhm(), 1e-9)
}
