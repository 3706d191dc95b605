package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// A word understood with confidence c, and nothing else known, leaves its
// outcome as likely as that: c, and of the rest what it was before.
func TestSaidLeavesItsConfidence(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	for _, id := range []string{"no-drive", "lights-dead", "look-inhibits", "look-plugs"} {
		obs := m.Index(id)
		require.GreaterOrEqual(t, obs, 0, id)
		for o, before := range rules.NewBelief(m).Expect(obs) {
			if before < 0.01 {
				continue // held back by the bound on how much a word can weigh
			}
			for _, confidence := range []float64{0.6, 0.9, 0.99} {
				soft := m.Said(obs, o, confidence)
				assert.InDelta(t, confidence+(1-confidence)*before, told(m, obs, o, soft), 1e-9, "%s %d", id, o)
			}
		}
	}
}

// told is how likely the outcome itself is once the words are in, by Bayes' rule
// over the outcomes alone.
func told(m *rules.Model, obs, outcome int, soft []float64) float64 {
	sum, hit := 0.0, 0.0
	for o, p := range rules.NewBelief(m).Expect(obs) {
		sum += p * soft[o]
		if o == outcome {
			hit = p * soft[o]
		}
	}
	return hit / sum
}

func TestDeniedIsTheOtherSide(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	obs := m.Index("no-drive")
	before := rules.NewBelief(m).Expect(obs)
	assert.InDelta(t, 0.9+0.1*before[1], 1-told(m, obs, 0, m.Denied(obs, 0, 0.9)), 1e-9)
}
