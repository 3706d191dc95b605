package checker

import (
	"fmt"
	"slices"

	"triagebot/kb"
	"triagebot/search"
)

// words runs what needs the matcher: the phrases, and the first half of the
// cases, from words to symptoms.
func words(k *kb.KB) []kb.Diagnostic {
	x, err := search.New(k)
	if err != nil {
		return nil // search.Check says so
	}
	defer x.Close()
	return append(phrases(k, x), sayings(k, x)...)
}

func sayings(k *kb.KB, x *search.Index) []kb.Diagnostic {
	var found []kb.Diagnostic
	for _, c := range k.Cases {
		if c.Says == "" || len(c.Symptoms) == 0 {
			continue
		}
		got := map[string]bool{}
		for _, s := range x.Match(c.Says).Symptoms {
			got[s.ID] = s.Present
		}
		found = append(found, compare(k, c, got)...)
	}
	return found
}

func compare(k *kb.KB, c *kb.Case, got map[string]bool) []kb.Diagnostic {
	var found []kb.Diagnostic
	fail := func(id, want, have string) {
		pos := k.At("cases", c.Name, "symptoms", id)
		found = append(found, kb.Diagnostic{
			Pos: pos, Severity: kb.Error, Check: "case",
			Text: fmt.Sprintf("case %q: expected symptom %q to be %s, got %s", c.Name, id, want, have),
			Cure: "add a phrase that says it so, or change the case",
		})
	}
	word := map[bool]string{true: "present", false: "absent"}
	for _, id := range sortedKeys(c.Symptoms) {
		want := c.Symptoms[id]
		if have, ok := got[id]; !ok {
			fail(id, word[want], "nothing")
		} else if have != want {
			fail(id, word[want], word[have])
		}
	}
	for _, id := range sortedKeys(got) {
		if _, expected := c.Symptoms[id]; !expected && !follows(k, c.Symptoms, id, got[id]) {
			fail(id, "not spoken of", word[got[id]])
		}
	}
	return found
}

// follows says whether a symptom that was not expected follows from one that was.
func follows(k *kb.KB, expected map[string]bool, id string, present bool) bool {
	for other, there := range expected {
		if s := k.Symptom(other); there && s != nil {
			if present && slices.Contains(s.Implies, id) || !present && slices.Contains(s.Excludes, id) {
				return true
			}
		}
	}
	return false
}
