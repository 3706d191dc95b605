package search

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

func TestGrammarsParse(t *testing.T) {
	files, err := fs.Glob(grammarFiles, "lang/*.yaml")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		code := strings.TrimSuffix(strings.TrimPrefix(f, "lang/"), ".yaml")
		g, err := grammarOf(code)
		require.NoError(t, err, f)
		assert.NotEmpty(t, g.works, f)
		assert.NotEmpty(t, g.joints, f)
	}
	_, err = grammarOf("xx")
	assert.ErrorContains(t, err, "search/lang/xx.yaml")
}

// What a language does to its negations is data of its grammar; English has none of it.
func TestNegationsOfGerman(t *testing.T) {
	x, err := New(germanKB(t))
	require.NoError(t, err)
	defer func() { require.NoError(t, x.Close()) }()
	for says, want := range map[string]string{
		"der Controller raucht zum Glück nicht":       "smoke absent",
		"der Controller raucht":                       "smoke present",
		"Motor dreht sich einfach nicht mehr":         "no-drive present",
		"der Akku ist weder aufgebläht noch verformt": "pack-swollen absent",
		"der Akku ist immer noch dick":                "pack-swollen present",
	} {
		found := x.Match(says).Symptoms
		require.Len(t, found, 1, says)
		state := "absent"
		if found[0].Present {
			state = "present"
		}
		assert.Equal(t, want, found[0].ID+" "+state, says)
	}
}

func germanKB(t *testing.T) *kb.KB {
	t.Helper()
	base, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	return base.In("de")
}
