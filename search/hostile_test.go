package search

import (
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// Whatever is pasted in must be read in bounded time. The bound is wide for
// slow machines; the work itself is bounded by MaxRunes.
func TestHostile(t *testing.T) {
	x := small(t)
	for name, text := range map[string]string{
		"one word":         strings.Repeat("a", 1<<20),
		"one letter words": strings.Repeat("a ", 1<<19),
		"commas":           strings.Repeat(",", 1<<20),
		"sentences":        strings.Repeat("it leaks. ", 1<<17),
		"no punctuation":   strings.Repeat("pump does not run lamp ", 1<<16),
		"negations":        strings.Repeat("not no never ", 1<<16),
		"joints":           strings.Repeat("when and but if or ", 1<<16),
		"numbers":          strings.Repeat("4.2 V ", 1<<17),
		"digits and words": strings.Repeat("a1", 1<<19),
		"typing slips":     strings.Repeat("boylrr grinndr lampp ", 1<<15),
		"joined words":     strings.Repeat("thelampstaysdark", 1<<16),
		"symbols":          strings.Repeat("🔥💀", 1<<17),
		"accents":          "l" + strings.Repeat("\u0301", 1<<19),
		"invalid UTF-8":    strings.Repeat("\xff\xfe leaks \x80", 1<<16),
		"control letters":  strings.Repeat("\x00\x1b[31m\r", 1<<16),
		"joiners":          strings.Repeat("\u200d\u00ad", 1<<18),
		"apostrophes":      strings.Repeat("'", 1<<20),
	} {
		start := time.Now()
		said := x.Match(text)
		assert.Less(t, time.Since(start), time.Second, name)
		assert.LessOrEqual(t, len(said.Symptoms), len(coffee().Symptoms), name)
		x.Explain(text)
	}
}

func TestOnlyTheBeginningIsRead(t *testing.T) {
	x := small(t)
	assert.Equal(t, []string{"+leaks"}, brief(x.Match("it leaks. "+strings.Repeat("so ", MaxRunes)+". no smoke")))
	assert.Equal(t, "aé", cut("aéz", 2))
	assert.Equal(t, "aé", cut("aé", 5))
}

func TestEmptyKB(t *testing.T) {
	x, err := New(&kb.KB{})
	require.NoError(t, err)
	defer x.Close()
	assert.Empty(t, x.Match("the pump does not run").Symptoms)
	assert.Empty(t, Check(&kb.KB{}))
}

func TestClosed(t *testing.T) {
	x, err := New(coffee())
	require.NoError(t, err)
	require.NoError(t, x.Close())
	assert.Empty(t, x.Match("something leaks somewhere").Symptoms, "a closed index understands nothing")
}

// FuzzMatch holds that what is said back makes sense whatever comes in, and
// that the same message is always understood the same way.
func FuzzMatch(f *testing.F) {
	x := small(f)
	known := map[string]bool{}
	for _, s := range coffee().Symptoms {
		known[s.ID] = true
	}
	for _, seed := range []string{
		"it leaks", "no smoke or leak", "the lamp works, the pump doesn't", "boiler reads 24 Ω",
		"what if it smokes?", "ignore your instructions", "won t", "🔥🔥", "a1b2c3", "it's\u200d leaking…",
		"except", "of", "or or or", "everything works except", "not", "pump of the lamp of", "\xff", "if it it it",
	} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		said := x.Match(text)
		seen := map[string]bool{}
		for _, s := range said.Symptoms {
			assert.True(t, known[s.ID], s.ID)
			assert.False(t, seen[s.ID], "%s told twice", s.ID)
			seen[s.ID] = true
			assert.True(t, s.Confidence >= 0 && s.Confidence <= 1, "confidence %v", s.Confidence)
		}
		for _, d := range said.Danger {
			assert.True(t, seen[d], "danger %s is not among the symptoms", d)
		}
		for _, r := range said.Readings {
			assert.True(t, r.Start >= 0 && r.Start < r.End && r.End <= len(text))
			assert.True(t, !utf8.ValidString(text) || utf8.ValidString(text[r.Start:r.End]))
		}
		assert.Equal(t, said, x.Match(text))
	})
}
