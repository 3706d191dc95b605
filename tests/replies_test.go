package tests

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
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

// breakerOff stands at the remedy of an isolator that is off.
func breakerOff(t *testing.T) *talk {
	t.Helper()
	x := told(t, "yarrow-72", "it is completely dead, no lights and the display stays dark", "the breaker is off")
	require.Equal(t, conversation.Naming, x.st.Phase)
	return x
}

// A second fault told together with the cure of the first is hunted.
func TestCuredButAnotherFault(t *testing.T) {
	x := breakerOff(t)
	turn := x.say("yes, it comes on now, but the throttle does nothing")
	require.Equal(t, "asking", turn.State)
	require.NotNil(t, turn.Ask)
	require.True(t, x.st.Symptoms["no-drive"].Present)
	require.True(t, x.st.Attempts[0].Cured)
	require.NotContains(t, turn.Suspects[0].Causes, "breaker-off")
}

// What was complained of and is said to be gone is no second fault.
func TestCuredNamesTheOldFault(t *testing.T) {
	for _, says := range []string{"yes, it was dead and now it lives", "yes! thanks", "works, the display is on and the lights too"} {
		x := breakerOff(t)
		x.say(says)
		require.Equal(t, conversation.Done, x.st.Phase, says)
		require.Equal(t, conversation.ReasonCured, x.st.Reason, says)
	}
}

// A fault that comes back, or another that shows after the talk was closed, is
// hunted anew and not put down to what was mended.
func TestFaultAfterTheCure(t *testing.T) {
	for _, says := range []string{"its dead again, nothing lights", "now the throttle does nothing"} {
		x := breakerOff(t)
		x.say("yes, it works")
		require.Equal(t, conversation.Done, x.st.Phase)
		turn := x.say(says)
		require.Equal(t, "asking", turn.State, says)
		require.NotNil(t, turn.Ask, says)
		require.Less(t, probability(turn, "breaker-off"), 0.5, says)
		require.Equal(t, x.st, conversation.Replay(x.events))
	}
}

// probability is what a turn gives a cause alone.
func probability(turn conversation.Turn, cause string) float64 {
	for _, s := range turn.Suspects {
		if len(s.Causes) == 1 && s.Causes[0] == cause {
			return s.Probability
		}
	}
	return 0
}

// The lack of a tool is no answer to "is it gone?".
func TestNoMeterAtARemedy(t *testing.T) {
	x := breakerOff(t)
	turn := x.say("no meter")
	require.Equal(t, "named", turn.State)
	require.True(t, x.st.Lacking["meter"])
	require.False(t, x.st.Attempts[0].Done)
}

// What is said of the bike beside "no" is heard, and what was told before the
// remedy is not held against it.
func TestNewsBesideNo(t *testing.T) {
	x := breakerOff(t)
	x.say("no. lights and display are on now but the throttle still does nothing")
	require.True(t, x.st.Symptoms["display-normal"].Present)
	require.True(t, x.st.Symptoms["no-drive"].Present)
	require.True(t, x.st.Attempts[0].Done)
	y := breakerOff(t)
	y.say("no, display is on now")
	require.False(t, y.st.Symptoms["display-blank"].Present, "the no is not part of it")
	z := breakerOff(t)
	turn := z.say("no, and it smells burnt")
	require.Equal(t, "stopped", turn.State)
	require.Equal(t, []string{"burning-smell"}, z.st.Dangers)
}

// A correction that names nothing new asks what it was.
func TestCorrectionWithoutNews(t *testing.T) {
	x := breakerOff(t)
	turn := x.say("i misread that, the breaker was on")
	require.Equal(t, "asking", turn.State)
	require.Equal(t, "look-power-path", turn.Ask.Check)
	turn = x.say("all three are right")
	require.Less(t, probability(turn, "breaker-off"), 0.1)
}

// After a hand-over, figures and looks still reach the case.
func TestToldAfterTheHandOver(t *testing.T) {
	x := told(t, "yarrow-72", "it is completely dead, no lights", "a person please")
	x.say("the pack volts are 71.2")
	_, ok := x.st.Answer("pack-volts")
	require.True(t, ok)
	x.say("the key was off!")
	a, ok := x.st.Answer("look-power-path")
	require.True(t, ok)
	require.Equal(t, "key-off", a.Option)
	require.NotContains(t, x.say("why?").Say, "I hand you over to a volunteer.")
}

// A new symptom is taken where a figure was asked for.
func TestSymptomAtAMeasure(t *testing.T) {
	x := atMeter(t)
	turn := x.say("it does actually have the brake light on")
	require.True(t, x.st.Symptoms["brake-light-stuck"].Present)
	require.NotNil(t, turn.Ask)
	y := atMeter(t)
	y.say("my display is dark now")
	require.True(t, y.st.Symptoms["display-blank"].Present)
}

// A figure read again a moment later replaces the one before, with or without a
// word of correction.
func TestFigureReadAgain(t *testing.T) {
	for _, says := range []string{"1.56", "sorry it was 1.56 V"} {
		x := told(t, "sorrel-60", "display lights up fine but twisting does nothing", "1", "1")
		require.Equal(t, "meter-check", x.st.Pending.ID)
		before := x.say("5.3 V")
		require.NotEqual(t, "measure", before.Ask.Kind)
		after := x.say(says)
		a, _ := x.st.Answer("meter-check")
		require.InDelta(t, 1.56, a.Reading.Value, 1e-9, says)
		require.Len(t, x.st.Replaced, 1, says)
		require.Less(t, probability(after, "meter-misused"), probability(before, "meter-misused"), says)
	}
}

// At a named remedy "why" says what speaks for it.
func TestWhyAtARemedy(t *testing.T) {
	x := breakerOff(t)
	turn := x.say("why?")
	require.Equal(t, "named", turn.State)
	require.Contains(t, turn.Say, "- the breaker or pack switch is off")
}

// The title of a case names the trouble and not what works.
func TestCaseTitle(t *testing.T) {
	x := told(t, "sorrel-60", "display lights up fine but twisting does nothing", "a person please")
	c, err := casefile.Build(x.e, x.st)
	require.NoError(t, err)
	require.Contains(t, c.Markdown(), "# Sorrel 60 moped: the throttle does nothing\n")
	y := told(t, "sorrel-60", "the display lights up fine", "a person please")
	c, err = casefile.Build(y.e, y.st)
	require.NoError(t, err)
	require.Contains(t, c.Markdown(), "# Sorrel 60 moped: the display is on and looks normal\n")
}

// A figure that only the owner knows is asked once more when it cannot be, and
// is never taken from another unit.
func TestFigureOfTheKit(t *testing.T) {
	x := told(t, "", "throttle does nothing, display is normal", "I do not know")
	require.Equal(t, conversation.AskFigure, x.st.Pending.Kind)
	turn := x.say("48 ohm")
	require.Equal(t, conversation.AskFigure, x.st.Pending.Kind)
	require.Contains(t, turn.Say[0], "Ω")
	turn = x.say("4800 V")
	require.True(t, turn.Ask.Again)
	require.Contains(t, turn.Say[0], "cannot be right here")
	x.say("how?")
	require.True(t, x.st.Pending.Again, "a question between does not start it anew")
	x.say("48")
	require.InDelta(t, 48, x.st.Figures["nominal"], 1e-9)
}

// A symptom told after the check that asks for it was answered takes the
// answer's place, and the belief follows.
func TestSymptomCorrectsALook(t *testing.T) {
	for _, says := range []string{"sorry, the brake sign IS on", "it does actually have the brake light on"} {
		x := told(t, "sorrel-60", "display lights up fine but twisting does nothing", "none of these, all clear")
		before, _ := x.st.Answer("look-inhibits")
		require.Equal(t, "clear", before.Option)
		turn := x.say(says)
		after, _ := x.st.Answer("look-inhibits")
		require.Equal(t, "brake-sign", after.Option, says)
		require.Contains(t, []string{"brake-switch-stuck", "brake-wire-shorted"}, turn.Suspects[0].Causes[0], says)
		require.Len(t, x.st.Replaced, 1)
	}
}

// What does not go with what was told before is said to.
func TestContradictingSymptoms(t *testing.T) {
	x := told(t, "yarrow-72", "everything is dead, no lights, screen dark", "all three are right")
	turn := x.say("display is on and normal")
	require.Contains(t, turn.Say[0], "does not go with")
}

// What works, or what the weather was, is no complaint to start a hunt with.
func TestNoComplaintYet(t *testing.T) {
	for _, says := range []string{"the display is on and normal", "it rained yesterday"} {
		turn := told(t, "sorrel-60").say(says)
		require.Equal(t, "complaint", turn.Ask.Check, says)
		require.Empty(t, turn.Suspects, says)
	}
}

// An owner who cannot do a cheap try is not told of a finding that is none.
func TestNothingFound(t *testing.T) {
	x := told(t, "teasel-48", "throttle dead")
	for i := 0; x.st.Phase != conversation.Over && i < 40; i++ {
		turn := x.say("can't")
		for _, line := range turn.Say {
			require.NotContains(t, line, ": .")
		}
	}
	require.Equal(t, conversation.Over, x.st.Phase)
}

// A correction takes the place of the answer it corrects even when a remedy came
// between, and the words of an answer are no symptom.
func TestCorrectionAfterARemedy(t *testing.T) {
	x := told(t, "yarrow-72", "there is no life in it at all when I switch on", "the key is off")
	require.Equal(t, "turn-key-on", x.st.Attempts[0].Remedy)
	x.say("no change, fault is still there")
	require.NotContains(t, x.st.Symptoms, "fault-code-shown")
	require.Equal(t, 1, x.st.Round)
	turn := x.say("oops I got that wrong, it was the breaker or pack switch is off")
	require.Len(t, x.st.Answers, 1)
	require.Equal(t, 0, x.st.Answers[0].Round)
	require.Equal(t, "isolator-off", x.st.Answers[0].Option)
	require.NotContains(t, x.st.Symptoms, "breaker-trips")
	require.Greater(t, probability(turn, "breaker-off"), 0.9)
	require.Equal(t, x.st, conversation.Replay(x.events))
}

// A remedy that stays the best after more was told is one remedy in the case.
func TestRemedyNamedOnce(t *testing.T) {
	x := told(t, "yarrow-72", "nothing lights up, display dark", "all three are right", "I don't have a multimeter", "they stay dark")
	require.Equal(t, conversation.Naming, x.st.Phase)
	x.say("I already measured the fuse: 0.3 ohm")
	require.Equal(t, conversation.Naming, x.st.Phase)
	require.Len(t, x.st.Attempts, 1)
	_, ok := x.st.Answer("fuse-continuity")
	require.True(t, ok)
}

// Where a complaint is not understood, the bot says how one may be put.
func TestComplaintNotUnderstood(t *testing.T) {
	x := told(t, "")
	turn := x.say("it just feels off")
	require.Contains(t, turn.Say, "I did not get that.")
	require.Contains(t, turn.Say[len(turn.Say)-1], "For instance: ")
	require.Contains(t, turn.Say[len(turn.Say)-1], x.e.KB().Symptom("dead").Say)
	require.NotContains(t, told(t, "").say("I have a teasel").Say, "I did not get that.")
}
