package search

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/reading"
)

func plainTexts(words []word) []string {
	out := []string{}
	for _, w := range words {
		out = append(out, w.text)
	}
	return out
}

func TestSplit(t *testing.T) {
	g, err := theGrammar()
	require.NoError(t, err)
	for text, want := range map[string][]string{
		"Don't stop":    {"do", "not", "stop"},
		"dont":          {"do", "not"},
		"it’s out":      {"it", "is", "out"},
		"e07 and 48v":   {"e07", "and", "48", "v"},
		"yarow72":       {"yarow", "72"},
		"4.98V, 3,5":    {"4.98", "v", "3,5"},
		"deaaad":        {"deaad"},
		"🔥🔥🔥":           {"fire"},
		"w/o":           {"w", "o"},
		"isn t":         {"is", "not"},
		"the pump's ok": {"the", "pump", "ok"},
	} {
		assert.Equal(t, want, plainTexts(g.split(text)), "%q", text)
	}
	words := g.split("really? yes, it is. ok")
	assert.True(t, words[0].asked)
	assert.False(t, words[1].asked)
	assert.Equal(t, []breach{none, stop, comma, none, stop}, []breach{words[0].before, words[1].before, words[2].before, words[3].before, words[4].before})
}

func TestMend(t *testing.T) {
	g, err := theGrammar()
	require.NoError(t, err)
	s := newSpeller(map[string]int{"throttle": 5, "horn": 3, "charger": 2, "stays": 1, "dark": 1, "pedal": 1, "brake": 4}, map[string]string{"gaz": "throttle"}, tongue{})
	for text, want := range map[string][]string{
		"thorttle":   {"throttle"}, // two letters changed about
		"throtle":    {"throttle"},
		"chargger":   {"charger"},
		"gaz":        {"throttle"}, // given
		"house":      {"house"},    // a word of its own
		"hrn":        {"hrn"},      // too short to tell
		"brkae":      {"brake"},
		"thro ttle":  {"throttle"},
		"staysdark":  {"stays", "dark"},
		"xyzzyplugh": {"xyzzyplugh"},
		"e07":        {"e07"},
	} {
		assert.Equal(t, want, plainTexts(s.mend(g.split(text))), "%q", text)
	}
}

func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"brake", "brake", 0}, {"brake", "barke", 1}, {"brake", "brak", 1}, {"brake", "broke", 1}, {"brake", "bkrae", 2}, {"a", "abcd", 3}} {
		assert.Equal(t, c.want, distance(c.a, c.b, 2), "%s %s", c.a, c.b)
	}
}

func TestDeny(t *testing.T) {
	x := small(t)
	denied := func(text string) []string {
		out := []string{}
		tx := x.lex.read(text)
		for i := range tx.tokens {
			if tok := &tx.tokens[i]; tok.denied && !tok.light && !tok.cue {
				out = append(out, tok.text)
			}
		}
		return out
	}
	for text, want := range map[string][]string{
		"no smoke from the boiler":           {"smoke"},
		"no smoke lamp is dark":              {"smoke"},
		"the pump does not run":              {"run"},
		"not dark but it leaks":              {"dark"},
		"no smoke, smell or noise, it leaks": {"smoke", "smell", "noise"},
		"it stopped leaking":                 {"leaking"},
		"it won't stop leaking":              {},
		"no idea why it leaks":               {},
		"never saw smoke when it leaks":      {"saw", "smoke"},
	} {
		assert.Equal(t, want, denied(text), "%q", text)
	}
}

func TestReadings(t *testing.T) {
	x := small(t)
	got := func(text string) map[string]float64 {
		out := map[string]float64{}
		for _, r := range x.Match(text).Readings {
			out[r.Check] = r.Value
		}
		return out
	}
	assert.Equal(t, map[string]float64{"boiler-ohms": 24.5}, got("boiler element reads 24.5"))
	assert.Equal(t, map[string]float64{"boiler-ohms": 24, "pump-volts": 230.5}, got("ohms of the boiler 24 Ω and pump voltage 230.5 V"))
	assert.Equal(t, map[string]float64{"": 12.5}, got("somewhere i got 12.5 V"), "unclear what was measured")
	assert.Equal(t, map[string]float64{"": 24}, got("24"), "a bare answer")
	assert.Empty(t, got("it leaked 24 times since i had it and nobody knows why"))
	assert.Equal(t, map[string]float64{"": 24.5}, got("pump voltage is 24.5 Ω"), "the unit must fit the check")
	var overload []reading.Quantity
	for _, r := range x.Match("boiler element reads OL").Readings {
		overload = append(overload, r.Quantity)
	}
	require.Len(t, overload, 1)
	assert.True(t, overload[0].Overload)
}

func TestCheck(t *testing.T) {
	k := coffee()
	assert.Empty(t, Check(k))
	k.Symptoms[0].Phrases = append(k.Symptoms[0].Phrases, "the lamp stays dark", "what if it ever gets cold")
	k.Symptoms[2].Phrases = append(k.Symptoms[2].Phrases, "no water comes out", "lamp stays rather dark")
	var kinds []string
	for _, d := range Check(k) {
		assert.Equal(t, kb.Warning, d.Severity)
		assert.NotEmpty(t, d.Cure)
		kinds = append(kinds, d.Check)
	}
	assert.ElementsMatch(t, []string{"phrase-twice", "phrase-twice", "phrase-taken"}, kinds)
}

func TestGrammarIsConsistent(t *testing.T) {
	g, err := theGrammar()
	require.NoError(t, err)
	again, err := parseGrammar(grammarYAML, tongue{})
	require.NoError(t, err)
	assert.Equal(t, g.poles, again.poles, "a word stands in two pairs of opposites")
	_, err = parseGrammar([]byte("lihgt: [a]"), tongue{})
	assert.ErrorContains(t, err, "lihgt")
}
