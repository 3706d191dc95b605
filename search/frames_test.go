package search

import (
	"flag"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/kb"
)

var listLost = flag.Bool("lost", false, "list the phrases that go astray")

// frames put a phrase into a longer message: owners greet, say since when, and
// use words that no phrase has.
var frames = map[string]func(string) string{
	"a word before":    func(p string) string { return "zq " + p },
	"a word behind":    func(p string) string { return p + " zq" },
	"a word each side": func(p string) string { return "zq " + p + " zq" },
	"since when":       func(p string) string { return p + " since yesterday" },
	"a greeting":       func(p string) string { return "hi all, " + p },
}

// fate is what became of a phrase of which the symptom is known.
type fate int

const (
	found  fate = iota
	lost        // nothing was understood
	taken       // another symptom was, and not its own
	turned      // the opposite was
)

// fateOf says what became of a phrase of s.
func fateOf(k *kb.KB, said Said, s *kb.Symptom, present bool) fate {
	out := lost
	for _, y := range said.Symptoms {
		switch {
		case y.ID == s.ID && y.Present == present:
			return found
		case y.ID == s.ID:
			out = turned
		case y.Present && !present && slices.Contains(s.Excludes, y.ID), y.Present && present && slices.Contains(k.Symptom(y.ID).Implies, s.ID):
			return found
		case y.Present && out == lost:
			out = taken
		}
	}
	return out
}

// TestFrames counts the phrases that go astray in a longer message. One of
// danger never may.
func TestFrames(t *testing.T) {
	k, x := embedded(t)
	for name, frame := range frames {
		var fates [4]int
		all := 0
		try := func(s *kb.Symptom, phrases []string, present bool) {
			for _, p := range phrases {
				all++
				f := fateOf(k, x.Match(frame(p)), s, present)
				fates[f]++
				if f != found && *listLost {
					t.Logf("%s: %s: %q %v -> %v", name, s.ID, frame(p), [...]string{"found", "lost", "taken", "turned"}[f], x.Match(frame(p)).Symptoms)
				}
				assert.False(t, f != found && s.Danger != "", "danger: %s: %q", s.ID, frame(p))
			}
		}
		for _, s := range k.Symptoms {
			try(s, s.Phrases, true)
			try(s, s.Absent, false)
		}
		t.Logf("%s: of %d phrases %d lost, %d taken, %d turned", name, all, fates[lost], fates[taken], fates[turned])
		assert.Less(t, fates[lost]*100, all, name)
		assert.Zero(t, fates[taken]+fates[turned], name)
	}
}

// TestLeaveOneOut reads each phrase without having it: how unseen wordings fare.
// Patterns have been written with these phrases in view, so the figure flatters
// what is really unseen. It leaves the weights of the words as they are, to which one phrase adds little.
func TestLeaveOneOut(t *testing.T) {
	k, x := embedded(t)
	var fates [4]int
	all := 0
	for pi := range x.phrases {
		p := &x.phrases[pi]
		if p.symptom < 0 || p.keyword || len(p.terms) == 0 || p.terms[0].weight == 0 {
			continue
		}
		all++
		s := x.symptoms[p.symptom]
		said, _, _ := x.match(p.text, pi)
		f := fateOf(k, said, s, !p.absent)
		fates[f]++
		if f != found && *listLost {
			t.Logf("%s %v: %q -> %v", s.ID, !p.absent, p.text, said.Symptoms)
		}
	}
	t.Logf("of %d phrases %d found, %d lost, %d taken, %d turned", all, fates[found], fates[lost], fates[taken], fates[turned])
	assert.GreaterOrEqual(t, float64(fates[found])/float64(all), 0.92)
}
