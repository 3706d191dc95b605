package outside_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// The codes of three Hall switches 120 electrical degrees apart over one
// electrical turn, A B C (applied-ee.github.io, six-step commutation; Microchip
// developer help).
var sixStep = []string{"101", "100", "110", "010", "011", "001"}

// forbidden are the codes that the published table names as a sign of a fault.
var forbidden = []string{"000", "111"}

// stuckAt is what the controller sees when one sensor keeps its level.
func stuckAt(codes []string, sensor int, level byte) []string {
	var seen []string
	for _, c := range codes {
		b := []byte(c)
		b[sensor] = level
		seen = append(seen, string(b))
	}
	return seen
}

// answer is what an owner who watches one sensor after the other finds, in the
// options of the check hall-toggle.
func answer(codes []string) string {
	toggling := 0
	for sensor := range 3 {
		levels := map[byte]bool{}
		for _, c := range codes {
			levels[c[sensor]] = true
		}
		if len(levels) == 2 {
			toggling++
		}
	}
	return map[int]string{3: "all-toggle", 2: "one-stuck", 0: "none-toggle"}[toggling]
}

// hallKits are the kits of known make with Hall sensors.
func hallKits(t *testing.T) []*kb.Kit {
	t.Helper()
	var kits []*kb.Kit
	for _, k := range builtKits(t) {
		if k.Has([]string{"halls"}) {
			kits = append(kits, k)
		}
	}
	require.NotEmpty(t, kits)
	return kits
}

func TestSixStepCodes(t *testing.T) {
	seen := map[string]bool{}
	for i, c := range sixStep {
		next, changed := sixStep[(i+1)%len(sixStep)], 0
		for bit := range 3 {
			if c[bit] != next[bit] {
				changed++
			}
		}
		assert.Equal(t, 1, changed, "from %s to %s one bit changes", c, next)
		assert.NotContains(t, forbidden, c)
		assert.False(t, seen[c], "%s comes once a turn", c)
		seen[c] = true
	}
	require.Equal(t, "all-toggle", answer(sixStep))
	o := check(t, "hall-toggle").Option("all-toggle")
	require.NotNil(t, o)
	assert.True(t, o.Healthy)
}

// Whichever of the three is stuck, and wherever, a forbidden code appears and
// a code comes twice, while the other two go on toggling: that answer must be
// what a dead sensor, or its broken wire, makes an owner see.
func TestStuckHall(t *testing.T) {
	for sensor := range 3 {
		for _, level := range []byte("01") {
			codes := stuckAt(sixStep, sensor, level)
			broken, twice := 0, 0
			for i, c := range codes {
				if c == forbidden[0] || c == forbidden[1] {
					broken++
				}
				if c == codes[(i+1)%len(codes)] {
					twice++
				}
			}
			assert.Positive(t, broken, "sensor %d at %c", sensor, level)
			assert.Positive(t, twice, "sensor %d at %c", sensor, level)
			for _, kit := range hallKits(t) {
				assertShows(t, kit, "hall-sensor-dead", answer(codes))
				assertShows(t, kit, "hall-wire-broken", answer(codes))
			}
		}
	}
}

// Without their supply the three stand at the controller's pull-ups, all high
// (common practice, no source): none toggles, and 111 is the code throughout.
func TestHallsWithoutSupply(t *testing.T) {
	codes := sixStep
	for sensor := range 3 {
		codes = stuckAt(codes, sensor, '1')
	}
	assert.Contains(t, forbidden, codes[0])
	for _, kit := range hallKits(t) {
		assertShows(t, kit, "hall-supply-missing", answer(codes))
		assertShows(t, kit, "hall-plug-unseated", answer(codes))
	}
}

// assertShows says that a bike with this cause gives this answer at hall-toggle
// more often than not.
func assertShows(t *testing.T, kit *kb.Kit, cause, outcome string) {
	t.Helper()
	m, err := rules.NewModel(bikes(t), kit, nil)
	require.NoError(t, err)
	obs, c := m.Index("hall-toggle"), m.Cause(cause)
	require.GreaterOrEqual(t, obs, 0, "hall-toggle on %s", kit.ID)
	require.GreaterOrEqual(t, c, 0, "%s on %s", cause, kit.ID)
	o := m.Obs[obs].Outcome(outcome)
	require.GreaterOrEqual(t, o, 0, outcome)
	assert.Greater(t, m.Likelihood(obs, o, c), 0.5, "%s gives %s on %s", cause, outcome, kit.ID)
}

// The owner must be told of the forbidden codes, and for which motors: sensors 60
// degrees apart do use them (from memory).
func TestHallToggleTellsOfForbiddenCodes(t *testing.T) {
	text := strings.Join(check(t, "hall-toggle").How, "\n")
	assert.Contains(t, text, "never all high or all low")
	assert.Contains(t, text, "120°")
}
