package rehearsal

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// TestParted: a check whose answers differ parts two causes, a hint does not,
// and without checks nothing does.
func TestParted(t *testing.T) {
	k, _ := load(t)
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	dead, wire := m.Cause("throttle-stuck-low"), m.Cause("harness-signal-open")
	at := func(ids ...string) (out []int) {
		for _, id := range ids {
			out = append(out, m.Index(id))
		}
		return out
	}
	assert.True(t, parted(m, at("throttle-rest"), dead, wire, 0.75))
	assert.False(t, parted(m, at("look-display", "look-plugs", "listen-motor"), dead, wire, 0.75))
	assert.False(t, parted(m, nil, dead, wire, 0.75))
}

// TestLikeliestForm: the form that goes with what was told stands for its cause.
func TestLikeliestForm(t *testing.T) {
	k, w := load(t)
	o, err := newOwner(k, w, Case{Kit: "sorrel-60", Sort: Single, Causes: []string{"harness-5v-open"}, Seed: 1})
	require.NoError(t, err)
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	first := m.Cause("harness-5v-open")
	o.told = []string{"no-drive"}
	assert.Equal(t, first, likeliestForm(m, o))
	o.told = []string{"throttle-jumpy", "cuts-out-riding"}
	assert.Equal(t, first+1, likeliestForm(m, o))
}
