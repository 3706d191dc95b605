package search

import (
	"fmt"
	"slices"
	"strconv"

	"triagebot/kb"
)

// Check reads every phrase of k as if an owner had written it and warns of
// those that are understood otherwise: taken for another symptom, not
// understood, or written down twice. An error means that no index could be made.
func Check(k *kb.KB) []kb.Diagnostic {
	x, err := New(k)
	if err != nil {
		return []kb.Diagnostic{{Pos: k.At("symptoms"), Severity: kb.Error, Check: "phrase-index",
			Text: err.Error(), Cure: "mend the symptoms' phrases"}}
	}
	defer x.Close()
	// A phrase that is nearly another's must not win only by being written down.
	x.nearly = 1
	seen := map[string]listed{}
	var found []kb.Diagnostic
	for _, s := range k.Symptoms {
		found = append(found, x.checkPhrases(s, "phrases", s.Phrases, true, seen)...)
		found = append(found, x.checkPhrases(s, "absent", s.Absent, false, seen)...)
	}
	return kb.Sort(found)
}

func (x *Index) checkPhrases(s *kb.Symptom, key string, phrases []string, present bool, seen map[string]listed) []kb.Diagnostic {
	var found []kb.Diagnostic
	warn := func(nth int, check, cure, text string, args ...any) {
		found = append(found, kb.Diagnostic{Pos: x.kb.At("symptoms", s.ID, key, strconv.Itoa(nth)), Severity: kb.Warning,
			Check: check, Text: fmt.Sprintf(text, args...), Cure: cure})
	}
	for i, p := range phrases {
		plain := joinTokens(x.lex.read(p))
		where := s.ID + " " + key
		if first, ok := seen[plain]; ok {
			if first.present == present || !excludes(first.symptom, s) {
				warn(i, "phrase-twice", "take one of them out", "%q says the same words as a phrase under %s", p, first.where)
			}
			continue
		}
		seen[plain] = listed{s, present, where}
		said := x.Match(p)
		if told(said, s.ID, present) {
			continue
		}
		if told(said, s.ID, !present) {
			warn(i, "phrase-turned", "say it without a double negation, or move it to the other list",
				"%q under %s is understood as its opposite", p, where)
		} else if len(said.Symptoms) > 0 {
			other := said.Symptoms[0]
			warn(i, "phrase-taken", fmt.Sprintf("add a word that tells it from %q, or move it there", other.Phrase),
				"%q under %s is understood as %s%s", p, where, not(other.Present), other.ID)
		} else {
			warn(i, "phrase-lost", "use the words an owner would, as a statement about now",
				"%q under %s is not understood as anything", p, where)
		}
	}
	return found
}

// listed is where words were first seen. The same words may say that one
// symptom is there and that one it excludes is not.
type listed struct {
	symptom *kb.Symptom
	present bool
	where   string
}

func excludes(a, b *kb.Symptom) bool {
	return slices.Contains(a.Excludes, b.ID) || slices.Contains(b.Excludes, a.ID)
}

func not(present bool) string {
	if present {
		return ""
	}
	return "not "
}

func told(said Said, id string, present bool) bool {
	for _, s := range said.Symptoms {
		if s.ID == id && s.Present == present {
			return true
		}
	}
	return false
}
