package search

import (
	"io/fs"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
