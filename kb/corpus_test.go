package kb_test

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

var update = flag.Bool("update", false, "write expected.txt and kb.schema.json anew")

// laidOver is the torch of testdata/good/lamp with the files of a folder
// added, or put in the place of those of the same name.
func laidOver(t *testing.T, dir string) fs.FS {
	t.Helper()
	m := fstest.MapFS{}
	for _, from := range []string{"testdata/good/lamp", dir} {
		err := filepath.WalkDir(from, func(name string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() {
				return err
			}
			data, err := os.ReadFile(name)
			rel, _ := filepath.Rel(from, name)
			m[filepath.ToSlash(rel)] = &fstest.MapFile{Data: data}
			return err
		})
		require.NoError(t, err)
	}
	return m
}

func lines(found []kb.Diagnostic) string {
	var b strings.Builder
	for _, d := range found {
		b.WriteString(d.String() + "\n")
	}
	return b.String()
}

// expect compares with expected.txt in the folder.
func expect(t *testing.T, dir, got string) {
	t.Helper()
	file := filepath.Join(dir, "expected.txt")
	if *update {
		require.NoError(t, os.WriteFile(file, []byte(got), 0o644))
	}
	want, err := os.ReadFile(file)
	require.NoError(t, err, "run go test ./kb -update and read what it writes")
	assert.Equal(t, string(want), got)
}

func folders(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	return names
}

func TestBadFolders(t *testing.T) {
	names := folders(t, "testdata/bad")
	require.GreaterOrEqual(t, len(names), 45)
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join("testdata/bad", name)
			k, found := kb.Load(laidOver(t, dir))
			assert.Nil(t, k, "a knowledge base with errors must not be handed out")
			assert.True(t, kb.HasErrors(found), "no error found")
			everyPlaceExists(t, found)
			expect(t, dir, lines(found))
		})
	}
}

func TestWarnedFolders(t *testing.T) {
	for _, name := range folders(t, "testdata/warned") {
		t.Run(name, func(t *testing.T) {
			dir := filepath.Join("testdata/warned", name)
			k, found := kb.Load(laidOver(t, dir))
			assert.NotNil(t, k)
			assert.NotEmpty(t, found)
			assert.False(t, kb.HasErrors(found))
			everyPlaceExists(t, found)
			expect(t, dir, lines(found))
		})
	}
}

func TestGoodFoldersAreSilent(t *testing.T) {
	for _, name := range folders(t, "testdata/good") {
		t.Run(name, func(t *testing.T) {
			k, found := kb.Open(filepath.Join("testdata/good", name))
			assert.Empty(t, lines(found))
			require.NotNil(t, k)
		})
	}
}

// everyPlaceExists holds diagnostics to what an editor needs to jump there.
func everyPlaceExists(t *testing.T, found []kb.Diagnostic) {
	t.Helper()
	for _, d := range found {
		assert.NotEmpty(t, d.Pos.File, d.String())
		assert.Positive(t, d.Pos.Line, d.String())
		assert.Positive(t, d.Pos.Col, d.String())
		assert.NotEmpty(t, d.Cure, d.String())
		assert.NotEmpty(t, d.Check, d.String())
	}
}
