package casefile

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

type deaf struct{}

func (deaf) Match(string) conversation.Heard { return conversation.Heard{} }

func weighed(t *testing.T, events []conversation.Event) *weighing {
	k, found := kb.Open("testdata/kb")
	require.NotNil(t, k, "%v", found)
	e, err := conversation.New(k, deaf{})
	require.NoError(t, err)
	b := &builder{kb: k, st: conversation.Replay(events)}
	b.a, err = e.Assess(b.st)
	require.NoError(t, err)
	w := b.newWeighing()
	require.NoError(t, b.wrong)
	return w
}

var measured = []conversation.Event{
	{Kind: conversation.OwnerSaid}, {Kind: conversation.KitKnown, ID: "sorrel-60"},
	{Kind: conversation.Noticed, ID: "no-drive", Yes: true, Sure: 0.9},
	{Kind: conversation.OwnerSaid}, {Kind: conversation.Read, ID: "throttle-5v", Reading: &conversation.Measured{Value: 5.02, Decimals: 2, Unit: "V"}},
	{Kind: conversation.OwnerSaid}, {Kind: conversation.Read, ID: "pack-volts", Reading: &conversation.Measured{Value: 65.3, Decimals: 1, Unit: "V"}},
	{Kind: conversation.OwnerSaid}, {Kind: conversation.Read, ID: "throttle-rest", Reading: &conversation.Measured{Value: 0.02, Decimals: 2, Unit: "V"}},
}

// The weights lead from the odds at first to those the talk ended with.
func TestWeightsMultiply(t *testing.T) {
	w := weighed(t, measured)
	for i, p := range w.a.Belief.Causes() {
		product := odds(w.prior[i])
		for _, weights := range w.weights {
			product *= weights[i]
		}
		assert.InEpsilon(t, odds(p), product, 1e-6, w.model.Causes[i].ID)
		assert.GreaterOrEqual(t, w.highest[i], p)
	}
}

// Where a cause is far from certain the weight is, but for pairs, the one that
// the rules give.
func TestWeightsAgreeWithRules(t *testing.T) {
	w := weighed(t, measured)
	cause := w.model.Cause("ground-open")
	belief := rules.NewBelief(w.model)
	for i, ev := range w.evidence {
		obs := w.model.Index(ev.Observation.ID)
		assert.InEpsilon(t, belief.Weight(obs, ev.Soft, cause), w.weights[i][cause], 0.35, ev.Observation.ID)
		require.NoError(t, belief.Observe(obs, ev.Soft))
	}
}

// Answers count in the order in which they came, not in that of the rules.
func TestWeighedInTheOrderOfTheTalk(t *testing.T) {
	var order []string
	for _, ev := range weighed(t, measured).evidence {
		order = append(order, ev.Observation.ID)
	}
	assert.Equal(t, []string{"no-drive", "throttle-5v", "pack-volts", "throttle-rest"}, order)
}

// The check that tells most is one that may be done now, and parts what is left.
func TestMostTelling(t *testing.T) {
	w := weighed(t, append(measured[:3:3], conversation.Event{Kind: conversation.Read, ID: "meter-check", Reading: &conversation.Measured{Value: 1.56, Decimals: 2, Unit: "V"}}))
	require.NotNil(t, w.mostTelling())
	assert.Equal(t, "look-display", w.mostTelling().ID, "one minute, and it parts the fuse from the rest")
	for _, told := range w.telling() {
		assert.GreaterOrEqual(t, told.bits, leastTold)
		assert.False(t, w.answered(told.check.ID))
	}
	// A signal at rest means nothing before the 5 V is known.
	assert.False(t, w.allowed(w.kb.Check("throttle-rest")))
	assert.True(t, w.allowed(w.kb.Check("throttle-5v")))
}
