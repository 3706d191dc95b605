package commonwords_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/commonwords"
)

func TestHas(t *testing.T) {
	for _, w := range []string{"back", "house", "please", "throttle", "weather"} {
		assert.True(t, commonwords.Has(w), w)
	}
	for _, w := range []string{"", "throtle", "batery", "#", "Copyright", "SCOWL"} {
		assert.False(t, commonwords.Has(w), w)
	}
}

// The matcher keeps a list of its own: what is plain English must be so to both.
func TestSameListAsTheMatcher(t *testing.T) {
	ours, err := os.ReadFile("common-words.txt")
	require.NoError(t, err)
	theirs, err := os.ReadFile("../search/common-words.txt")
	require.NoError(t, err)
	assert.Equal(t, string(theirs), string(ours))
}
