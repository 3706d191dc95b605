package checker

import (
	"fmt"
	"runtime"
	"slices"
	"sync"

	"triagebot/kb"
	"triagebot/search"
)

// phrase is one way of saying that a symptom is there, or is not.
type phrase struct {
	symptom *kb.Symptom
	key     string // phrases or absent
	text    string
}

// phrases reports phrases that are understood as something else than the
// symptom they stand under.
func phrases(k *kb.KB, x *search.Index) []kb.Diagnostic {
	var all []phrase
	for _, s := range k.Symptoms {
		for _, p := range s.Phrases {
			all = append(all, phrase{s, "phrases", p})
		}
		for _, p := range s.Absent {
			all = append(all, phrase{s, "absent", p})
		}
	}
	said := matchAll(x, all)
	var found []kb.Diagnostic
	for i, p := range all {
		if d := p.fault(said[i]); d.Text != "" {
			d.Pos, d.Check = k.At("symptoms", p.symptom.ID, p.key, p.text), "phrase"
			found = append(found, d)
		}
	}
	return found
}

// matchAll matches on all cores; the order of the results is that of the phrases.
func matchAll(x *search.Index, all []phrase) []search.Said {
	said := make([]search.Said, len(all))
	workers := runtime.GOMAXPROCS(0)
	var wait sync.WaitGroup
	for w := range workers {
		wait.Add(1)
		go func() {
			defer wait.Done()
			for i := w; i < len(all); i += workers {
				said[i] = x.Match(all[i].text)
			}
		}()
	}
	wait.Wait()
	return said
}

// fault says what a phrase was understood as instead. To be misunderstood is
// worse than not to be understood, which leads to a question.
func (p phrase) fault(said search.Said) kb.Diagnostic {
	present := p.key == "phrases"
	what := fmt.Sprintf("phrase %q of symptom %q", p.text, p.symptom.ID)
	if !present {
		what = fmt.Sprintf("absent phrase %q of symptom %q", p.text, p.symptom.ID)
	}
	const cure = "say more in it, or take it away"
	fault := func(severity kb.Severity, cure, text string) kb.Diagnostic {
		return kb.Diagnostic{Severity: severity, Text: what + " " + text, Cure: cure}
	}
	var others []string
	for _, s := range said.Symptoms {
		switch {
		case s.ID == p.symptom.ID && s.Present == present:
			return kb.Diagnostic{}
		case s.ID == p.symptom.ID && s.Present:
			return fault(kb.Error, cure, "is understood as its presence")
		case s.ID == p.symptom.ID:
			return fault(kb.Error, cure, "is understood as its absence")
		}
		others = append(others, s.ID)
	}
	switch {
	case len(others) > 0:
		return fault(kb.Error, "say more in it, or move it there", "is understood as "+quoted(others))
	case slices.Contains(said.Unclear, p.symptom.ID):
		return fault(kb.Warning, cure, "may mean as well "+quoted(without(said.Unclear, p.symptom.ID)))
	}
	return fault(kb.Warning, cure, "is not understood")
}

func without(ids []string, id string) []string {
	return slices.DeleteFunc(slices.Clone(ids), func(s string) bool { return s == id })
}

// sayings runs the first half of the cases: from words to symptoms.
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
