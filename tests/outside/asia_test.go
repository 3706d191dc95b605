package outside_test

import (
	"maps"
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

func sorted(w world) []string { return slices.Sorted(maps.Keys(w)) }

// chest is the network "Asia": S. Lauritzen, D. Spiegelhalter, J. R. Stat. Soc.
// B 50(2), 1988; tables as in the documentation of gRain (CRAN).
func chest() network {
	return newNetwork(
		node{"asia", always(0.01)},
		node{"tub", given("asia", 0.05, 0.01)},
		node{"smoke", always(0.5)},
		node{"lung", given("smoke", 0.10, 0.01)},
		node{"bronc", given("smoke", 0.60, 0.30)},
		node{"either", func(w world) float64 {
			if w["tub"] || w["lung"] {
				return 1
			}
			return 0
		}},
		node{"xray", given("either", 0.98, 0.05)},
		node{"dysp", func(w world) float64 {
			switch {
			case w["bronc"] && w["either"]:
				return 0.9
			case w["either"]:
				return 0.7
			case w["bronc"]:
				return 0.8
			}
			return 0.1
		}},
	)
}

func TestChestClinic(t *testing.T) {
	const gRain, fromMemory, computed = "unit tests of gRain", "from memory, computed", "computed"
	yes := func(names ...string) world {
		w := world{}
		for _, n := range names {
			w[n] = true
		}
		return w
	}
	noXray := world{"asia": true, "dysp": true, "xray": false}
	n := chest()
	for _, c := range []struct {
		source    string
		evidence  world
		values    world
		published float64
		digits    float64
	}{
		{gRain, nil, yes("tub"), 0.0104, 5e-5},
		{gRain, nil, yes("lung"), 0.055, 5e-4},
		{gRain, nil, yes("bronc"), 0.45, 5e-3},
		{gRain, nil, world{"lung": true, "bronc": true}, 0.0315, 5e-5},
		{gRain, nil, world{"lung": true, "bronc": false}, 0.0235, 5e-5},
		{gRain, nil, world{"lung": false, "bronc": true}, 0.4185, 5e-5},
		{gRain, nil, world{"lung": false, "bronc": false}, 0.5265, 5e-5},
		{gRain, nil, yes("asia", "dysp"), 0.004501375, 5e-10},
		{gRain, yes("asia", "dysp"), yes("lung"), 0.09952515, 5e-9},
		{gRain, yes("asia", "dysp"), yes("bronc"), 0.8114021, 5e-8},
		{gRain, yes("asia", "dysp", "smoke"), yes("lung"), 0.1455191, 5e-8},
		{gRain, yes("asia", "dysp", "smoke"), yes("bronc"), 0.8672582, 5e-8},
		{fromMemory, yes("asia", "dysp"), yes("tub"), 0.087751, 5e-7},
		{fromMemory, nil, yes("either"), 0.064828, 5e-7},
		{fromMemory, nil, yes("xray"), 0.110290, 5e-7},
		{fromMemory, nil, yes("dysp"), 0.435971, 5e-7},
		{computed, yes("asia", "dysp", "xray"), yes("tub"), 0.391712, 5e-7},
		{computed, yes("asia", "dysp", "xray"), yes("lung"), 0.444271, 5e-7},
		{computed, yes("asia", "dysp", "xray"), yes("bronc"), 0.628822, 5e-7},
		{computed, yes("asia", "dysp", "xray"), yes("either"), 0.813769, 5e-7},
		{computed, yes("asia", "dysp", "xray"), yes("smoke"), 0.702025, 5e-7},
		{computed, noXray, yes("tub"), 0.002249, 5e-7},
		{computed, noXray, yes("lung"), 0.002550, 5e-7},
		{computed, noXray, yes("bronc"), 0.862761, 5e-7},
		{computed, yes("xray"), yes("either"), 0.576040, 5e-7},
		{computed, yes("dysp"), yes("bronc"), 0.833967, 5e-7},
	} {
		assert.InDelta(t, c.published, n.p(t, c.values, c.evidence), c.digits, "%s: %v given %v", c.source, c.values, c.evidence)
	}
}

// What the weights keep aside as a logarithm is the probability of all that was
// seen (gRain: 0.004501375; with the X-ray computed: 0.000988227).
func TestProbabilityOfTheEvidence(t *testing.T) {
	for _, c := range []struct {
		evidence  world
		published float64
		digits    float64
	}{
		{world{"asia": true, "dysp": true}, 0.004501375, 5e-10},
		{world{"asia": true, "dysp": true, "xray": true}, 0.000988227, 5e-10},
	} {
		x, err := chest().seen(c.evidence)
		require.NoError(t, err)
		assert.InDelta(t, c.published, math.Exp(x.LogEvidence()), c.digits)
	}
}

// "Either" is tuberculosis or cancer, so tuberculosis without it has
// probability zero and no posterior (gRain, vignette grain_intro).
func TestImpossibleEvidence(t *testing.T) {
	x, err := chest().seen(world{"either": false, "tub": true})
	require.ErrorIs(t, err, rules.ErrImpossible)
	for i := range chest().worlds {
		assert.Zero(t, x.P(i))
	}
}
