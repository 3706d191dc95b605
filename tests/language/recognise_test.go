package language_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/kb"
	"triagebot/language"
)

// A first message is read in its own language. What is not recognised is read
// as English, which costs a question; English taken for another language would
// cost an English owner every word.
func TestFirstWordsTellTheLanguage(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	own := func(code, word string) bool {
		return slices.ContainsFunc(k.Recognised(code), func(w string) bool { return language.Plain(w) == word })
	}
	for _, set := range []struct{ code, infix string }{{"en", ""}, {"es", "es."}, {"de", "de."}} {
		for _, part := range []string{"dev", "test"} {
			right, all := 0, 0
			for _, m := range load[message](t, "messages."+set.infix+part+".jsonl") {
				got := language.Recognise(m.Text, "", true, own)
				if got == "" {
					got = "en"
				}
				all++
				if got == set.code {
					right++
				} else if part == "dev" {
					t.Logf("%s taken as %s: %q", set.code, got, m.Text)
				}
			}
			t.Logf("%s %s: %d of %d", set.code, part, right, all)
			if set.code == "en" {
				assert.GreaterOrEqual(t, float64(right), 0.995*float64(all), "%s %s", set.code, part)
			} else {
				assert.GreaterOrEqual(t, float64(right), 0.9*float64(all), "%s %s", set.code, part)
			}
		}
	}
}
