package checker

import (
	"fmt"
	"slices"
	"strconv"

	"triagebot/kb"
)

// Chooses says which option of a check an owner's reply to it chooses, by its
// id, or "", in a language by its code. It keeps the reading of replies, which is part of a talk, out of
// this package.
type Chooses func(language string, check *kb.Check, reply string) string

// together says whether some kit is offered both options.
func together(k *kb.KB, a, b kb.Option) bool {
	return slices.ContainsFunc(k.Kits, func(kit *kb.Kit) bool { return kit.Has(a.Parts) && kit.Has(b.Parts) })
}

// answers reads the label and every phrase of every option as the reply to its
// check. Phrases that go to another option are errors: the answer would count
// for something else than the owner said.
func answers(k *kb.KB, chooses Chooses) []kb.Diagnostic {
	var found []kb.Diagnostic
	for _, c := range k.Checks {
		for _, o := range c.Options {
			try := func(what, text string, path ...string) {
				got := chooses(k.Language, c, text)
				if got == o.ID || got != "" && !together(k, o, *c.Option(got)) {
					return
				}
				d := kb.Diagnostic{
					Pos:  k.At(append([]string{"checks", c.ID, "options", o.ID}, path...)...),
					Text: fmt.Sprintf("%s %q of option %q of check %q ", what, text, o.ID, c.ID),
				}
				if got != "" {
					d.Severity, d.Check, d.Cure = kb.Error, "answer-taken", "say in it what the other one does not say, or change a phrase of the other"
					d.Text += fmt.Sprintf("is read as the answer %q", got)
				} else {
					d.Severity, d.Check, d.Cure = kb.Warning, "answer-lost", "use the words an owner would answer with, and what tells this option from the others"
					d.Text += "is not read as an answer to it"
				}
				found = append(found, d)
			}
			try("label", o.Label, "label")
			for nth, text := range o.Phrases {
				try("phrase", text, "phrases", strconv.Itoa(nth))
			}
		}
	}
	return found
}
