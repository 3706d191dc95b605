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

func TestFilesOfAWholeKit(t *testing.T) {
	t.Parallel()
	k := embedded(t)
	kit := k.Kit("sorrel-60")
	pictures, err := picture.All(k, kit)
	require.NoError(t, err)
	drawn := 1 // the line
	for _, c := range k.Checks {
		if picture.Drawable(kit, c) {
			drawn++
		}
	}
	assert.Len(t, pictures, drawn)
	dir := t.TempDir()
	names := map[string]bool{}
	for _, p := range pictures {
		assert.False(t, names[p.Name()], p.Name())
		names[p.Name()] = true
		for _, form := range picture.Forms() {
			name := filepath.Join(dir, p.Name()+form.Ending())
			require.NoError(t, p.WriteFile(name, form))
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			switch filepath.Ext(name) {
			case ".svg":
				assert.True(t, bytes.HasPrefix(data, []byte("<svg ")))
			case ".txt":
				assert.Equal(t, strings.Join(p.Text(), "\n")+"\n", string(data))
			case ".png":
				size, err := png.DecodeConfig(bytes.NewReader(data))
				require.NoError(t, err)
				assert.Equal(t, 360*picture.FileScale, size.Width)
			}
		}
	}
}

func TestWriteFileSaysWhatFailed(t *testing.T) {
	k := embedded(t)
	p, err := picture.Line(k, k.Kit("sorrel-60"))
	require.NoError(t, err)
	assert.ErrorContains(t, p.WriteFile(t.TempDir(), picture.SVG), "sorrel-60-line")
	name := filepath.Join(t.TempDir(), "line.gif")
	assert.ErrorContains(t, p.WriteFile(name, "gif"), `"gif"`)
	assert.NoFileExists(t, name)
	_, err = picture.All(k, nil)
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
	asked, begun := map[string]bool{}, []string{}
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
