package picture_test

import (
	"bytes"
	"image/png"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/picture"
)

func TestWriteAll(t *testing.T) {
	t.Parallel()
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	dir := filepath.Join(t.TempDir(), "new", "folder")
	names, err := picture.WriteAll(dir, k, kit)
	require.NoError(t, err)
	pictures := 1 // the line
	for _, c := range k.Checks {
		if picture.Drawable(kit, c) {
			pictures++
		}
	}
	assert.Len(t, names, 3*pictures)
	for _, name := range names {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		switch filepath.Ext(name) {
		case ".svg":
			assert.True(t, bytes.HasPrefix(data, []byte("<svg ")))
		case ".txt":
			assert.NotEmpty(t, data)
		case ".png":
			size, err := png.DecodeConfig(bytes.NewReader(data))
			require.NoError(t, err)
			assert.Equal(t, 360*picture.FileScale, size.Width)
		}
	}
}

func TestWriteAllSaysWhatFailed(t *testing.T) {
	t.Parallel()
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	file := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(file, nil, 0o600))
	_, err := picture.WriteAll(file, k, kit)
	assert.ErrorContains(t, err, `"sorrel-60"`)
	taken := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(taken, "sorrel-60-line.svg"), 0o755))
	_, err = picture.WriteAll(taken, k, kit)
	assert.ErrorContains(t, err, "sorrel-60-line")
	_, err = picture.WriteAll(taken, k, nil)
	assert.Error(t, err)
}

// Every sentence that is asked for is there, and every one there is asked for.
func TestSentences(t *testing.T) {
	sentences := picture.SentencesOf()
	require.NotEmpty(t, sentences)
	files, err := filepath.Glob("*.go")
	require.NoError(t, err)
	var source strings.Builder
	for _, f := range files {
		if !strings.HasSuffix(f, "_test.go") {
			data, err := os.ReadFile(f)
			require.NoError(t, err)
			source.Write(data)
		}
	}
	asked, begun := map[string]bool{"red": true, "black": true}, []string{}
	for _, m := range regexp.MustCompile(`say\("([a-z0-9-]+)"( \+)?`).FindAllStringSubmatch(source.String(), -1) {
		if m[2] != "" || strings.HasSuffix(m[1], "-") {
			begun = append(begun, m[1])
			continue
		}
		asked[m[1]] = true
		assert.Contains(t, sentences, m[1])
	}
	for name := range sentences {
		ok := asked[name]
		for _, b := range begun {
			ok = ok || strings.HasPrefix(name, b)
		}
		assert.True(t, ok, "%q is never said", name)
	}
}
