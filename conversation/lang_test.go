package conversation

import (
	"io/fs"
	"maps"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gopkg.in/yaml.v3"
)

func languagesHere(t *testing.T) []string {
	t.Helper()
	dirs, err := fs.ReadDir(langFiles, "lang")
	require.NoError(t, err)
	var codes []string
	for _, d := range dirs {
		codes = append(codes, d.Name())
	}
	require.NotEmpty(t, codes)
	return codes
}

var gap = regexp.MustCompile(`\{\w+\}`)

// Every sentence of English is there in every other language, with no gap that
// English does not fill.
func TestSentencesAreWhole(t *testing.T) {
	base, err := loadSentences("en")
	require.NoError(t, err)
	for _, code := range languagesHere(t) {
		text, err := langFiles.ReadFile("lang/" + code + "/sentences.yaml")
		require.NoError(t, err)
		own := sentences{}
		require.NoError(t, yaml.Unmarshal(text, &own))
		for _, name := range slices.Sorted(maps.Keys(base)) {
			if assert.Contains(t, own, name, "%s: add it to conversation/lang/%s/sentences.yaml", code, code) {
				for _, g := range gap.FindAllString(own[name], -1) {
					assert.Contains(t, base[name]+"{thing}{name}{person}{Person}", g, "%s: %s", code, name)
				}
			}
		}
		for name := range own {
			assert.Contains(t, base, name, "%s: no sentence of English has this name", code)
		}
	}
}

// The cues of every language load, and no cue stands under a name that English
// does not have: the reader would never ask for it.
func TestCuesOfLanguages(t *testing.T) {
	english, err := NewReader()
	require.NoError(t, err)
	for _, code := range languagesHere(t) {
		r, err := NewReaderIn(code)
		require.NoError(t, err)
		for name := range r.cues.phrases {
			assert.Contains(t, english.cues.phrases, name, code)
		}
		for _, s := range r.cues.states {
			assert.True(t, slices.ContainsFunc(english.cues.states, func(x stateWords) bool { return x.name == s.name }), "%s: state %s", code, s.name)
		}
	}
	_, err = NewReaderIn("xx")
	assert.ErrorContains(t, err, "language/data/xx.yaml")
}
