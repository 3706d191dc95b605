package outside_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// effect is a knowledge base of one symptom and some causes of it, each with
// the probability that it alone brings the symptom about; leak is how often the
// symptom comes of itself. Slips are off, because they would blur what a cause shows.
func effect(leak float64, settings kb.BeliefSettings, brings ...float64) *kb.KB {
	k := &kb.KB{
		About:    kb.About{Belief: settings},
		Symptoms: []*kb.Symptom{{ID: "effect", Rate: leak}},
	}
	for i, p := range brings {
		k.Causes = append(k.Causes, &kb.Cause{
			ID: string(rune('a' + i)), Prior: 1, Shows: []kb.Show{{Of: "effect", Present: p}},
		})
	}
	return k
}

func beliefIn(t *testing.T, k *kb.KB) *rules.Belief {
	t.Helper()
	m, err := rules.NewModel(k, &kb.Kit{ID: "person"}, nil)
	require.NoError(t, err)
	return rules.NewBelief(m)
}

// shown is the probability of the effect with all of these causes there: none,
// one, or two, which then are the whole belief.
func shown(t *testing.T, leak float64, brings ...float64) float64 {
	t.Helper()
	var settings kb.BeliefSettings
	switch len(brings) {
	case 0:
		// A model without a cause would have nothing to share a prior over.
		settings.NothingWrong, brings = 1, []float64{0.5}
	case 2:
		settings.Pairs = 1
	}
	return beliefIn(t, effect(leak, settings, brings...)).Expect(0)[0]
}

// The fever table of AIMA (slides sambuz.com 763250): fails to show with
// q = 0.6 for a cold, 0.2 for flu, 0.1 for malaria. Three at once are beyond
// the belief, which holds pairs at the most.
func TestFever(t *testing.T) {
	const cold, flu, malaria = 0.4, 0.8, 0.9
	for _, c := range []struct {
		causes    []float64
		published float64
	}{
		{nil, 0},
		{[]float64{malaria}, 0.9},
		{[]float64{flu}, 0.8},
		{[]float64{flu, malaria}, 0.98},
		{[]float64{cold}, 0.4},
		{[]float64{cold, malaria}, 0.94},
		{[]float64{cold, flu}, 0.88},
	} {
		assert.InDelta(t, c.published, shown(t, 0, c.causes...), 1e-12, "causes %v", c.causes)
	}
}

// Once fever is seen, the published rows must weigh the hypotheses: here with
// 0.15 for each illness alone and 0.1 for each two of them.
func TestFeverSeen(t *testing.T) {
	const single, pair = 0.15, 0.10
	b := beliefIn(t, effect(0, kb.BeliefSettings{NothingWrong: 0.25, Pairs: 3 * pair}, 0.4, 0.8, 0.9))
	require.NoError(t, b.Observe(0, []float64{1, 0}))
	all := single*(0.4+0.8+0.9) + pair*(0.88+0.94+0.98)
	p := b.Causes()
	assert.InDelta(t, (single*0.4+pair*(0.88+0.94))/all, p[0], 1e-12, "cold")
	assert.InDelta(t, (single*0.8+pair*(0.88+0.98))/all, p[1], 1e-12, "flu")
	assert.InDelta(t, (single*0.9+pair*(0.94+0.98))/all, p[2], 1e-12, "malaria")
	assert.Zero(t, b.NothingWrong(), "a healthy person shows no fever")
}

// The leaky form 1 - (1-leak)·∏(1-p): the help of a Bayesian network library
// (norsys.com, NoisyOrDist) gives it; its example of leak 0.1 and causes 0.2
// and 0.4, computed.
func TestLeak(t *testing.T) {
	const leak = 0.1
	assert.InDelta(t, 0.1, shown(t, leak), 1e-12)
	assert.InDelta(t, 0.28, shown(t, leak, 0.2), 1e-12)
	assert.InDelta(t, 0.46, shown(t, leak, 0.4), 1e-12)
	assert.InDelta(t, 0.568, shown(t, leak, 0.2, 0.4), 1e-12)
}
