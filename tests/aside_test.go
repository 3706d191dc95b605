package tests

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
)

// An owner who wants to buy before anything is sure hears what it may be and
// why not yet, and the question stands.
func TestWhatItMayBe(t *testing.T) {
	x := newTalk(t, newEngine(t), "sorrel-60")
	asked := x.say(firstWords)
	require.NotNil(t, asked.Ask)
	for _, text := range []string{"just tell me which part to buy", "what do you think it is?"} {
		turn := x.say(text)
		said := strings.Join(turn.Say, "\n")
		assert.Contains(t, said, x.e.KB().Cause(turn.Suspects[0].Causes[0]).Name)
		assert.Contains(t, said, "no ground yet to buy")
		require.NotNil(t, turn.Ask)
		assert.Equal(t, asked.Ask.Check, turn.Ask.Check)
	}
	x = newTalk(t, newEngine(t), "")
	assert.Contains(t, strings.Join(x.say("what do you think it is?").Say, "\n"), "too little")
}

// Who answers the question for the kit with a voltage is not asked for it again.
func TestVoltageInsteadOfAKit(t *testing.T) {
	for _, text := range []string{"36v i think", "dunno, 36 volts", "36 V from the internet"} {
		x := newTalk(t, newEngine(t), "")
		turn := x.say("lights up fine but twisting does nothing")
		require.Equal(t, "kit", turn.Ask.Check)
		turn = x.say(text)
		assert.Equal(t, "generic", x.st.Kit, "%q", text)
		assert.InDelta(t, 36, x.st.Figures["nominal"], 0, "%q", text)
		assert.NotEqual(t, "figure:nominal", turn.Ask.Check, "%q", text)
	}
}

// Where a figure was read is no sign of another check when the one that was
// asked is read there too.
func TestPlaceThatFitsStaysWithTheQuestion(t *testing.T) {
	x := newTalk(t, newEngine(t), "sorrel-60")
	x.say(firstWords)
	x.keep([]conversation.Event{{Kind: conversation.Asked, Time: testTime, Question: &conversation.PendingAsk{Kind: conversation.AskCheck, ID: "throttle-alone-rest"}}})
	turn := x.say("0.02 with the throttle unplugged")
	require.Len(t, turn.Understood.Readings, 1)
	assert.Equal(t, "throttle-alone-rest", turn.Understood.Readings[0].Check)
}
