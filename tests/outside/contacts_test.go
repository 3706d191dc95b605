package outside_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// Largest drops in V that a car repair manual quotes from SAE recommendations
// (manualshive.com 2780088, p. 967) and a training text gives alike
// (apextechnation.com T-4); above 1 V there is usually a fault.
const (
	connectionDrop = 0.1 // a high-current connection
	cableDrop      = 0.2 // a high-current cable
	switchDrop     = 0.3 // switch or solenoid contacts
	circuitDrop    = 0.5 // a whole starter circuit
	faultDrop      = 1.0
)

func TestIsolatorDrop(t *testing.T) {
	good := window(t, check(t, "isolator-drop"), "good")
	for _, kit := range bikes(t).Kits {
		limit := number(t, scope(t, kit), good.To)
		assert.GreaterOrEqual(t, limit, connectionDrop, kit.ID)
		assert.LessOrEqual(t, limit, switchDrop, kit.ID)
	}
}

func TestNegativeDrop(t *testing.T) {
	good := window(t, check(t, "negative-drop"), "good")
	for _, kit := range bikes(t).Kits {
		limit := number(t, scope(t, kit), good.To)
		assert.GreaterOrEqual(t, limit, connectionDrop, kit.ID)
		assert.LessOrEqual(t, limit, cableDrop, kit.ID)
	}
}

// The drop from pack plug to controller is that of both cables and all joints.
func TestFeedDrop(t *testing.T) {
	good := window(t, check(t, "feed-volts-loaded"), "good")
	for _, kit := range bikes(t).Kits {
		s := scope(t, kit)
		pack := number(t, s, "nominal")
		s = s.With(map[string]rules.Known{"pack-volts-loaded": {Value: pack}})
		drop := pack - number(t, s, good.From)
		assert.GreaterOrEqual(t, drop, 2*cableDrop, kit.ID)
		assert.LessOrEqual(t, drop, circuitDrop+1e-9, kit.ID)
	}
}

// Sound contacts must come out healthy for sure, and a fault must not.
func TestDropsJudged(t *testing.T) {
	for _, kit := range bikes(t).Kits {
		s := scope(t, kit)
		for id, worse := range map[string]string{"isolator-drop": "worn", "negative-drop": "lifted"} {
			for volts, want := range map[float64]string{0.02: "good", connectionDrop / 2: "good", faultDrop: worse, 2: worse} {
				j, err := s.Judge(check(t, id), rules.Reading{Value: volts, Unit: "V", Decimals: 2})
				require.NoError(t, err)
				assert.Equal(t, want, j.Window, "%s at %s, %g V", kit.ID, id, volts)
				assert.False(t, j.Close, "%s at %s, %g V", kit.ID, id, volts)
			}
		}
	}
}

// Test leads are 0.2 to 0.5 Ω, and worn above 1 Ω (gvda-instrument.com 87246271):
// a whole fuse read through sound leads must come out whole.
func TestFuseThroughLeads(t *testing.T) {
	for _, id := range []string{"fuse-continuity", "charge-fuse-continuity", "lights-fuse-continuity"} {
		for _, ohms := range []float64{0.2, 0.5} {
			j, err := scope(t, builtKits(t)[0]).Judge(check(t, id), rules.Reading{Value: ohms, Unit: "Ω", Decimals: 1})
			require.NoError(t, err)
			assert.Equal(t, "good", j.Window, "%s at %g Ω", id, ohms)
			assert.False(t, j.Close, "%s at %g Ω", id, ohms)
		}
	}
}
