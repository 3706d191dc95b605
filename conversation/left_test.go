package conversation

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/kb"
	"triagebot/rules"
)

// A hand-over names the suspects that are nearly as likely as the first, three
// at most, and one remedy once.
func TestLeftWords(t *testing.T) {
	of := func(name, remedy string, p float64) rules.Suspect {
		return rules.Suspect{Causes: []*kb.Cause{{ID: name, Name: name, Remedy: remedy}}, Probability: p}
	}
	for want, list := range map[string][]rules.Suspect{
		"":            nil,
		"a":           {of("a", "1", 0.6), of("b", "2", 0.2)},
		"a or b":      {of("a", "1", 0.4), of("b", "2", 0.3), of("c", "3", 0.12)},
		"a or c":      {of("a", "1", 0.4), of("b", "1", 0.3), of("c", "3", 0.2)},
		"a or b or c": {of("a", "1", 0.25), of("b", "2", 0.24), of("c", "3", 0.23), of("d", "4", 0.22)},
	} {
		assert.Equal(t, want, leftWords(list))
	}
	assert.Empty(t, leftWords([]rules.Suspect{of("a", "1", 0.12)}), "too weak to be worth a word")
}
