package conversation

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// curedQuestion is what is asked of a remedy, as the engine asks it.
func curedQuestion() Question {
	return Question{Kind: "yesno", Asked: "Is the fault gone? Tell me once it is done.", Options: []Choice{
		{ID: "cured", Label: "the fault is gone"}, {ID: "not-cured", Label: "the fault is still there"}, {ID: "cannot", Label: "I cannot do this"},
	}}
}

// asking gives the shipped question of a check by its id.
func asking(t testing.TB) (*Reader, func(string) Question) {
	t.Helper()
	r, base := testReader(t), shipped(t)
	return r, func(id string) Question {
		c := base.Check(id)
		require.NotNil(t, c, id)
		return r.QuestionFor(c, "", "", nil)
	}
}

// Enough is enough in every kind of question, whatever the options say.
func TestStopInEveryQuestion(t *testing.T) {
	r, ask := asking(t)
	questions := []Question{curedQuestion(), {Kind: "yesno", Asked: "Does the lamp come on?"}, {}}
	for _, id := range []string{"look-inhibits", "look-display", "look-power-path", "throttle-5v", "throttle-sweep", "known-good-throttle-try", "drag-unplugged"} {
		questions = append(questions, ask(id))
	}
	for _, q := range questions {
		for _, text := range []string{
			"STOP", "stop!", "please stop", "ok stop", "stop now", "stop it", "stop this", "I'd like to stop now", "can we stop", "let us stop for today", "just stop",
			"I need to stop here", "stop thanks", "quit", "I want to quit",
		} {
			assert.Equal(t, IntentStop, r.Read(q, text).Intent, "%s %q", q.Check, text)
		}
	}
	for _, text := range []string{"the stop lamp is lit", "stop sign on", "stop light stays on", "it shows stop"} {
		assert.Equal(t, "brake-sign", r.Read(ask("look-inhibits"), text).Choice, "%q", text)
	}
	for _, text := range []string{"it does not stop cutting out", "it would stop half way"} {
		assert.NotEqual(t, IntentStop, r.Read(curedQuestion(), text).Intent, "%q", text)
	}
}

// A word of plain English is no slip of another one, and what takes the owner
// back says nothing of the bike.
func TestPlainWordsAreNoSlips(t *testing.T) {
	r, ask := asking(t)
	for _, id := range []string{"look-power-path", "look-plugs", "look-display", "look-inhibits", "drag-unplugged", "look-chain", "wheel-free"} {
		for _, text := range []string{"one back", "take me back", "back please", "can we go back a step", "previous one please"} {
			got := r.Read(ask(id), text)
			assert.Equal(t, IntentBack, got.Intent, "%s %q", id, text)
			assert.Empty(t, got.Choice, "%s %q", id, text)
		}
		for _, text := range []string{"I'll go back out and check", "going back to the shed to look", "back outside to have a look"} {
			assert.Empty(t, r.Read(ask(id), text).Choice, "%s %q", id, text)
		}
	}
	for _, text := range []string{"house", "please", "plates", "bread", "track", "beaker", "lunch", "hatch", "planks", "grounds"} {
		words := r.cues.words(text)
		r.cues.mend(words, ask("look-power-path"))
		assert.Equal(t, text, words[0].text)
	}
	for text, want := range map[string]string{"throtle": "throttle", "isolater": "isolator", "batery": "battery", "breakr": "breaker"} {
		words := r.cues.words(text)
		r.cues.mend(words, ask("look-power-path"))
		assert.Equal(t, want, words[0].text)
	}
}

// A yes that closes a case is about the fault.
func TestChatterCuresNothing(t *testing.T) {
	r := testReader(t)
	q := curedQuestion()
	for _, text := range []string{
		"lovely evening for a ride", "nice bike by the way", "great weather", "yes lovely sunshine today", "yeah my cat says hello", "yep long day at work", "cool hat", "yes the football was great",
		"good morning", "hello there", "nice to meet you", "fine weather for ducks", "yeah busy week", "super lunch today", "thanks", "thank you so much", "cheers mate", "ta", "nice one", "great stuff", "no worries", "yep it rained all day",
	} {
		got := r.Read(q, text)
		assert.Contains(t, []Intent{IntentOther, IntentNewInfo}, got.Intent, "%q", text)
		assert.Empty(t, got.Choice, "%q", text)
	}
	for _, text := range []string{
		"yeah", "yes", "yep", "yes it is", "yes, gone", "yeah it works", "yes all good now", "yep runs like a dream", "yes thanks", "yeah cheers", "yes, riding again", "oh yes", "yes!!", "yeah mate", "yes it's fixed", "all good now", "yes it goes again, lovely day",
		"yes the motor turns", "yep new throttle did it", "yes it seems so", "yes definitely", "yes finally", "haha yes", "lol yep",
	} {
		got := r.Read(q, text)
		assert.Equal(t, IntentYes, got.Intent, "%q", text)
	}
	assert.Equal(t, "cured", r.Read(q, "gone").Choice)
	for _, text := range []string{"no", "nope still dead", "no, same as before", "not gone", "no change mate"} {
		assert.Equal(t, IntentNo, r.Read(q, text).Intent, "%q", text)
	}
}

// An option is not taken by one weak word among many that are foreign to all.
func TestForeignWordsChooseNothing(t *testing.T) {
	r, ask := asking(t)
	for _, c := range []struct{ check, text string }{
		{"listen-motor", "all at home here"}, {"listen-motor", "we are all on holiday"}, {"listen-motor", "the kids are home from school"}, {"listen-motor", "home"},
		{"look-plugs", "it rained last week as well"}, {"look-plugs", "we had a lot of rain lately"}, {"look-plugs", "my other bike had a burnt fuse once"}, {"look-plugs", "the kettle is on"},
		{"look-display", "afraid the thing might burn"}, {"look-display", "scared it will go up in flames"}, {"look-display", "I bought the screen from a friend"}, {"look-display", "the shop had a sign outside"},
		{"look-inhibits", "my brother has one too"}, {"look-inhibits", "I park it in the shed"}, {"look-inhibits", "the light is bad in this shed"},
		{"look-power-path", "the key is from my old house"}, {"look-power-path", "it came with two batteries"},
		{"drag-unplugged", "is this going to take long, it is hot today"}, {"look-chain", "I walked it off yesterday"},
	} {
		got := r.Read(ask(c.check), c.text)
		if got.Choice != "" {
			assert.Less(t, got.Confidence, plainEnough, "%s %q gives %s", c.check, c.text, got.Choice)
		}
	}
	for _, c := range []struct{ check, text, want string }{
		{"look-plugs", "one of them was full of rain water", "wet"}, {"look-plugs", "the one by the controller looks a bit burnt to me", "burnt"}, {"listen-motor", "sounds like it is full of gravel", "grinds"},
		{"look-display", "there is a brake sign on it", "brake-sign"}, {"look-display", "the thing stays completely dark whatever I do", "dark"}, {"look-power-path", "well I feel silly, the key was off", "key-off"},
	} {
		got := r.Read(ask(c.check), c.text)
		assert.Equal(t, c.want, got.Choice, "%s %q", c.check, c.text)
		assert.GreaterOrEqual(t, got.Confidence, plainEnough, "%s %q", c.check, c.text)
	}
	for _, c := range []struct{ check, text string }{
		{"pack-volts-loaded", "cannot do it, nothing lights up"}, {"pack-volts-loaded", "can't do that, the motor won't turn"}, {"throttle-5v", "the screen of my meter is blank"},
		{"throttle-5v", "meter shows nothing, it is blank"}, {"throttle-5v", "my multimeter display stays empty"}, {"pack-volts", "blank, I think the meter's battery died"}, {"throttle-5v", "nothing on the meter screen, it won't switch on"},
	} {
		got := r.Read(ask(c.check), c.text)
		assert.NotEqual(t, IntentReading, got.Intent, "%s %q", c.check, c.text)
		assert.Empty(t, got.Values, "%s %q", c.check, c.text)
	}
	for _, text := range []string{"nothing", "nothing on the meter", "meter shows nothing", "no volts at all", "reads nothing"} {
		got := r.Read(ask("throttle-5v"), text)
		require.Equal(t, IntentReading, got.Intent, "%q", text)
		assert.Zero(t, got.Values[0].Value)
	}
}

// Who denies what could be wrong, and affirms nothing of it, says that all is well.
func TestDenyingTroublesIsHealthy(t *testing.T) {
	r, ask := asking(t)
	for _, c := range []struct{ check, text, want string }{
		{"look-inhibits", "no brake light", "clear"}, {"look-inhibits", "no signs or lights", "clear"}, {"look-inhibits", "no icons", "clear"}, {"look-inhibits", "nothing showing", "clear"},
		{"look-inhibits", "no warning lights", "clear"}, {"look-inhibits", "no symbols on it", "clear"}, {"look-inhibits", "stand is up, no lock", "clear"}, {"look-inhibits", "not in park, no brake", "clear"},
		{"look-inhibits", "brake sign is off", "clear"}, {"look-inhibits", "the stand is not down", "clear"}, {"look-inhibits", "stand's up", "clear"}, {"look-inhibits", "no p, no r", "clear"},
		{"look-power-path", "battery is in", "all-on"}, {"look-power-path", "pack is latched", "all-on"}, {"look-power-path", "the key is turned", "all-on"}, {"look-power-path", "key is on", "all-on"},
		{"look-power-path", "breaker's up", "all-on"}, {"look-power-path", "isolator is on", "all-on"}, {"look-power-path", "pack in, key on", "all-on"}, {"look-power-path", "pack is not loose", "all-on"}, {"look-power-path", "turned the key yes", "all-on"},
		{"look-inhibits", "brake light off", "clear"}, {"look-inhibits", "assist level is 2", "clear"}, {"look-inhibits", "level 2, no brake", "clear"}, {"look-inhibits", "stand is folded up", "clear"}, {"look-power-path", "everything in place", "all-on"},
		{"look-plugs", "nothing wet or burnt", "all-home"}, {"look-plugs", "no bent pins", "all-home"},
	} {
		got := r.Read(ask(c.check), c.text)
		assert.Equal(t, IntentChoice, got.Intent, "%s %q", c.check, c.text)
		assert.Equal(t, c.want, got.Choice, "%s %q", c.check, c.text)
	}
	for _, c := range []struct{ check, text, want string }{
		{"look-inhibits", "no brake sign but the stand is down", "stand-down"}, {"look-inhibits", "stand up, brake light on", "brake-sign"},
		{"look-power-path", "pack is in but the key is off", "key-off"}, {"look-power-path", "key not turned", "key-off"}, {"look-power-path", "breaker is down", "isolator-off"},
		{"look-power-path", "battery isn't in", "pack-loose"}, {"look-power-path", "key was out", "key-off"},
	} {
		assert.Equal(t, c.want, r.Read(ask(c.check), c.text).Choice, "%s %q", c.check, c.text)
	}
}

// Two options that fit alike are asked for again, not taken.
func TestAlikeIsAskedAgain(t *testing.T) {
	r, ask := asking(t)
	for _, text := range []string{"pack is out", "the pack is off"} {
		got := r.Read(ask("look-power-path"), text)
		assert.NotEqual(t, "all-on", got.Choice)
		assert.Less(t, got.Confidence, plainEnough, "%q gives %s", text, got.Choice)
	}
}

// A figure that moves is no better known than its span.
func TestSpansAreApproximate(t *testing.T) {
	r, ask := asking(t)
	for _, c := range []struct {
		text             string
		value, low, high float64
	}{
		{"somewhere between 4.8 and 5.2", 5, 4.8, 5.2}, {"4.9-5.1", 5, 4.9, 5.1}, {"4.9 to 5.1", 5, 4.9, 5.1}, {"it wanders between 0 and 4", 2, 0, 4}, {"jumping around between 1 and 5 V", 3, 1, 5}, {"from 4.8 to 5.0", 4.9, 4.8, 5.0},
	} {
		got := r.Read(ask("throttle-5v"), c.text)
		require.Equal(t, IntentReading, got.Intent, "%q", c.text)
		require.Len(t, got.Values, 1, "%q", c.text)
		v := got.Values[0]
		assert.InDelta(t, c.value, v.Value, 1e-9, "%q", c.text)
		assert.InDelta(t, c.low, v.Low, 1e-9, "%q", c.text)
		assert.InDelta(t, c.high, v.High, 1e-9, "%q", c.text)
		assert.True(t, got.Approx, "%q", c.text)
		assert.True(t, v.Approx, "%q", c.text)
	}
	got := r.Read(ask("throttle-5v"), "5")
	assert.Equal(t, 0, got.Values[0].Decimals)
	assert.False(t, got.Approx)
}

// A figure from the wrong place is none.
func TestFigureFromTheWrongPlace(t *testing.T) {
	r, ask := asking(t)
	for _, text := range []string{
		"5.01 but the red probe was on the signal wire", "4.9 though I had the black lead on the brake pin", "2.2 but that was the wrong wire", "0.3, may have been on the wrong pin", "3.3 but I'm not sure it was the right plug", "4.7 but I think I touched the wrong one",
		"it says 1.1 but I might be on the wrong side", "4.98 but the probe slipped", "4.98 if I had the right pin",
	} {
		got := r.Read(ask("throttle-5v"), text)
		assert.Equal(t, IntentReading, got.Intent, "%q", text)
		assert.True(t, got.Misplaced, "%q", text)
		assert.True(t, got.Doubt, "%q", text)
		assert.Less(t, got.Confidence, 0.5, "%q", text)
	}
	for _, text := range []string{"4.98 on the red lead", "4.98, red lead on the 5 V pin", "5.0 on the right pin this time", "4.9 V, black probe on ground", "had it on the wrong pin, now it is 4.9"} {
		assert.False(t, r.Read(ask("throttle-5v"), text).Misplaced, "%q", text)
	}
}

// What a question of the owner's is about.
func TestWhatIsAskedAbout(t *testing.T) {
	r, ask := asking(t)
	for about, texts := range map[string][]string{
		AboutRisk:  {"could this hurt me?", "can I get a shock from that?", "is that risky", "is this ok to do safely?", "isn't that dangerous", "will I damage something?", "is it safe to touch?"},
		AboutTime:  {"how long does that take", "will it take long?", "how many minutes is this", "how much longer?", "is this quick?", "how many more questions?"},
		AboutCost:  {"what does that cost?", "how much is a new one?", "is it expensive?", "what would I pay for the part", "how much will it be"},
		AboutWhere: {"where is that plug?", "where exactly?", "whereabouts do the probes go", "where can I find it", "which side is it on?", "where do I put the black one"},
		AboutGuess: {"just tell me which part to buy", "what do you think it is?", "so what is it?", "what's wrong with it then?", "any idea yet?", "do you think it's the controller?", "which part do I need to order", "what should I replace?", "your best guess?", "have you found the fault yet?"},
		"":         {"how do I measure that?", "what setting?", "which way round do I twist it"},
	} {
		for _, id := range []string{"throttle-5v", "look-plugs"} {
			for _, text := range texts {
				got := r.Read(ask(id), text)
				want := IntentHow
				if about == AboutGuess {
					want = IntentWhy
				}
				assert.Equal(t, want, got.Intent, "%s %q", id, text)
				assert.Equal(t, about, got.About, "%s %q", id, text)
			}
		}
	}
	assert.Empty(t, r.Read(ask("throttle-5v"), "4.98").About)
	got := r.Read(curedQuestion(), "how much is a new throttle?")
	assert.Equal(t, IntentHow, got.Intent)
	assert.Equal(t, AboutCost, got.About)
}

// Thanks alone answer nothing, and can be answered.
func TestThanks(t *testing.T) {
	r, ask := asking(t)
	for _, q := range []Question{curedQuestion(), ask("throttle-5v"), ask("look-plugs"), {}} {
		for _, text := range []string{"thanks", "thank you", "cheers", "Thanks!", "many thanks", "thx", "ok thanks", "great, thank you", "cheers mate", "ta very much", "thank you for your help"} {
			got := r.Read(q, text)
			assert.Equal(t, IntentOther, got.Intent, "%s %q", q.Check, text)
			assert.True(t, got.Thanks, "%s %q", q.Check, text)
		}
	}
	for _, text := range []string{"ok", "okay", "right", "alright then", "ok will do"} {
		got := r.Read(curedQuestion(), text)
		assert.Equal(t, IntentOther, got.Intent, "%q", text)
		assert.Empty(t, got.Choice, "%q", text)
	}
	assert.Equal(t, IntentYes, r.Read(curedQuestion(), "yes thanks").Intent)
	assert.Equal(t, IntentNo, r.Read(curedQuestion(), "no, thanks anyway").Intent)
	assert.Equal(t, IntentReading, r.Read(ask("throttle-5v"), "4.98 thanks").Intent)
}

// What takes the place of an earlier answer is kept apart from the words that
// say so.
func TestCorrections(t *testing.T) {
	r, ask := asking(t)
	for _, c := range []struct {
		text  string
		value float64
	}{
		{"no, 4.2", 4.2}, {"sorry, 0.19", 0.19}, {"no it was 3.9", 3.9}, {"correction: the last one was 1.2", 1.2}, {"the first figure should have been 12", 12}, {"the 5 V was really 0.4", 0.4}, {"actually the first was 2.1", 2.1}, {"wait, 2.1", 2.1}, {"nope, 4.1", 4.1}, {"first one was 52", 52}, {"the pack was 48 not 54", 48},
	} {
		got := r.Read(ask("throttle-5v"), c.text)
		assert.Equal(t, IntentBack, got.Intent, "%q", c.text)
		require.NotEmpty(t, got.Values, "%q", c.text)
		assert.Equal(t, c.value, got.Values[got.Main].Value, "%q", c.text)
		assert.NotEmpty(t, got.Rest, "%q", c.text)
	}
	for _, c := range []struct{ text, rest string }{
		{"wait the brake light IS lit", "the brake light IS lit"}, {"actually the key was off", "the key was off"}, {"hang on, the stand was down after all", "the stand was down after all"}, {"correction: the pack was loose", "the pack was loose"},
		{"sorry, I meant the screen is dark", "the screen is dark"}, {"no wait, the stand is down", "the stand is down"}, {"oops the display was flickering", "the display was flickering"},
	} {
		for _, id := range []string{"throttle-5v", "look-plugs"} {
			got := r.Read(ask(id), c.text)
			assert.Equal(t, IntentBack, got.Intent, "%s %q", id, c.text)
			assert.Equal(t, c.rest, got.Rest, "%s %q", id, c.text)
		}
	}
	// What answers the pending question is an answer, however it begins.
	for _, c := range []struct{ check, text, want string }{
		{"look-power-path", "oh wait, the key is off", "key-off"}, {"look-power-path", "actually the key was off", "key-off"}, {"look-inhibits", "hang on, the stand is down", "stand-down"},
	} {
		got := r.Read(ask(c.check), c.text)
		assert.Equal(t, IntentChoice, got.Intent, "%q", c.text)
		assert.Equal(t, c.want, got.Choice, "%q", c.text)
	}
	assert.Equal(t, "", r.Read(ask("throttle-5v"), "go back").Rest)
	assert.Equal(t, IntentReading, r.Read(ask("throttle-5v"), "no problem, 4.98").Intent)
}
