package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// From invented cases to learned priors and back, on the command line.
func TestDemoIsMinedAndLearnedFrom(t *testing.T) {
	dir := t.TempDir()
	at := filepath.Join(dir, "demo.db")
	fine := func(args ...string) string {
		t.Helper()
		r := do(t, "", args...)
		require.Equal(t, exitFine, r.code, "%v: %s", args, r.err)
		return r.out
	}
	out := fine("demo", "--store", at, "--weeks", "2", "--end", "2026-03-01")
	assert.Contains(t, out, "DEMO:")
	assert.Contains(t, out, "bad batch")
	again := do(t, "", "demo", "--store", at, "--weeks", "2")
	assert.Equal(t, exitFound, again.code)
	assert.Contains(t, again.err, "needs a file of its own")

	mined := objects(t, fine("mine", "--store", at, "--json"))[0]
	assert.Equal(t, true, mined["demo"])
	assert.Greater(t, mined["cases"], 10.0)
	assert.Contains(t, fine("mine", "--store", at, "--kit", "sorrel-60"), "DEMO: these cases are invented.")
	assert.Equal(t, exitUsage, do(t, "", "mine", "--store", at, "cases.jsonl").code)

	assert.Equal(t, exitFound, do(t, "", "learn", "show", "--store", at).code, "there is none yet")
	out = fine("learn", "propose", "--store", at, "--by", "anna", "--strength", "100")
	assert.Contains(t, out, "DEMO: learned from invented cases.")
	assert.Contains(t, out, "Version 1, not in force")
	assert.Contains(t, out, "before")
	assert.Equal(t, out, fine("learn", "show", "1", "--store", at))

	file := filepath.Join(dir, "priors.yaml")
	fine("learn", "write", "1", file, "--store", at)
	data, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Contains(t, string(data), "demo: true")
	changes := fine("rehearse", "--priors", file, "--kit", "sorrel-60", "--cause", "breaker-off", "--seeds", "1")
	assert.NotContains(t, changes, "judged", "what changed is told, not the whole report")
	assert.Contains(t, do(t, "zz\n", "chat", "--jsonl", "--priors", filepath.Join(dir, "none")).err, "learned priors")

	out = fine("learn", "rehearse", "1", "--store", at, "--kit", "sorrel-60", "--cause", "breaker-off")
	assert.Contains(t, out, "Version 1: 1 talks")
	out = fine("learn", "switch-on", "1", "--store", at, "--by", "anna")
	assert.Contains(t, out, "in force from the next start on")
	assert.NotContains(t, out, "not rehearsed")
	assert.Contains(t, fine("learn", "show", "--store", at), "Version 1, in force")
	fine("learn", "switch-off", "--store", at, "--by", "bo")
	history := fine("learn", "history", "--store", at)
	assert.Less(t, strings.Index(history, "as written"), strings.LastIndex(history, "version 1"), "the latest first: %s", history)
	for _, bad := range [][]string{{"learn", "switch-on", "7"}, {"learn", "switch-on", "x"}, {"learn", "switch-on"}, {"learn", "propose", "--strength", "0"}} {
		assert.NotEqual(t, exitFine, do(t, "", append(bad, "--store", at)...).code, "%v", bad)
	}
}
