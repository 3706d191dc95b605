package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRehearse(t *testing.T) {
	few := []string{"rehearse", "--kit", "sorrel-60", "--cause", "stand-down,tyre-low", "--seeds", "1"}
	page := filepath.Join(t.TempDir(), "page.html")
	r := do(t, "", append(few, "--json", "--html", page)...)
	require.Equal(t, exitFine, r.code, r.err)
	list := objects(t, r.out)
	require.Len(t, list, 1)
	assert.Len(t, list[0]["talks"], 2)
	for _, key := range []string{"kb", "total", "sorts", "kits", "causes", "manners", "reasons"} {
		assert.Contains(t, list[0], key)
	}
	html, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Contains(t, string(html), "stand-down")
	assert.Equal(t, r.out, do(t, "", append(few, "--json")...).out, "the same seed gives the same report")

	r = do(t, "", few...)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "by cause, worst first")

	r = do(t, "", append(few, "--talk")...)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "\n> ")
	assert.Contains(t, r.out, "outcome: ")
}

func TestRehearseCompare(t *testing.T) {
	few := []string{"rehearse", "--kit", "sorrel-60", "--cause", "tyre-low", "--seeds", "2"}
	r := do(t, "", append(few, "--compare", filepath.Join("..", "..", "kb", "data"))...)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "the same owners come to the same ends")
}

func TestRehearseRefuses(t *testing.T) {
	for _, c := range []struct {
		args []string
		says string
	}{
		{[]string{"--kit", "gorse"}, `no bike of kit "gorse"`},
		{[]string{"--cause", "rust"}, `can have the cause "rust"`},
		{[]string{"--seeds", "0"}, "at least one owner"},
		{[]string{"--talk", "--json"}, "--talk prints talks"},
		{[]string{"--talk"}, "too many to print"},
		{[]string{"--kb", filepath.Join("..", "..", "kb", "testdata", "good", "greenhouse")}, "the bench has no bike"},
	} {
		r := do(t, "", append([]string{"rehearse"}, c.args...)...)
		assert.Equal(t, exitUsage, r.code, "%v", c.args)
		assert.Contains(t, r.err, c.says)
	}
}
