package outside_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/english"
	second "github.com/kljensen/snowball/english"
	"github.com/stretchr/testify/require"
)

var vocabulary = regexp.MustCompile(`\{"([a-z']+)", "([a-z']+)"\}`)

// TestStemsAgainstThePublishedVocabulary: the Snowball project publishes words
// of English with their stems; the module of the reply reader carries them with its tests.
// Both stemmers of this program are held against all of them.
func TestStemsAgainstThePublishedVocabulary(t *testing.T) {
	dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", "github.com/kljensen/snowball").Output()
	require.NoError(t, err)
	files, err := filepath.Glob(filepath.Join(strings.TrimSpace(string(dir)), "english_vocab", "*_test.go"))
	require.NoError(t, err)
	if len(files) == 0 {
		if os.Getenv("TRIAGEBOT_TEST_REQUIRE") == "1" {
			t.Fatal("the module github.com/kljensen/snowball is not unpacked; run go mod download")
		}
		t.Skip("the module github.com/kljensen/snowball is not unpacked; run go mod download")
	}
	source, err := os.ReadFile(files[0])
	require.NoError(t, err)
	pairs := vocabulary.FindAllStringSubmatch(string(source), -1)
	require.Greater(t, len(pairs), 25000)
	wrong, wrongSecond := 0, 0
	for _, p := range pairs {
		env := snowballstem.NewEnv(p[1])
		english.Stem(env)
		if env.Current() != p[2] {
			if wrong++; wrong <= 5 {
				t.Logf("matcher: %q gives %q, published is %q", p[1], env.Current(), p[2])
			}
		}
		if got := second.Stem(p[1], true); got != p[2] {
			if wrongSecond++; wrongSecond <= 5 {
				t.Logf("replies: %q gives %q, published is %q", p[1], got, p[2])
			}
		}
	}
	t.Logf("%d pairs; apart: matcher %d, replies %d", len(pairs), wrong, wrongSecond)
	require.LessOrEqual(t, wrong, len(pairs)/1000)
	require.Zero(t, wrongSecond)
}
