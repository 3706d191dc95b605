package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// A cause whose forms say what it says itself is that cause.
func TestAlikeFormsChangeNothing(t *testing.T) {
	plain, formed := beliefWith(t, nil), beliefWith(t, []kb.Form{{Name: "one", Share: 0.6}, {Name: "other", Share: 0.2}})
	for _, id := range []string{"dead", "pack-volts", "isolator-drop"} {
		for _, b := range []*rules.Belief{plain, formed} {
			obs := b.Model().Index(id)
			require.NoError(t, b.Observe(obs, b.Model().Said(obs, 0, 0.9)))
		}
	}
	m := plain.Model()
	for i, p := range plain.Causes() {
		if !m.First(i) {
			continue
		}
		// Pairs of a cause with another are shared out a little otherwise.
		assert.InDelta(t, p, formed.Causes()[formed.Model().Cause(m.Causes[i].ID)], 2e-3, m.Causes[i].ID)
	}
}

// In forms, what a cause shows at one place goes with what it shows at the next;
// without, the first tells nothing of the second.
func TestFormsGoTogether(t *testing.T) {
	half := []kb.Show{{Of: "dead", Present: 0.5}, {Of: "horn-dead", Present: 0.5}}
	never := kb.Form{Name: "never", Share: 0.5, Shows: []kb.Show{{Of: "dead", Present: 0.01}, {Of: "horn-dead", Present: 0.01}}}
	always := kb.Form{Name: "always", Share: 0.5, Shows: []kb.Show{{Of: "dead", Present: 0.99}, {Of: "horn-dead", Present: 0.99}}}
	for _, c := range []struct {
		forms []kb.Form
		after float64
	}{{nil, 0.5}, {[]kb.Form{never, always}, 0.99}} {
		k, _ := kb.Load(kb.Embedded())
		for _, c := range k.Causes {
			c.Prior = 1e-9
		}
		cause := k.Cause("breaker-failed")
		cause.Prior, cause.Shows, cause.Line, cause.Forms = 1000, half, kb.CauseLine{}, c.forms
		k.About.Belief.Unlisted, k.About.Belief.NothingWrong, k.About.Belief.Pairs = 1e-9, 1e-9, 1e-9
		m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
		require.NoError(t, err)
		b := rules.NewBelief(m)
		assert.InDelta(t, 0.5, b.Expect(m.Index("horn-dead"))[0], 0.02)
		require.NoError(t, b.Observe(m.Index("dead"), []float64{1, 0}))
		assert.InDelta(t, c.after, b.Expect(m.Index("horn-dead"))[0], 0.03)
		assert.InDelta(t, 1, b.Causes()[m.Cause("breaker-failed")], 1e-6, "what all forms have stands at the first")
		require.Len(t, b.Suspects(0.5), 1)
		assert.Len(t, b.Suspects(0.5)[0].Causes, 1)
	}
}

func beliefWith(t *testing.T, forms []kb.Form) *rules.Belief {
	t.Helper()
	k, _ := kb.Load(kb.Embedded())
	c := k.Cause("main-fuse-blown")
	require.NotNil(t, c)
	c.Forms = forms
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	return rules.NewBelief(m)
}
