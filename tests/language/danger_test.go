package language_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/search"
)

// TestDangerOfLanguages guards what a language must never miss.
func TestDangerOfLanguages(t *testing.T) {
	base, _ := kb.Load(kb.Embedded())
	files, err := filepath.Glob("danger.*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, file := range files {
		code := strings.Split(file, ".")[1]
		x, err := search.New(base.In(code))
		require.NoError(t, err)
		data, err := os.ReadFile(file)
		require.NoError(t, err)
		alarms, harmless := 0, 0
		for line := range strings.Lines(string(data)) {
			sign, text, _ := strings.Cut(strings.TrimSpace(line), " ")
			found := len(x.Match(text).Danger) > 0
			switch sign {
			case "+":
				assert.True(t, found, "%s: danger missed: %s", code, text)
			case "-":
				harmless++
				if found {
					alarms++
					t.Logf("%s: false alarm: %s", code, text)
				}
			}
		}
		assert.LessOrEqual(t, alarms, harmless/10, code)
		require.NoError(t, x.Close())
	}
}
