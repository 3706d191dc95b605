package search

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// patterned is the coffee machine with patterns beside its phrases.
func patterned(t *testing.T) *Index {
	t.Helper()
	k := coffee()
	k.Words.Kinds = map[string][]string{
		"mill":     {"grinder", "mill", "burrs"},
		"silent":   {"silent", "quiet", "mute", "stands still"},
		"turns":    {"turn", "turns", "spin", "spins", "goes round"},
		"wet":      {"<dripping>", "wet", "puddle"},
		"dripping": {"drips", "dripping"},
	}
	k.Words.Told = map[string][]string{
		"no-pump":         {"pump|spout <silent>", "button .. nothing + happens"},
		"grinder-loud":    {"<mill> ~ howls|roars", "!<turns> the <mill>"},
		"leaks":           {"floor <wet> -mop", "^dripping & kitchen"},
		"lamp-dead":       {"!lamp"},
		"after-descaling": {"took it =apart"},
		kb.OffTopicWords:  {"anyone selling"},
	}
	k.Words.Denied = map[string][]string{"lamp-dead": {"lamp|everything shines"}}
	k.Words.Figures = map[string][]string{"pump-volts": {"spout .. ^5"}}
	x, err := New(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	return x
}

func TestConcepts(t *testing.T) {
	x := patterned(t)
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"words never written together", "the spout stands still", []string{"+no-pump"}},
		{"typing slips", "the spout is silnet", []string{"+no-pump"}},
		{"the head denied", "the spout is not mute", []string{"-no-pump"}},
		{"another part is the subject", "the spout is fine, the boiler is mute", nil},
		{"over clauses", "i press the button and then nothing happens", []string{"+no-pump"}},
		{"not over a but", "the button is worn but nothing happens to me", nil},
		{"either order", "it howls, the mill", []string{"+grinder-loud"}},
		{"a kind within a kind", "floor is dripping", []string{"+leaks"}},
		{"what must not stand there", "the floor is wet from the mop", nil},
		{"anywhere near, and the head denied", "in the kitchen it is not dripping", []string{"-leaks"}},
		{"only when denied", "there is no lamp", []string{"+lamp-dead"}},
		{"the very word", "i took it apart", []string{"+after-descaling"}},
		{"a denial of its own", "everything shines", []string{"-lamp-dead"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := brief(x.Match(c.text))
			if len(c.want) == 0 {
				assert.Empty(t, got, "%+v", x.Explain(c.text))
				return
			}
			assert.Equal(t, c.want, got, "%+v", x.Explain(c.text))
		})
	}
	assert.True(t, x.Match("anyone selling a steam wand?").Offtopic)
}

func TestConceptsOfFigures(t *testing.T) {
	x := patterned(t)
	got := x.Match("at the spout i have 11.5 V")
	require.Len(t, got.Readings, 1)
	assert.Equal(t, "pump-volts", got.Readings[0].Check)
	got = x.Match("at the spout i have 11.5 Ω")
	require.Len(t, got.Readings, 1)
	assert.Empty(t, got.Readings[0].Check, "the unit does not fit the check")
}

func TestBadPatterns(t *testing.T) {
	for pattern, want := range map[string]string{
		"lamp !":     "has a sign with nothing behind it",
		"-lamp":      "has no word that must stand there",
		"lamp ^ out": "has a sign with nothing behind it",
	} {
		k := coffee()
		k.Words.Told = map[string][]string{"lamp-dead": {pattern}}
		_, err := New(k)
		assert.ErrorContains(t, err, want, pattern)
	}
	k := coffee()
	k.Words.Kinds = map[string][]string{"a": {"<b>", "glimmers"}, "b": {"<a>"}}
	k.Words.Told = map[string][]string{"lamp-dead": {"lamp <a>"}, "not-there": {"lamp"}}
	x, err := New(k)
	require.NoError(t, err, "kinds in a circle, and a symptom that is not there")
	defer x.Close()
	assert.Equal(t, []string{"+lamp-dead"}, brief(x.Match("lamp glimmers")))
}

// What is asked and answered, mended long ago, or said of what ran into ours.
func TestToldInPassing(t *testing.T) {
	x := small(t)
	for text, want := range map[string][]string{
		"smoke? no":                        {"-smoke"},
		"is it bad if it leaks? mine does": {"+leaks"},
		"last year there was smoke from the boiler, that was repaired. now the lamp is out": {"+lamp-dead"},
	} {
		assert.ElementsMatch(t, want, brief(x.Match(text)), "%q: %+v", text, x.Explain(text))
	}
}
