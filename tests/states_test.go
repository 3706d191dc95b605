package tests

import (
	"fmt"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/conversation"
)

// stages are the places a talk can stand at, with the words that lead there.
var stages = map[string][]string{
	"opening":     {},
	"kit asked":   {"the throttle does nothing, display is normal"},
	"figure":      {"the throttle does nothing, display is normal", "I do not know"},
	"look":        {"the throttle on my sorrel does nothing, display is normal"},
	"measure":     {"the throttle on my sorrel does nothing, display is normal", "none of these, all clear", "all clicked home, dry and clean", "silent, nothing turns", "all three are right"},
	"named":       {"my sorrel is completely dead, no lights at all", "the breaker or pack switch is off"},
	"cured":       {"my sorrel is completely dead, no lights at all", "the breaker or pack switch is off", "yes, it works"},
	"handed over": {"the throttle on my sorrel does nothing", "I want a person"},
	"stopped":     {"there is smoke coming out of the pack"},
	"laid aside":  {"the throttle on my sorrel does nothing", "stop"},
}

// replies is one message for each thing an owner may do.
var replies = map[string]string{
	"reading":    "4.98 V",
	"choice":     "the second one",
	"correction": "sorry, I misread that, it was 0.8",
	"why":        "why do you want to know that?",
	"how":        "how do I do that?",
	"repeat":     "say that again please",
	"cannot":     "I can't do that",
	"no meter":   "I have no multimeter",
	"unsure":     "I don't know",
	"several":    "0.8 V closed and 4.1 V fully open",
	"symptom":    "oh, and the brake light stays on",
	"person":     "can I talk to a person",
	"chatter":    "lovely weather at the estuary today",
	"stop":       "enough for today, bye",
	"danger":     "now the battery is hissing and smoking",
	"yes":        "yes",
	"no":         "no",
	"done":       "done",
	"empty":      "",
	"noise":      "asdf qwer zxcv",
}

// Every reply is handled in every state: something is said, nothing is lost.
func TestAnyReplyInAnyState(t *testing.T) {
	e := newEngine(t)
	for stage, lead := range stages {
		for kind, says := range replies {
			t.Run(stage+"/"+kind, func(t *testing.T) {
				x := newTalk(t, e, "")
				for _, l := range lead {
					x.say(l)
				}
				before := x.st.Clone()
				turn := x.say(says)
				assert.NotEmpty(t, turn.Say)
				assert.Contains(t, []string{"asking", "named", "handed-over", "stopped"}, turn.State)
				for _, line := range turn.Say {
					assert.NotContains(t, line, "{", "an unfilled sentence")
					assert.True(t, utf8.ValidString(line))
				}
				assert.Equal(t, x.st, conversation.Replay(x.events))
				assert.GreaterOrEqual(t, len(x.st.Answers)+len(x.st.Replaced), len(before.Answers)+len(before.Replaced))
				switch kind {
				case "danger":
					assert.Equal(t, "stopped", turn.State)
					assert.Nil(t, turn.Ask)
					assert.NotEmpty(t, turn.Cautions)
				case "person":
					if before.Phase != conversation.Stopped {
						assert.Equal(t, "handed-over", turn.State)
					}
				case "why", "how", "repeat", "empty":
					if before.Pending != nil {
						assert.Equal(t, before.Pending.ID, x.st.Pending.ID, "the question stands")
					}
				}
				if !x.st.Phase.Ended() && kind != "stop" {
					assert.NotNil(t, turn.Ask, "an open talk asks something")
				}
				_, err := casefile.Build(e, x.st)
				assert.NoError(t, err)
			})
		}
	}
}

// FuzzTalk: whatever owners type, the talk neither breaks nor loses its place.
func FuzzTalk(f *testing.F) {
	for _, lead := range stages {
		f.Add(strings.Join(lead, "\n"))
	}
	f.Add("sorrel dead\n1e400\nNaN\n-\n\x00\xff\n0.02\n0.02\nOL\n9999999999999 V")
	e := newEngine(f)
	f.Fuzz(func(t *testing.T, text string) {
		x := newTalk(t, e, "")
		for i, says := range strings.Split(text, "\n") {
			if i == 12 {
				break
			}
			turn := x.say(says)
			require.NotEmpty(t, turn.Say, "turn %d", i)
			require.Equal(t, i+1, turn.Turn)
		}
		require.Equal(t, fmt.Sprint(x.st), fmt.Sprint(conversation.Replay(x.events)))
	})
}

// A danger told behind an answer in the offered words is not lost.
func TestDangerBehindAnAnswer(t *testing.T) {
	x := newTalk(t, newEngine(t), "sorrel-60")
	x.say("display is on and normal, the throttle does nothing")
	require.Equal(t, "look-inhibits", x.st.Pending.ID)
	turn := x.say("none of these, all clear. just noticed: I can smell something scorched")
	require.Equal(t, "stopped", turn.State)
	require.Contains(t, turn.Cautions, "fire-and-pack")
}
