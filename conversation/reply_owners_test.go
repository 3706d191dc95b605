package conversation

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// answers as owners word them, beside the words that are kept for an option.
// want is an option that must be taken without asking again; "" is any reading
// but a taken option.
func TestOwnersWordings(t *testing.T) {
	r, ask := asking(t)
	for _, c := range []struct{ check, want, text string }{
		// What denies a trouble and affirms none is healthy; a denied thing is not.
		{"look-display", "normal", "it is on, nothing special"}, {"look-display", "normal", "on, same as every day"}, {"look-display", "normal", "it's lit, no warnings"},
		{"look-display", "normal", "on, the way it is every morning"}, {"look-display", "normal", "lit up, no warning signs"}, {"look-display", "normal", "it's on, nothing out of the ordinary"},
		{"look-display", "normal", "lit and nothing unusual"}, {"look-display", "normal", "comes on, no errors"}, {"look-display", "normal", "lights up, no codes or anything"}, {"look-display", "normal", "there's nothing special on it"},
		{"look-display", "dark", "not on"}, {"look-display", "dark", "it's not lit"}, {"look-display", "dark", "no picture on it"}, {"look-display", "dark", "no error code, just dark"},
		{"look-display", "brake-sign", "on but with a brake sign"}, {"look-display", "fault-code", "it's lit, a warning triangle"},
		{"look-inhibits", "clear", "no signs, stand is up"}, {"look-inhibits", "clear", "I see nothing unusual there"}, {"look-inhibits", "clear", "no brake sign, no P, nothing"},
		{"look-inhibits", "clear", "stand up, nothing on the screen"}, {"look-inhibits", "clear", "no lights, no lock, stand is folded"}, {"look-inhibits", "clear", "don't see anything special there"},
		{"look-inhibits", "clear", "no P and no brake sign, nothing at all"}, {"look-inhibits", "clear", "I can see nothing odd"}, {"look-inhibits", "park-sign", "stand is up but there is a lock"},
		{"look-plugs", "all-home", "noting wrong with any of them"},
		// A small word of place belongs to several things.
		{"look-power-path", "", "it's off"}, {"look-power-path", "", "off"}, {"look-power-path", "", "one of them was off"}, {"look-power-path", "", "oh it is off"}, {"look-power-path", "", "was off"}, {"look-power-path", "", "it's up"},
		// The owner is not the bike.
		{"look-plugs", "", "my hands are wet"}, {"look-plugs", "", "hands are soaked right now"}, {"look-plugs", "", "I am wet through"}, {"look-plugs", "", "my fingers are burnt from cooking"}, {"look-plugs", "", "my gloves are soaking wet"},
		{"look-plugs", "", "sorry, my hands are dirty"}, {"look-plugs", "wet", "the plug inside is wet"}, {"look-plugs", "", "can't see the plugs without taking it apart"},
		// A plug is not plugged.
		{"look-plugs", "unseated-control", "controller plug was out"}, {"look-plugs", "unseated-control", "the control plug is out"}, {"look-plugs", "unseated-throttle", "throttle connector was off"},
		{"look-plugs", "unseated-display", "display plug out"}, {"look-plugs", "unseated-hall", "hall plug came out"}, {"look-plugs", "unseated-display", "plug at the display was pulled out"},
		{"look-plugs", "unseated-throttle", "the plug of the throttle has come out"}, {"look-plugs", "unseated-hall", "the thin mtor plug is not pushed in"},
		{"control-5v-unplugged", "comes-back-harness", "only came back with the big plug itself off"}, {"control-5v-unplugged", "comes-back-harness", "not throttle, not halls, but the control plug does it"},
		// A lamp is not lit.
		{"mains-try", "lamp-dark", "the lamp doesn't work there either"}, {"mains-try", "lamp-dark", "my lamp stays off in that one"}, {"mains-try", "lamp-dark", "bulb does not light in it"},
		{"mains-try", "lamp-dark", "tried a lamp, it won't come on"}, {"mains-try", "lamp-dark", "that lamp is dark too"}, {"mains-try", "lamp-lights", "the led lamp works fine there"}, {"mains-try", "lamp-dark", "no poer in that socket"},
		// How many of several.
		{"hall-toggle", "one-stuck", "two switch, one stays the same"}, {"hall-toggle", "one-stuck", "two of them move, the third doesn't"}, {"hall-toggle", "one-stuck", "only one of them switches"},
		{"hall-toggle", "one-stuck", "green stays at 5, others change"}, {"hall-toggle", "one-stuck", "A and B flip but C is frozen"}, {"hall-toggle", "none-toggle", "all three stay where they are"}, {"hall-toggle", "none-toggle", "all of them are stuck"},
		{"hall-toggle", "none-toggle", "not a single one changes"}, {"hall-toggle", "none-toggle", "nothing moves on any"}, {"hall-toggle", "none-toggle", "none do"}, {"hall-toggle", "all-toggle", "each wire goes high and low"}, {"hall-toggle", "all-toggle", "all three do"},
		// What came of a try, and what did not come of it.
		{"cool-try", "no-change", "same after cooling down"}, {"cool-try", "no-change", "exactly the same after the break"}, {"cool-try", "no-change", "no better after half an hour"}, {"cool-try", "no-change", "cooling it made no difference"},
		{"cool-try", "no-change", "no change when cold"}, {"cool-try", "no-change", "rested it, still the same"}, {"cool-try", "better-then-worse", "better when cold, bad again when warm"},
		{"known-good-display-try", "no-change", "also stays black"}, {"bulb-try", "no-change", "new bulb stays dark too"},
		// Clauses in an option's own words, and idioms that overlap.
		{"drag-unplugged", "drags-plugged", "stiff when connected, free when unplugged"}, {"drag-unplugged", "drags-plugged", "heavy when plugged in, light when out"}, {"drag-unplugged", "drags-plugged", "stiff with them in but free without"},
		{"drag-unplugged", "drags-plugged", "only free when unplugged"}, {"drag-unplugged", "drags-both", "stiff in both cases"}, {"drag-unplugged", "light", "easy in both cases"},
		{"speed-toggle", "toggles", "goes up and down"}, {"speed-toggle", "toggles", "it goes high and then low"}, {"speed-toggle", "toggles", "up and down it goes"}, {"speed-toggle", "toggles", "moves up and down each turn"},
		{"speed-toggle", "toggles", "comes up and goes down"}, {"speed-toggle", "toggles", "yes up and down"}, {"pedal-toggle", "stuck", "does not go up and down"},
	} {
		got := r.Read(ask(c.check), c.text)
		taken := ""
		if got.Intent == IntentChoice && got.Confidence >= plainEnough {
			taken = got.Choice
		}
		assert.Equal(t, c.want, taken, "%s %q is read as %s %s %.2f", c.check, c.text, got.Intent, got.Choice, got.Confidence)
	}
}

// What does not speak of the fault does not say whether it is gone.
func TestWhatTheFaultIsNot(t *testing.T) {
	r := testReader(t)
	q := curedQuestion()
	for _, text := range []string{"still raining here", "still dark outside", "still at work", "still waiting for the rain to stop", "it's still pouring", "still too cold out there"} {
		got := r.Read(q, text)
		assert.Equal(t, IntentOther, got.Intent, "%q", text)
		assert.True(t, got.Waits, "%q", text)
		assert.Empty(t, got.Choice, "%q", text)
	}
	for _, text := range []string{"I don't want to do that", "not doing that", "I won't do that", "I'd rather not do that", "don't feel like doing this", "no, I don't want to do that"} {
		assert.Equal(t, IntentCannot, r.Read(q, text).Intent, "%q", text)
	}
	for _, text := range []string{
		"no change, fault is still there", "done but it didn't help", "did it, no luck", "swapped it, fault is still the same", "fitted the new one but it still does it", "no difference, the problem is still here", "done, no better",
		"did that but it made no difference", "still there", "still broken", "still cuts out", "it still does not go", "still flickers", "no, still not right", "done, but it is not all gone", "the fault is still there when it is wet outside",
	} {
		got := r.Read(q, text)
		assert.True(t, got.Intent == IntentNo || got.Choice == "not-cured", "%q is read as %s %s", text, got.Intent, got.Choice)
	}
}

// "sorry" before a figure begs pardon for the wait; set off by a comma it takes
// something back.
func TestSorryBeforeAFigure(t *testing.T) {
	r, ask := asking(t)
	for _, text := range []string{"sorry 4.98", "sorry for the wait, 4.98", "oh sorry 4.98 V", "sorry about that, it reads 4.98", "sorry it took so long, 4.98", "sorry, it is 4.98"} {
		assert.Equal(t, IntentReading, r.Read(ask("throttle-5v"), text).Intent, "%q", text)
	}
	for _, text := range []string{"sorry, 4.98", "no 4.98", "sorry I misread, it was 4.98", "correction, it was 4.98"} {
		assert.Equal(t, IntentBack, r.Read(ask("throttle-5v"), text).Intent, "%q", text)
	}
	for text, want := range map[string]string{"oops I got that wrong, it was as on the card": "as-card", "I got that wrong, it is as on the card": "as-card", "wrong answer, it agrees with the card": "as-card", "took that wrong, one value is different": "differs"} {
		got := r.Read(ask("settings-look"), text)
		assert.Equal(t, IntentBack, got.Intent, "%q", text)
		assert.Equal(t, want, got.Choice, "%q", text)
	}
}

// Who has nothing to try it with has not tried it.
func TestNothingToTryWith(t *testing.T) {
	r, ask := asking(t)
	for check, texts := range map[string][]string{
		"bulb-try":                {"no spare bulb", "I don't have another bulb", "no other bulb here", "we have no bulb to try", "haven't got a second one"},
		"mains-try":               {"I have no lamp to try", "i only have this one socket and no lamp", "no lamp here", "don't have another lamp"},
		"known-good-throttle-try": {"I have no other throttle", "no spare throttle", "no second throttle around"},
	} {
		for _, text := range texts {
			got := r.Read(ask(check), text)
			assert.Equal(t, IntentCannot, got.Intent, "%s %q gives %s", check, text, got.Choice)
		}
	}
	for _, c := range []struct{ check, want, text string }{
		{"bulb-try", "no-change", "no light with the other bulb"}, {"bulb-try", "no-change", "the spare one is no better"}, {"known-good-throttle-try", "no-change", "no difference with the spare"}, {"known-good-throttle-try", "cures", "works with the spare"}, {"mains-try", "lamp-dark", "no light from the lamp"},
	} {
		assert.Equal(t, c.want, r.Read(ask(c.check), c.text).Choice, "%q", c.text)
	}
}
