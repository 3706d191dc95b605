package casefile_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
)

// A case that is read says all that the written one said.
func TestReadTakesInWhatWasWritten(t *testing.T) {
	files, err := filepath.Glob("testdata/golden/*.json")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, name := range files {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		c, err := casefile.Read(strings.NewReader(string(data)))
		require.NoError(t, err, name)
		md, err := os.ReadFile(strings.TrimSuffix(name, ".json") + ".md")
		require.NoError(t, err)
		assert.Equal(t, string(md), c.Markdown(), name)
	}
}

func TestReadRefusesWhatIsNoCase(t *testing.T) {
	for in, says := range map[string]string{
		"":                              "not one JSON object",
		"# a case":                      "not one JSON object",
		"[]":                            "not one JSON object",
		`{"v":1}{"v":1}`:                "not one JSON object",
		`{"v":1,"turn":3,"case":{}}`:    "turn of a talk",
		`{"v":1}`:                       "no case",
		`{"v":2,"kb":{},"kit":{}}`:      "version 2",
		`{"v":1,"kb":{},"kit":"moped"}`: "kit",
	} {
		_, err := casefile.Read(strings.NewReader(in))
		assert.ErrorContains(t, err, says, "%q", in)
	}
}
