package checker_test

import (
	"flag"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/checker"
	"triagebot/conversation"
	"triagebot/kb"
)

var update = flag.Bool("update", false, "write expected.txt anew")

const torch = "../kb/testdata/good/lamp"

// laidOver is the torch of package kb's tests with the files of a folder added,
// or put in the place of those of the same name.
func laidOver(t *testing.T, dir string) fstest.MapFS {
	t.Helper()
	m := fstest.MapFS{}
	for _, from := range []string{torch, dir} {
		names, err := filepath.Glob(filepath.Join(from, "*.yaml"))
		require.NoError(t, err)
		for _, name := range names {
			data, err := os.ReadFile(name)
			require.NoError(t, err)
			m[filepath.Base(name)] = &fstest.MapFile{Data: data}
		}
	}
	return m
}

// run checks as the program does, with its reader of replies.
func run(t testing.TB, fsys fs.FS) []kb.Diagnostic {
	t.Helper()
	reader, err := conversation.NewReader()
	require.NoError(t, err)
	return checker.Run(fsys, func(_ string, c *kb.Check, reply string) string {
		return reader.Read(reader.QuestionFor(c, "", "", nil), reply).Choice
	})
}

func lines(found []kb.Diagnostic) string {
	var b strings.Builder
	for _, d := range found {
		b.WriteString(d.String() + "\n")
	}
	return b.String()
}

func corpus(t *testing.T, dir string, severity kb.Severity) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.NotEmpty(t, entries)
	for _, e := range entries {
		t.Run(e.Name(), func(t *testing.T) {
			folder := filepath.Join(dir, e.Name())
			m := laidOver(t, folder)
			k, loading := kb.Load(m)
			require.NotNil(t, k, "a mistake for package kb: %s", lines(loading))
			found := run(t, m)
			require.NotEmpty(t, found)
			assert.Equal(t, severity == kb.Error, kb.HasErrors(found))
			for _, d := range found {
				assert.Positive(t, d.Pos.Line, d.String())
				assert.NotEmpty(t, d.Cure, d.String())
			}
			file := filepath.Join(folder, "expected.txt")
			if *update {
				require.NoError(t, os.WriteFile(file, []byte(lines(found)), 0o644))
			}
			want, err := os.ReadFile(file)
			require.NoError(t, err, "run go test ./checker -update and read what it writes")
			assert.Equal(t, string(want), lines(found))
		})
	}
}

func TestBadFolders(t *testing.T)    { corpus(t, "testdata/bad", kb.Error) }
func TestWarnedFolders(t *testing.T) { corpus(t, "testdata/warned", kb.Warning) }

func TestGoodFoldersAreSilent(t *testing.T) {
	for _, dir := range []string{torch, "../kb/testdata/good/greenhouse"} {
		assert.Empty(t, lines(run(t, os.DirFS(dir))), dir)
	}
}

// The matcher's own findings come through; what they say is its own affair.
func TestPhrasesAreTried(t *testing.T) {
	m := laidOver(t, "testdata/warned/idle")
	m["symptoms.yaml"].Data = []byte(strings.Replace(string(m["symptoms.yaml"].Data), "no beam]", "no beam, \"?!\"]", 1))
	found := run(t, m)
	at := slices.IndexFunc(found, func(d kb.Diagnostic) bool { return d.Pos.File == "symptoms.yaml" })
	require.GreaterOrEqual(t, at, 0, lines(found))
	assert.Equal(t, kb.Pos{File: "symptoms.yaml", Line: 9, Col: 76}, found[at].Pos, found[at].String())
	assert.True(t, strings.HasPrefix(found[at].Check, "phrase"), found[at].String())
}

// What package kb finds comes through, and nothing is built on top of it.
func TestLoadingErrorsComeFirst(t *testing.T) {
	dir := "../kb/testdata/bad/unknown-remedy"
	want, err := os.ReadFile(filepath.Join(dir, "expected.txt"))
	require.NoError(t, err)
	assert.Equal(t, string(want), lines(run(t, laidOver(t, dir))))
}

func TestSameTwice(t *testing.T) {
	m := laidOver(t, "testdata/bad/limit-condition")
	first := lines(run(t, m))
	for range 5 {
		require.Equal(t, first, lines(run(t, m)))
	}
}

// Each of these differs from a broken folder by what its diagnostics ask for.
func TestCuresCure(t *testing.T) {
	for _, c := range []struct{ folder, from, to string }{
		{"not-apart", "    shows:", "    twins: [{cause: bulb-failed, parted-by: a look at the glass}]\n    shows:"},
		{"not-apart", "remedy: clean-bulb", "remedy: change-bulb"},
		{"no-symptom", "dim: 0.1", "dim: 0.6, bulb-volts: {none: 0.3}"},
		{"windows-gap", "from: 0.2", "from: 0.1"},
		{"windows-overlap", "from: 0.2", "from: 0.3"},
		{"limit-infinite", "1 / (full - full)", "1 / (full + full)"},
		{"unit", "unit: Ω", "unit: V"},
		{"../warned/phrase-taken", "hums .. stops .. hums again", "dims .. stops .. dims again"},
		{"../warned/phrase-turned", "hums .. quiet", "glows .. quiet"},
		{"answer-taken", "mud on it, clear and clean", "mud on it"},
		{"case-suspect", "suspect: bulb-failed", "suspect: battery-flat"},
	} {
		t.Run(c.folder, func(t *testing.T) {
			m := laidOver(t, filepath.Join("testdata/bad", c.folder))
			text := string(m["bad.yaml"].Data)
			require.Contains(t, text, c.from)
			m["bad.yaml"].Data = []byte(strings.ReplaceAll(text, c.from, c.to))
			for _, d := range run(t, m) {
				assert.Equal(t, kb.Warning, d.Severity, d.String())
				assert.False(t, strings.HasPrefix(d.Check, "phrase-"), d.String())
			}
		})
	}
}

func TestEmbeddedHasNoErrors(t *testing.T) {
	for _, d := range run(t, kb.Embedded()) {
		if d.Severity == kb.Error {
			t.Error(d)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	for b.Loop() {
		run(b, kb.Embedded())
	}
}
