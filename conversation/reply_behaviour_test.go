package conversation

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

func shipped(t testing.TB) *kb.KB {
	t.Helper()
	base, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found), "%v", found)
	return base
}

// Labels of another wording are joined with the options they mean, so that what
// is known of those options helps; an unknown label stands alone.
func TestLabelsOfAnotherWordingFindTheirOption(t *testing.T) {
	r, base := testReader(t), shipped(t)
	q := r.QuestionFor(base.Check("look-plugs"), "look", "Which is it?", []string{"One is soaked", "Nothing to see", "One is scorched", "A pin is crooked"})
	assert.NotEmpty(t, q.Options[0].Phrases)
	assert.Equal(t, "One is soaked", r.Read(q, "condensation inside").Choice)
	assert.Equal(t, "One is scorched", r.Read(q, "plastic melted").Choice)
	assert.Equal(t, "A pin is crooked", r.Read(q, "pin sunk in").Choice)

	q = r.QuestionFor(base.Check("bulb-try"), "try", "Try another bulb. What happens?", []string{"No change", "Cured"})
	assert.Equal(t, "Cured", r.Read(q, "it shines").Choice)
	assert.True(t, q.Options[0].Healthy)

	q = r.QuestionFor(nil, "look", "What colour?", []string{"Red", "Blue"})
	assert.Equal(t, "Blue", r.Read(q, "blue").Choice)
	q = r.QuestionFor(base.Check("pack-volts"), "", "", nil)
	assert.Equal(t, "V", q.Unit)
	assert.Equal(t, "measure", q.Kind)
	assert.NotEmpty(t, q.Asked)
}

func TestHealthyAnswersOfALook(t *testing.T) {
	r, base := testReader(t), shipped(t)
	troubles := r.QuestionFor(base.Check("look-inhibits"), "look", "Look at these. Which is it?", []string{"All clear", "Brake sign on", "Stand down", "Park sign", "Assist level 0"})
	for _, text := range []string{"all good", "fine", "ok", "nope", "none", "nothing", "none of them", "everything normal", "can't see anything wrong"} {
		assert.Equal(t, "All clear", r.Read(troubles, text).Choice, "%q", text)
	}
	swap := r.QuestionFor(base.Check("known-good-throttle-try"), "try", "Swap it. What happens?", []string{"No change", "That cures it"})
	assert.Equal(t, "That cures it", r.Read(swap, "all good now").Choice, "of a swap, good is a cure")
	assert.Equal(t, "No change", r.Read(swap, "no").Choice)
	sweep := r.QuestionFor(base.Check("throttle-sweep"), "try", "Open it slowly. What happens?", []string{"Rises smoothly", "Jumps about", "Stays up", "Does not change"})
	assert.Equal(t, "Jumps about", r.Read(sweep, "fine except for a jump half way").Choice)
}

// Figures alone fit no option, and short words are not taken for each other.
func TestWhatMustNotChoose(t *testing.T) {
	r, base := testReader(t), shipped(t)
	sweep := r.QuestionFor(base.Check("throttle-sweep"), "", "", nil)
	got := r.Read(sweep, "0.8 shut, 0.9 open")
	assert.Equal(t, IntentOther, got.Intent)
	assert.Empty(t, got.Choice)
	plugs := r.QuestionFor(base.Check("look-plugs"), "", "", nil)
	assert.NotEqual(t, "burnt", r.Read(plugs, "brake off").Choice)
	assert.NotEqual(t, IntentDanger, r.Read(plugs, "can I use the frame as minus?").Intent)
	assert.NotEqual(t, IntentChoice, r.Read(plugs, "which one is the hall plug?").Intent)
	assert.Equal(t, IntentCannot, r.Read(plugs, "I can't get at them").Intent)
	assert.Equal(t, IntentNewInfo, r.Read(r.QuestionFor(base.Check("look-inhibits"), "", "", nil), "my bike has no stand").Intent)
}

func TestDangerInOtherWords(t *testing.T) {
	r, base := testReader(t), shipped(t)
	q := r.QuestionFor(base.Check("pack-volts"), "", "", nil)
	for _, text := range []string{
		"the motor kept turning after I let go", "the wheel won't stop", "it tingles when I touch the frame", "the pack has got fat and will not come out", "there is a funny smell", "it is glowing red",
	} {
		assert.Equal(t, IntentDanger, r.Read(q, text).Intent, "%q", text)
	}
	for _, text := range []string{"the horn goes off on its own", "the display shuts off by itself", "I shocked myself at the price", "spins on its own for ages"} {
		assert.NotEqual(t, IntentDanger, r.Read(q, text).Intent, "%q", text)
	}
	assert.Equal(t, IntentDanger, r.Read(Question{Kind: "yesno", Asked: "So nothing smells and nothing is hot?"}, "the battery is very hot").Intent)
}

func TestYesAndNoInOtherWords(t *testing.T) {
	r := testReader(t)
	for _, c := range []struct {
		asked, text string
		want        Intent
	}{
		{"Is the fault gone? Tell me once it is done.", "done, the new grip is on", IntentDone}, {"Is the wheel up?", "done", IntentYes},
		{"Is the fault gone now?", "back to normal", IntentYes}, {"Is the fault gone now?", "better but not gone", IntentNo}, {"Is the fault gone now?", "not entirely", IntentNo},
		{"Is the fault gone now?", "too soon to say", IntentUnsure}, {"Is the fault gone now?", "it was gone for a minute then came back", IntentNo},
		{"Does the lamp go off when you let go?", "it stays lit", IntentNo}, {"Does the lamp go off when you let go?", "goes out", IntentYes},
		{"Does the screen keep its light?", "it resets", IntentNo}, {"Does the screen keep its light?", "stays on", IntentYes},
		{"Shall I hand this over?", "not just yet", IntentNo}, {"Shall I hand this over?", "go ahead", IntentYes}, {"Shall I hand this over?", "definitely not", IntentNo},
		{"So nothing is loose?", "no, nothing", IntentYes}, {"Did it start after washing?", "the day after I washed it", IntentYes}, {"Do you have a meter?", "can't remember", IntentUnsure},
	} {
		assert.Equal(t, c.want, r.Read(Question{Kind: "yesno", Asked: c.asked}, c.text).Intent, "%s %q", c.asked, c.text)
	}
}

func TestTheFigureThatWasAskedFor(t *testing.T) {
	r, base := testReader(t), shipped(t)
	for _, c := range []struct {
		check, asked, text string
		want               float64
	}{
		{"throttle-full", "Throttle held fully open: what does it read?", "0.8 closed, 4.2 open", 4.2},
		{"throttle-rest", "Grip released: what does it read?", "4.2 open and 0.8 closed", 0.8},
		{"throttle-5v", "At the throttle plug: what does it read?", "at the controller 5.0, at the throttle 3.1", 3.1},
		{"pack-volts-loaded", "", "fell from 54 to 41", 41}, {"pack-volts", "", "53 yesterday, 49 now", 49},
		{"pack-volts", "", "52.1, I mean 51.2", 51.2}, {"throttle-5v", "", "my meter only goes to 20, it says 4.9", 4.9},
	} {
		q := r.QuestionFor(base.Check(c.check), "measure", c.asked, []string{})
		got := r.Read(q, c.text)
		require.NotEmpty(t, got.Values, c.text)
		assert.Equal(t, c.want, got.Values[got.Main].Value, c.text)
	}
	q := r.QuestionFor(base.Check("throttle-5v"), "", "", nil)
	for text, want := range map[string]Intent{
		"back in 10": IntentOther, "not touching that, 84 volts is too much for me": IntentCannot, "??": IntentRepeat,
		"the seal is torn": IntentNewInfo, "one sec": IntentOther, "looks good": IntentOther,
	} {
		assert.Equal(t, want, r.Read(q, text).Intent, "%q", text)
	}
}

// Where no cue speaks, examples may; what stands in no example they leave alone.
func TestExamplesVoteWhereNoCueSpeaks(t *testing.T) {
	cues, err := loadCues(cueFile, "en")
	require.NoError(t, err)
	book, err := loadExamples([]byte("en: {measure: {stop: [adios for tonight, adios my friend], person: [bring the boss, the boss please]}}"), "en", cues)
	require.NoError(t, err)
	i, ok := book.nearest("measure", cues.words("bring the boss please"), cues.idle)
	assert.True(t, ok)
	assert.Equal(t, IntentPerson, i)
	_, ok = book.nearest("measure", cues.words("the kettle boils tonight"), cues.idle)
	assert.False(t, ok)
	_, err = loadExamples([]byte("en: ["), "en", cues)
	require.ErrorContains(t, err, "reading the example replies")
	_, err = loadExamples([]byte("en: {}"), "fr", cues)
	require.ErrorContains(t, err, `"fr"`)
}
