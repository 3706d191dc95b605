package tests

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/rehearsal"
)

// TestRehearsal holds what simulated owners get from the whole bot today. The
// aims, over all kits and causes with 20 owners each: right at least 95 %, wrong
// part at most 2 %, unknown faults ending in a wrong part at most 10 %, dangers
// missed 0, cautions due and not said 0, questions asked twice 0. The bounds
// here are what is met now, with room for the few owners of this sample; raise
// them as the bot gets better. `triagebot rehearse --seeds 20` is the whole.
func TestRehearsal(t *testing.T) {
	if testing.Short() {
		t.Skip("some hundred talks")
	}
	r, err := rehearsal.New(newEngine(t))
	require.NoError(t, err)
	cases, err := r.Cases(rehearsal.Plan{Kits: []string{"sorrel-60", "teasel-48"}, Seeds: 1, Seed: 1})
	require.NoError(t, err)
	talks, err := r.Run(context.Background(), cases, 2, nil)
	require.NoError(t, err)
	report := rehearsal.Summarise(talks)
	x := report.Total
	t.Logf("%d judged: right %.1f %%, wrong %.1f %%, both named %.1f %%, handed over %.1f %%; %.1f questions each, 90th percentile %.0f",
		x.Judged, 100*x.Right.Is, 100*x.Wrong.Is, 100*x.Both.Is, 100*x.Handed.Is, x.Questions.Mean, x.Questions.P90)
	require.Greater(t, x.Judged, 100)
	assert.GreaterOrEqual(t, x.Right.Is, 0.75, "right")
	assert.LessOrEqual(t, x.Wrong.Is, 0.06, "wrong part")
	assert.Zero(t, x.ApartWrong, "guesses where no check parts the causes")
	unknown, unknownWrong, missed, unwarned, twice := 0, 0, 0, 0, 0
	for _, talk := range talks {
		missed += len(talk.DangerMissed)
		unwarned += len(talk.Unwarned)
		if len(talk.Twice) > 0 {
			twice++
		}
		if talk.Sort == rehearsal.Unknown {
			unknown++
			if talk.Outcome == rehearsal.Wrong {
				unknownWrong++
			}
		}
	}
	assert.LessOrEqual(t, unknownWrong, unknown*3/8, "unknown faults ending in a wrong part")
	assert.Zero(t, missed, "dangers missed")
	assert.Zero(t, unwarned, "cautions due and not said")
	assert.Zero(t, twice, "talks in which a question was asked twice")
}
