package tests

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
)

// told leads a talk to where a reply is to be tried.
func told(t *testing.T, kit string, lead ...string) *talk {
	t.Helper()
	x := newTalk(t, newEngine(t), kit)
	for _, says := range lead {
		x.say(says)
	}
	return x
}

// atMeter stands at the supply of the throttle's plug, the meter tested.
func atMeter(t *testing.T, more ...string) *talk {
	t.Helper()
	x := told(t, "sorrel-60", "display lights up fine but twisting does nothing", "none of these, all clear", "all clicked home, dry and clean")
	for range 4 {
		switch x.st.Pending.ID {
		case "listen-motor":
			x.say("silent, nothing turns")
		case "meter-check":
			x.say("1.56 V")
		}
	}
	require.Equal(t, "throttle-5v", x.st.Pending.ID)
	for _, says := range more {
		x.say(says)
	}
	return x
}

// An odd figure is asked once more even where its digits were asked for before.
func TestOddAfterFiner(t *testing.T) {
	x := atMeter(t, "5")
	require.Equal(t, "throttle-5v", x.st.Pending.ID, "the digits are asked for")
	turn := x.say("500 V")
	require.Equal(t, "asking", turn.State)
	require.Equal(t, "throttle-5v", turn.Ask.Check)
	require.True(t, turn.Ask.Again)
	turn = x.say("500 V")
	require.Equal(t, "handed-over", turn.State)
	require.Equal(t, conversation.ReasonOdd, x.st.Reason)
}

// Misunderstandings count only in a row: a question that was answered between
// them ends the row.
func TestMissesInARow(t *testing.T) {
	x := atMeter(t)
	for _, says := range []string{"blue monday", "zxcv", "why do you ask?", "blue monday", "zxcv"} {
		turn := x.say(says)
		require.Equal(t, "asking", turn.State, says)
	}
	require.Equal(t, "handed-over", x.say("the thing there").State)
}

// The state that a check needs is said again with the check.
func TestRepeatSaysTheState(t *testing.T) {
	x := atMeter(t)
	require.Contains(t, x.say("say that again please").Say, "First: battery in, isolator on, key on.")
}

// At a named remedy "how" and "again" say the steps, with their cautions.
func TestHowAtARemedy(t *testing.T) {
	for _, says := range []string{"how do I do that?", "say that again please"} {
		x := told(t, "sorrel-60", "display lights up fine but twisting does nothing", "none of these, all clear", "the throttle's plug is not home")
		require.Equal(t, conversation.Naming, x.st.Phase)
		named := x.st.Attempts[0].Remedy
		turn := x.say(says)
		assert.Contains(t, turn.Say, "1. "+x.e.KB().Remedy(named).Steps[0], says)
		assert.Contains(t, turn.Cautions, "before-plugs", says)
		assert.Equal(t, "named", turn.State)
		assert.Len(t, x.st.Attempts, 1, "the remedy is not named a second time")
	}
}
