package casefile

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
)

// Every sentence the code names is there, and every one there is named.
func TestSentences(t *testing.T) {
	require.NotEmpty(t, sentences())
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	var code strings.Builder
	for _, f := range files {
		if !strings.HasSuffix(f, "_test.go") {
			data, err := os.ReadFile(f)
			require.NoError(t, err)
			code.Write(data)
		}
	}
	for _, m := range regexp.MustCompile(`say\("([a-z-]+)"[,)]`).FindAllStringSubmatch(code.String(), -1) {
		assert.Contains(t, sentences(), m[1])
	}
	stems := []string{"why-", "speaks-", "remedy-", "next-none-", "state-", "by-", "page-earlier-"}
	for name := range sentences() {
		used := strings.Contains(code.String(), `"`+name+`"`)
		for _, s := range stems {
			used = used || strings.HasPrefix(name, s)
		}
		assert.True(t, used, "%q is never said", name)
	}
}

func TestReasonsHaveWords(t *testing.T) {
	for _, r := range []string{
		conversation.ReasonPerson, conversation.ReasonUnexplained, conversation.ReasonOdd, conversation.ReasonNoCheck, conversation.ReasonLittleGain, conversation.ReasonMisunderstood,
		conversation.ReasonTwins, conversation.ReasonCannotMend, conversation.ReasonDanger, conversation.ReasonCured, conversation.ReasonFine, conversation.ReasonLeft, conversation.ReasonSilent,
		conversation.ReasonPersonClosed, conversation.ReasonReopened,
	} {
		assert.Contains(t, sentences(), "why-"+r)
	}
}

func TestWeightWords(t *testing.T) {
	for w, want := range map[float64]string{
		40: "speaks strongly for it", 5: "speaks for it", 1.5: "speaks a little for it", 1: "hardly speaks either way",
		0.9: "hardly speaks either way", 0.7: "speaks a little against it", 0.2: "speaks against it", 0.01: "speaks strongly against it",
	} {
		assert.Equal(t, want, weightWords(w), "%v", w)
	}
	for w, want := range map[float64]string{12.4: "12 to 1", 3.14: "3.1 to 1", 0.025: "1 to 40", 1e6: "over 1000 to 1", 1e-9: "1 to over 1000", 1: "1 to 1"} {
		assert.Equal(t, want, ratio(w), "%v", w)
	}
	for p, want := range map[float64]string{0: "below 1 %", 0.5: "50 %", 0.004: "below 1 %", 0.999: "over 99 %", 1: "over 99 %"} {
		assert.Equal(t, want, percent(p), "%v", p)
	}
}

func TestSayKeepsBracesOfOthers(t *testing.T) {
	assert.Equal(t, "{says}: {b}", say("evidence-option", "check", "{says}", "label", "{b}"))
	assert.Equal(t, "no-such-sentence", say("no-such-sentence"))
}
