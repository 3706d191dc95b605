package conversation

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var intents = []Intent{IntentReading, IntentChoice, IntentDone, IntentYes, IntentNo, IntentCannot, IntentUnsure, IntentWhy, IntentHow,
	IntentBack, IntentRepeat, IntentPerson, IntentStop, IntentDanger, IntentNewInfo, IntentOther}

func testReader(t testing.TB) *Reader {
	t.Helper()
	r, err := NewReader()
	require.NoError(t, err)
	return r
}

// Danger goes before everything a message may say beside it, whatever is
// pending; a danger that is denied, supposed or harmless is none.
func TestDangerGoesFirst(t *testing.T) {
	r := testReader(t)
	for name, q := range testQuestions(t) {
		for _, text := range []string{
			"it is smoking", "4.2 V but there is smoke now", "the battery is swollen", "I can smell burning", "FIRE!", "I got a shock, 0.85", "no idea but it is hissing",
			"no fire, lots of smoke", "yes and the pack is getting hot", "why is it smoking", "where is the plug, it sparks", "sorry I meant 0.8, and now it smokes", "bye, it's on fire",
			"don't know if that matters but the battery is bulging", "smoke",
		} {
			assert.Equal(t, IntentDanger, r.Read(q, text).Intent, "%s %q", name, text)
		}
		for _, text := range []string{
			"no smoke", "there is no smoke or burning smell", "no smoke, no sparks", "not hot, not swollen", "without any smoke", "what if it catches fire?", "could it give me a shock?",
			"just the usual small spark when I plug it in", "the motor is warm", "I'm afraid of getting a shock", "smoke? no", "nothing hot", "never saw any sparks",
		} {
			assert.NotEqual(t, IntentDanger, r.Read(q, text).Intent, "%s %q", name, text)
		}
	}
}

// An option that is denied must not be chosen, and of two that fit alike none is.
func TestDeniedOptionIsNotChosen(t *testing.T) {
	r := testReader(t)
	questions := testQuestions(t)
	for _, c := range []struct{ q, text, never string }{
		{"look-display", "it isn't dark", "dark"}, {"look-display", "not flickering", "flickers"}, {"look-display", "no brake sign", "brake-sign"},
		{"look-display", "no fault code on it", "fault-code"}, {"look-plugs", "none of them is wet", "wet"}, {"look-plugs", "no bent pin", "bent-pin"},
		{"look-plugs", "nothing burnt", "burnt"}, {"look-power", "the key wasn't off", "key-off"}, {"look-power", "the isolator is not off", "isolator-off"},
		{"sweep", "it does not jump", "jumps"}, {"sweep", "not smooth", "smooth"}, {"drag", "it doesn't drag at all", "drags-both"}, {"wheel", "it does not rub", "drags"},
		{"lamp", "it is not green", "green-at-once"}, {"l-isolator", "not on", "on"}, {"l-isolator", "it is not off", "off"}, {"l-tyre", "not soft", "soft"}, {"l-chain", "it is not off", "off"},
	} {
		assert.NotEqual(t, c.never, r.Read(questions[c.q], c.text).Choice, "%s %q", c.q, c.text)
	}
	tie := Question{Check: "x", Kind: "look", Options: []Choice{{ID: "red", Label: "red lamp"}, {ID: "green", Label: "green lamp"}}}
	got := r.Read(tie, "red and green")
	assert.Equal(t, IntentUnsure, got.Intent)
	assert.Empty(t, got.Choice)
}

// A bare yes or no is mapped on the options by what was asked.
func TestYesAndNoFindTheirOption(t *testing.T) {
	r := testReader(t)
	q := testQuestions(t)["swap"]
	assert.Equal(t, "cures", r.Read(q, "yes").Choice)
	assert.Equal(t, "no-change", r.Read(q, "no").Choice)
	own := Question{Check: "x", Kind: "yesno", Asked: "Does it spark?", Options: []Choice{{ID: "y", Label: "Yes"}, {ID: "n", Label: "No"}}}
	assert.Equal(t, Reply{Intent: IntentYes, Choice: "y", Confidence: 0.9}, r.Read(own, "yep"))
	assert.Equal(t, Reply{Intent: IntentNo, Choice: "n", Confidence: 0.9}, r.Read(own, "👎"))
	many := testQuestions(t)["look-power"]
	assert.Equal(t, "all-on", r.Read(many, "yes").Choice)
	assert.Empty(t, r.Read(many, "no").Choice, "no says only that something is not on")
}

func TestNumberedAnswers(t *testing.T) {
	r := testReader(t)
	q := testQuestions(t)["drag"]
	for text, want := range map[string]string{
		"2": "drags-plugged", "#2": "drags-plugged", "option 2": "drags-plugged", "the second one": "drags-plugged", "b": "drags-plugged", "B)": "drags-plugged",
		"the last": "drags-both", "first": "light", "number one": "light", "2️⃣": "drags-plugged", "2.": "drags-plugged",
	} {
		got := r.Read(q, text)
		assert.Equal(t, IntentChoice, got.Intent, "%q", text)
		assert.Equal(t, want, got.Choice, "%q", text)
	}
	for _, text := range []string{"4", "0", "option 7", "z"} {
		assert.Empty(t, r.Read(q, text).Choice, "%q", text)
	}
}

func TestPlacesOfFigures(t *testing.T) {
	r := testReader(t)
	q := testQuestions(t)["throttle-rest"]
	for text, want := range map[string]string{
		"0.8 shut, 4.1 open":                      "0.8 closed 4.1 open",
		"closed 0.8, open 4.1":                    "0.8 closed 4.1 open",
		"0.8 at rest and 4.1 at full throttle":    "0.8 rest 4.1 full",
		"at rest 0.8 and at full throttle 4.1":    "0.8 rest 4.1 full",
		"0.8 released and when I twist it 4.2":    "0.8 released 4.2 open",
		"rest: 0.83 V / full: 4.12 V":             "0.83 rest 4.12 full",
		"0.8":                                     "0.8 ",
		"0.85 with it closed":                     "0.85 closed",
		"it goes from 0.8 closed to 4.2 full":     "0.8 closed 4.2 full",
		"unplugged 5.0, plugged 0.3":              "5 unplugged 0.3 plugged",
		"0.8 V closed\n4.1 V open":                "0.8 closed 4.1 open",
		"closed it is 0.8 then open it gives 4.1": "0.8 closed 4.1 open",
	} {
		var parts []string
		for _, v := range r.Read(q, text).Values {
			parts = append(parts, strings.TrimSuffix(FormatValue(Measured{Value: v.Value, Decimals: -1}), " ")+" "+v.Place)
		}
		assert.Equal(t, want, strings.Join(parts, " "), "%q", text)
	}
}

func TestFigures(t *testing.T) {
	r := testReader(t)
	q := testQuestions(t)
	got := r.Read(q["throttle-rest"], "12 ohms")
	assert.True(t, got.WrongUnit)
	assert.Equal(t, "Ω", got.Values[0].Unit)
	got = r.Read(q["throttle-rest"], "I think about 0.8")
	assert.True(t, got.Doubt)
	assert.True(t, got.Approx)
	assert.True(t, got.Values[0].Assumed)
	assert.Equal(t, "V", got.Values[0].Unit)
	got = r.Read(q["brake-ohms"], "no reading")
	assert.True(t, got.Values[0].Overload)
	got = r.Read(q["throttle-rest"], "dead")
	assert.Equal(t, IntentReading, got.Intent)
	assert.Zero(t, got.Values[0].Value)
	got = r.Read(q["throttle-full"], "I meant 4.1 not 1.4")
	assert.Equal(t, IntentBack, got.Intent)
	require.Len(t, got.Values, 1)
	assert.Equal(t, 4.1, got.Values[0].Value)
	got = r.Read(Question{}, "hello")
	assert.Equal(t, IntentOther, got.Intent)
}

// Long and broken texts are read in bounded time: only the beginning counts.
func TestLongReplies(t *testing.T) {
	r := testReader(t)
	for name, q := range testQuestions(t) {
		for _, text := range []string{
			strings.Repeat("a", 1<<20), strings.Repeat("no ", 1<<18), strings.Repeat("9", 1<<20), strings.Repeat("\xff\x00", 1<<19), strings.Repeat("zzzzzz yyyyyy ", 1<<16), strings.Repeat("0.8 open ", 1<<16), "",
		} {
			begin := time.Now()
			r.Read(q, text)
			require.Less(t, time.Since(begin), 5*time.Second, "%s %.20q", name, text)
		}
	}
	assert.Equal(t, IntentOther, r.Read(testQuestions(t)["throttle-rest"], strings.Repeat("x", longestReply)+" 0.8").Intent)
}

func TestCuesFileFaults(t *testing.T) {
	_, err := loadCues([]byte("en: {phrase: {}}"), "en")
	require.ErrorContains(t, err, "reading the reply cues")
	_, err = loadCues([]byte("en: {}"), "fr")
	require.ErrorContains(t, err, `"fr"`)
}

func FuzzRead(f *testing.F) {
	for _, l := range labelledReplies(f, "testdata/replies.jsonl") {
		f.Add(l.Q, l.Text)
	}
	questions := testQuestions(f)
	reader := testReader(f)
	f.Fuzz(func(t *testing.T, name, text string) {
		q, ok := questions[name]
		if !ok {
			q = Question{Check: name, Kind: "look", Asked: text, Options: []Choice{{ID: name, Label: text, Phrases: []string{name}}}}
		}
		got := reader.Read(q, text)
		require.Equal(t, got, reader.Read(q, text), "not deterministic")
		require.Contains(t, intents, got.Intent)
		require.True(t, got.Confidence >= 0 && got.Confidence <= 1)
		for _, v := range got.Values {
			require.False(t, v.Value-v.Value != 0, "not finite")
			require.True(t, v.Start >= 0 && v.Start < v.End, "offsets %d..%d", v.Start, v.End)
			if utf8.ValidString(text) && len(text) < longestReply && !strings.ContainsFunc(text, func(r rune) bool { return r < ' ' || r == 0x7f || r >= 0x80 }) {
				require.LessOrEqual(t, v.End, len(text))
			}
		}
		if got.Choice != "" {
			ids := map[string]bool{}
			for _, o := range q.Options {
				ids[o.ID] = true
			}
			require.True(t, ids[got.Choice], "choice %q was not offered", got.Choice)
		}
		if got.Intent == IntentReading {
			require.NotEmpty(t, got.Values)
		}
		if got.Intent == IntentChoice {
			require.NotEmpty(t, ids(q))
		}
	})
}

func ids(q Question) []string {
	var out []string
	for _, o := range q.Options {
		out = append(out, o.ID)
	}
	return out
}

// A rail's name right before its figure is no figure of its own.
func TestNameBeforeItsFigure(t *testing.T) {
	r := testReader(t)
	q := Question{Kind: "measure", Unit: "V"}
	for text, want := range map[string][]float64{
		"5v 4.98, signal 0.02": {4.98, 0.02}, "5V: 4.98": {4.98}, "5 V = 4,98 V": {4.98}, "48 V, 51.2 V": {48, 51.2}, "5 V": {5},
	} {
		var got []float64
		for _, v := range r.Read(q, text).Values {
			got = append(got, v.Value)
		}
		assert.Equal(t, want, got, text)
	}
}
