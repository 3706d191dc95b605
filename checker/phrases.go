package checker

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/search"
)

// phrases reads every phrase as an owner's message, by the very matcher that a
// talk uses: as the whole of one, and with a strange word behind it, because
// owners seldom say just what is written here. What goes to another symptom, or
// is turned into its opposite, leads owners astray; said word for word that is
// an error, in a longer message a warning.
func phrases(k *kb.KB, x *search.Index) []kb.Diagnostic {
	var found []kb.Diagnostic
	for _, s := range k.Symptoms {
		for i, text := range s.Phrases {
			found = append(found, phrase{k, x, s, "phrases", i, text, true}.judge()...)
		}
		for i, text := range s.Absent {
			found = append(found, phrase{k, x, s, "absent", i, text, false}.judge()...)
		}
	}
	return found
}

// phrase is one way of saying a symptom, or that it is not so.
type phrase struct {
	*kb.KB
	x       *search.Index
	symptom *kb.Symptom
	key     string
	nth     int
	text    string
	present bool
}

// strange is a word that no language has.
const strange = " zq"

func (p phrase) judge() []kb.Diagnostic {
	if found := p.judgeAs(p.text, kb.Error); found != nil {
		return found
	}
	return p.judgeAs(p.text+strange, kb.Warning)
}

func (p phrase) judgeAs(message string, severity kb.Severity) []kb.Diagnostic {
	said := p.x.Match(message)
	if slices.ContainsFunc(said.Symptoms, p.told) {
		return nil
	}
	what := fmt.Sprintf("phrase %q of symptom %q", p.text, p.symptom.ID)
	if !p.present {
		what = fmt.Sprintf("phrase %q under absent of symptom %q", p.text, p.symptom.ID)
	}
	if message != p.text {
		what += ", in a longer message,"
	}
	if i := slices.IndexFunc(said.Symptoms, func(y search.Symptom) bool { return y.ID == p.symptom.ID }); i >= 0 {
		return p.found(severity, "phrase-turned", "say it without a double negation, or move it to the other list",
			what+" is understood as its opposite, "+p.reason(said.Symptoms[i], message))
	}
	for _, y := range said.Symptoms {
		if y.Present {
			return p.found(severity, "phrase-taken", fmt.Sprintf("add a word that tells it from that, move it to %q, or narrow what took it", y.ID),
				fmt.Sprintf("%s goes to symptom %q, %s%s", what, y.ID, p.reason(y, message), p.own(message)))
		}
	}
	if message != p.text {
		return nil // a small knowledge base knows too few words to be sure of more
	}
	return p.found(kb.Warning, "phrase-lost", "use the words an owner would, as a statement about now", what+" is not understood as it"+p.own(message))
}

// told says whether a symptom that was heard is the phrase's own, or brings it along.
func (p phrase) told(y search.Symptom) bool {
	if y.ID == p.symptom.ID {
		return y.Present == p.present
	}
	s := p.Symptom(y.ID)
	if p.present {
		return y.Present && slices.Contains(s.Implies, p.symptom.ID)
	}
	return y.Present && slices.Contains(s.Excludes, p.symptom.ID)
}

func (p phrase) found(severity kb.Severity, check, cure, text string) []kb.Diagnostic {
	return []kb.Diagnostic{{
		Pos: p.At("symptoms", p.symptom.ID, p.key, strconv.Itoa(p.nth)), Severity: severity, Check: check, Text: text, Cure: cure,
	}}
}

// reason says by what a symptom was heard, and where that stands.
func (p phrase) reason(y search.Symptom, message string) string {
	s := p.Symptom(y.ID)
	key, list, section := "phrases", s.Phrases, "told"
	if !y.Present {
		key, list, section = "absent", s.Absent, "denied"
	}
	kind, at := "pattern", p.At("words", section, y.ID, y.Phrase)
	if slices.Contains(list, y.Phrase) {
		kind, at = "phrase", p.At("symptoms", y.ID, key, y.Phrase)
	}
	text := fmt.Sprintf("by the %s %q at %s", kind, y.Phrase, at)
	for _, r := range p.x.Explain(message) {
		if r.Symptom == y.ID && r.Present == y.Present && r.Against == "" && len(r.Words) > 0 {
			return text + fmt.Sprintf(", which finds %q (%.2f)", strings.Join(r.Words, " "), r.Score)
		}
	}
	return text
}

// own says what became of the symptom that the phrase should tell of.
func (p phrase) own(message string) string {
	for _, r := range p.x.Explain(message) {
		if r.Symptom == p.symptom.ID && r.Present == p.present && r.Against != "" {
			return fmt.Sprintf("; its own symptom gets %.2f and does not count: %s", r.Score, r.Against)
		}
	}
	return ""
}
