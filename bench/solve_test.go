package bench

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestDivider is Ohm's law by hand.
func TestDivider(t *testing.T) {
	n := newNetwork()
	n.add(source{n.at("top"), 0, 10, 1})
	n.resist("top", "middle", 4)
	n.resist("middle", "pack-minus", 5)
	v, err := n.solve(nil)
	require.NoError(t, err)
	assert.InDelta(t, 9, v[n.at("top")], 1e-9)
	assert.InDelta(t, 5, v[n.at("middle")], 1e-9)
}

// TestFoldback walks a load from nothing to a short: the 5 V holds, then
// folds to the short's own current.
func TestFoldback(t *testing.T) {
	r := regulator{volts: 5, ohm: 0.4, peak: 0.2, short: 0.08}
	for _, load := range []float64{1e6, 1000, 100, 30, 20, 10, 5, 1, 0.1} {
		n := newNetwork()
		n.add(source{n.at("in"), 0, 50, 0.1})
		r.in, r.out = n.at("in"), n.at("out")
		n.add(r)
		n.resist("out", "pack-minus", load)
		v, err := n.solve(nil)
		require.NoError(t, err, "%g Ω", load)
		out := v[r.out]
		amps, _ := r.gives(out)
		assert.InDelta(t, out/load, amps, 1e-6, "%g Ω: what flows in flows out", load)
		if load > 30 {
			assert.InDelta(t, 5, out, 0.1)
		}
		if load < 1 {
			assert.InDelta(t, 0.08*load, out, 0.001)
		}
	}
}

// TestPowerBeyondTheSource asks more of a pack than it can give at any
// voltage: the load lets go, and the search still ends.
func TestPowerBeyondTheSource(t *testing.T) {
	for _, watt := range []float64{10, 100, 700, 1000, 5000, 1e5} {
		n := newNetwork()
		n.add(source{n.at("plus"), 0, 50, 1}) // gives 625 W at most
		n.add(power{n.at("plus"), 0, watt, 15})
		v, err := n.solve([]float64{0, 50})
		require.NoError(t, err, "%g W", watt)
		assert.False(t, math.IsNaN(v[1]))
		assert.InDelta(t, 50-v[1], watt*v[1]/(v[1]*v[1]+225), 1e-4, "%g W", watt)
	}
}

// TestNothingToHoldOnTo: a network that no voltage can satisfy ends with an
// error and not in a loop.
func TestNothingToHoldOnTo(t *testing.T) {
	n := newNetwork()
	n.add(resistor{n.at("a"), n.at("b"), 1}) // hangs in the air
	_, err := n.solve(nil)
	assert.ErrorIs(t, err, ErrUnsolved)
}

// TestNoFaultLeavesTheNetworkUnsolved tries every fault alone, several bikes
// each, and every fault with some others, through the scenes of riding,
// shaking, charging and pushing.
func TestNoFaultLeavesTheNetworkUnsolved(t *testing.T) {
	scenes := []scene{switchedOn, lit, loaded, packOut, alone(0), alone(1), charging(), {opening: 1, load: hill}, {moved: everything, lights: true},
		{released: true}, {magnet: true, angle: 3}, {off: throttlePlug | hallPlug | controlPlug}, packOut.without(motorPlugs), {keyOff: true}, {isolatorOff: true}}
	for _, kit := range builds {
		t.Run(kit.id, func(t *testing.T) {
			t.Parallel()
			causes := Causes(kit.id)
			for i, cause := range causes {
				sets := [][]string{{cause}, {cause}, {cause, causes[(i+11)%len(causes)]}, {cause, causes[(i*7+3)%len(causes)]}}
				for seed, set := range sets {
					b := mustBike(t, kit.id, uint64(seed+20), set...)
					for _, s := range scenes {
						st, err := b.state(s)
						require.NoError(t, err, "%v in %+v", set, s)
						for n, v := range st.volts {
							require.Less(t, math.Abs(v), 200.0, "%v: %q", set, st.net.names[n])
						}
					}
				}
			}
		})
	}
}

// TestCurrentsBalance: at a solution no node has a current left over.
func TestCurrentsBalance(t *testing.T) {
	for _, kit := range builds {
		st, err := mustBike(t, kit.id, 8).state(loaded)
		require.NoError(t, err)
		size := len(st.net.names) - 1
		whole := &condensed{fed: make([]float64, size), slopes: make([]float64, size*size), bent: st.net.branches}
		for i := range size {
			whole.nodes = append(whole.nodes, node(i+1))
		}
		eq := newEquations(size+1, whole.nodes)
		assert.Less(t, eq.balance(whole, st.volts, st.volts, 0), 1e-6, kit.id)
	}
}

// BenchmarkMeasure takes a reading on a bike just built, where the scene must
// be solved first, and once more, where only the meter is added to it.
func BenchmarkMeasure(b *testing.B) {
	for _, check := range []string{"throttle-rest", "pack-volts-loaded", "brake-ohms-released"} {
		for _, first := range []bool{true, false} {
			b.Run(check+either(first, "/first", "/again"), func(b *testing.B) {
				bike := mustBike(b, "sorrel-60", 1, "main-negative-loose")
				for b.Loop() {
					if first {
						bike.solved = map[scene]*state{}
					}
					if _, err := bike.Measure(check); err != nil {
						b.Fatal(err)
					}
				}
			})
		}
	}
}
