package commonwords_test

import (
	"testing"

	"github.com/stretchr/testify/assert"

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
