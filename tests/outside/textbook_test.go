package outside_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// alarm is the network of S. Russell, P. Norvig, Artificial Intelligence: A
// Modern Approach, 3rd edition, figure 14.2: a burglar alarm and what may set it
// off. In the book two neighbours may call; they are given as more.
func alarm(more ...node) network {
	return newNetwork(append([]node{
		node{"burglary", always(0.001)},
		node{"earthquake", always(0.002)},
		node{"alarm", func(w world) float64 {
			switch {
			case w["burglary"] && w["earthquake"]:
				return 0.95
			case w["burglary"]:
				return 0.94
			case w["earthquake"]:
				return 0.29
			}
			return 0.001
		}},
	}, more...)...)
}

func TestBurglarAlarm(t *testing.T) {
	n := alarm(
		node{"john", given("alarm", 0.90, 0.05)},
		node{"mary", given("alarm", 0.70, 0.01)},
	)
	both := world{"john": true, "mary": true}
	for _, c := range []struct {
		source    string
		evidence  world
		values    world
		published float64
		digits    float64
	}{
		{"tests of aimacode/aima-python", both, world{"burglary": true}, 0.284, 5e-4},
		{"tests of aimacode/aima-python", both, world{"burglary": false}, 0.716, 5e-4},
		{"the book, from memory", nil, world{"john": true, "mary": true, "alarm": true, "burglary": false, "earthquake": false}, 0.000628, 5e-7},
		{"the book, from memory", world{"john": true}, world{"burglary": true}, 0.016, 5e-4},
		{"computed", both, world{"burglary": true}, 0.2841718, 5e-8},
		{"computed", nil, world{"alarm": true}, 0.002516442, 5e-10},
		{"computed", nil, world{"john": true}, 0.052138976, 5e-10},
		{"computed", nil, world{"mary": true}, 0.011736345, 5e-10},
		{"computed", both, world{"alarm": true}, 0.7606920, 5e-8},
		{"computed", both, world{"earthquake": true}, 0.1760668, 5e-8},
		{"computed", world{"alarm": true}, world{"burglary": true}, 0.3735512, 5e-8},
		{"computed, explaining away", world{"alarm": true, "earthquake": true}, world{"burglary": true}, 0.0032684, 5e-8},
	} {
		assert.InDelta(t, c.published, n.p(t, c.values, c.evidence), c.digits, "%s: %v given %v", c.source, c.values, c.evidence)
	}
}

// The same alarm with each call as one piece of uncertain evidence over what
// nobody saw, which is how symptoms and checks come in.
func TestBurglarAlarmByCalls(t *testing.T) {
	calls := []func(world) float64{given("alarm", 0.90, 0.05), given("alarm", 0.70, 0.01)}
	hidden := alarm()
	x := rules.NewWeights(hidden.prior)
	for _, call := range calls {
		likelihood := make([]float64, len(hidden.worlds))
		for i, w := range hidden.worlds {
			likelihood[i] = call(w)
		}
		require.NoError(t, x.Observe(likelihood))
	}
	burglary := 0.0
	for i, w := range hidden.worlds {
		if w["burglary"] {
			burglary += x.P(i)
		}
	}
	assert.InDelta(t, 0.284, burglary, 5e-4, "tests of aimacode/aima-python")
	assert.InDelta(t, 0.2841718, burglary, 5e-8, "computed")
}

// The dentist's joint distribution of the same book (as in the tests of
// aimacode/aima-python): P(cavity | toothache) = 0.6.
func TestDentist(t *testing.T) {
	n := network{prior: []float64{0.108, 0.012, 0.072, 0.008, 0.016, 0.064, 0.144, 0.576}}
	for _, cavity := range []bool{true, false} {
		for _, toothache := range []bool{true, false} {
			for _, probe := range []bool{true, false} {
				n.worlds = append(n.worlds, world{"cavity": cavity, "toothache": toothache, "catch": probe})
			}
		}
	}
	assert.InDelta(t, 0.6, n.p(t, world{"cavity": true}, world{"toothache": true}), 1e-12)
}

// The umbrella world of the same book: what the rain was on each day, looking
// back from the fifth (tests of aimacode/aima-python). Each day's umbrella is
// one piece of evidence over all 64 courses of the weather.
func TestUmbrella(t *testing.T) {
	const days = 5
	rained := func(course, day int) bool { return course>>day&1 == 1 }
	prior := make([]float64, 1<<(days+1))
	for c := range prior {
		prior[c] = 0.5
		for day := 1; day <= days; day++ {
			prior[c] *= chance(rained(c, day) == rained(c, day-1), 0.7)
		}
	}
	rain := func(x *rules.Weights, day int) float64 {
		p := 0.0
		for c := range prior {
			if rained(c, day) {
				p += x.P(c)
			}
		}
		return p
	}
	filtered := []float64{0.8182, 0.8834, 0.1907, 0.7308, 0.8673} // first two from memory, the rest computed
	smoothed := []float64{0.6469, 0.8673, 0.8204, 0.3075, 0.8204, 0.8673}
	x := rules.NewWeights(prior)
	for day, umbrella := range []bool{true, true, false, true, true} {
		likelihood := make([]float64, len(prior))
		for c := range prior {
			sensor := 0.2
			if rained(c, day+1) {
				sensor = 0.9
			}
			likelihood[c] = chance(umbrella, sensor)
		}
		require.NoError(t, x.Observe(likelihood))
		assert.InDelta(t, filtered[day], rain(x, day+1), 5e-5, "filtered, day %d", day+1)
	}
	for day, p := range smoothed {
		assert.InDelta(t, p, rain(x, day), 5e-5, "smoothed, day %d", day)
	}
}
