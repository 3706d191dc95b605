package language_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/search"
)

// The sets of other languages are made like those of English, and smaller.
const minSetElsewhere = 170

// languages are those of which there is a set.
func languages(t *testing.T) []string {
	t.Helper()
	files, err := filepath.Glob("messages.*.dev.jsonl")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	var codes []string
	for _, f := range files {
		codes = append(codes, strings.Split(f, ".")[1])
	}
	return codes
}

func TestSetsOfLanguagesAreWellFormed(t *testing.T) {
	for _, code := range languages(t) {
		wellFormedMessages(t, append(load[message](t, "messages."+code+".dev.jsonl"), load[message](t, "messages."+code+".test.jsonl")...))
		wellFormedReplies(t, append(load[reply](t, "replies."+code+".dev.jsonl"), load[reply](t, "replies."+code+".test.jsonl")...))
		for _, set := range []struct{ name, prefix string }{{"messages." + code, "m"}, {"replies." + code, "r"}} {
			splitByTheRule(t, set.name, set.prefix, minSetElsewhere)
		}
	}
}

// Nothing that an owner sees may be missing in a language of the built-in
// knowledge base.
func TestLanguagesAreWhole(t *testing.T) {
	base, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	require.NotEmpty(t, base.Languages())
	for _, code := range base.Languages() {
		assert.Empty(t, base.CheckLanguage(code), code)
		assert.NotEmpty(t, base.Recognised(code), code)
	}
}

// TestScoreOfLanguages prints the table for every other language that the
// knowledge base has. TRIAGEBOT_SHOW_MISSES=es lists the misses of its dev sets.
func TestScoreOfLanguages(t *testing.T) {
	base, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found))
	for _, code := range base.Languages() {
		k := base.In(code)
		x, err := search.New(k)
		require.NoError(t, err)
		reader, err := conversation.NewReaderIn(code)
		require.NoError(t, err)
		for _, part := range []string{"dev", "test"} {
			name := code + "." + part + ".jsonl"
			m := scoreMessages(load[message](t, "messages."+name), x.Match)
			r := scoreReplies(k, load[reply](t, "replies."+name), reader)
			t.Logf("%s %s messages\n%v\n%s replies\n%v", code, part, m, part, r)
			if os.Getenv("TRIAGEBOT_SHOW_MISSES") == code && part == "dev" {
				t.Logf("%s\n%s", strings.Join(m.misses, "\n"), strings.Join(r.misses, "\n"))
			}
			if part == "dev" {
				assert.Equal(t, m.dangerous, m.dangerFound, "%s: dangers missed on the dev set", code)
			}
		}
		require.NoError(t, x.Close())
	}
}
