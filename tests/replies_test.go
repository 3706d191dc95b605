package tests

import (
	"testing"

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
