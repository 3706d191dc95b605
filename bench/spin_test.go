package bench

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestWeakMagnets: what the magnets lose the motor gains in free speed and in
// current, and loses in pull.
func TestWeakMagnets(t *testing.T) {
	for _, kit := range builds {
		for seed := range uint64(6) {
			sound, weak := mustBike(t, kit.id, seed), mustBike(t, kit.id, seed, "motor-demagnetised")
			a, err := sound.free()
			require.NoError(t, err)
			b, err := weak.free()
			require.NoError(t, err)
			m := weak.works.magnetism
			assert.InDelta(t, a.amps/m, b.amps, 1e-9, "torque is magnetism times current")
			assert.Greater(t, b.speed, 0.95*a.speed/m, "but for what the current loses in the winding")
			assert.Less(t, b.speed, a.speed/m)
			for bike, want := range map[*Bike]string{sound: "as-card", weak: "fast"} {
				got, err := bike.Try("free-speed-try")
				require.NoError(t, err)
				assert.Equal(t, want, got, "%s seed %d", kit.id, seed)
			}
		}
	}
}

// TestMovedOneByOne: a loose wire lets go when it is moved itself, and not when
// another is.
func TestMovedOneByOne(t *testing.T) {
	for conductor, want := range map[string]string{
		"lead-signal": "throttle-lead", "harness-ground": "loom", "key-switch": "key", "pack-plug": "pack",
		"minus-wire": "main-wires", "motor-wire-v": "motor-cable", "hall-b": "motor-cable",
	} {
		b := mustBike(t, "sorrel-60", 3)
		got, err := b.Try("move-wires-try")
		require.NoError(t, err)
		assert.Equal(t, "steady", got)
		b.works.rattles = []string{conductor}
		b.solved = map[scene]*state{}
		got, err = b.Try("move-wires-try")
		require.NoError(t, err)
		assert.Equal(t, want, got, conductor)
	}
}

// TestOnlyWhatIsMoved: the key is wiggled, the bars are turned; a pack that is
// loose in its dock keeps still.
func TestOnlyWhatIsMoved(t *testing.T) {
	b := mustBike(t, "sorrel-60", 3)
	read := func(check string) float64 {
		r, err := b.Measure(check)
		require.NoError(t, err)
		return r.Value
	}
	b.works.rattles = []string{"pack-plug"}
	assert.Greater(t, read("key-volts-out"), 50.0)
	assert.Greater(t, read("display-supply-volts"), 50.0)
	b.works.rattles = []string{"key-switch"}
	b.solved = map[scene]*state{}
	assert.Less(t, read("key-volts-out"), 5.0)
	assert.Greater(t, read("display-supply-volts"), 50.0)
}

// TestPlugEats: the plug's drop is its resistance times the current of a light load.
func TestPlugEats(t *testing.T) {
	b := mustBike(t, "yarrow-72", 4)
	r, err := b.Measure("pack-plug-drop")
	require.NoError(t, err)
	assert.Less(t, r.Value, 0.05)
	b.works.ohm["pack-plug-minus"] = 0.5
	b.solved = map[scene]*state{}
	st, err := b.state(loaded)
	require.NoError(t, err)
	amps := (b.works.packVolts() - st.volts[st.net.index["cells"]]) / b.works.packOhm()
	r, err = b.Measure("pack-plug-drop")
	require.NoError(t, err)
	assert.InDelta(t, 0.5*amps, r.Value, 0.03+0.01*r.Value)
}

func TestSagAndDrag(t *testing.T) {
	for cause, want := range map[string]string{"": "steady", "brake-drags": "rubs", "bearing-worn": "rough", "bridge-shorted": "braked"} {
		var b *Bike
		check, do := "drag-feel", (*Bike).Look
		if cause == "" {
			b, check, do = mustBike(t, "teasel-48", 5), "sag-try", (*Bike).Try
		} else {
			b = mustBike(t, "teasel-48", 5, cause)
		}
		got, err := do(b, check)
		require.NoError(t, err)
		assert.Equal(t, want, got, cause)
	}
}
