package search

import (
	"cmp"
	"slices"
	"strings"
)

// Reason is one line of why a message was understood as it was.
type Reason struct {
	Symptom string // id, "off topic", or check=option of what is seen
	Present bool
	Score   float64
	Phrase  string   // the phrase it was laid against
	Words   []string // the words of the message that fitted
	Clause  string   // the clause
	Against string   // why it does not count, "" when it does
}

// Explain says which phrases were found in a message, how well they fitted and
// why some of them do not count; the surest first.
func (x *Index) Explain(message string) []Reason {
	t := x.lex.read(message)
	_, found, seen := x.match(message, -1)
	var out []Reason
	for i := range found {
		f := &found[i]
		if f.conf < 0.05 {
			continue
		}
		r := Reason{Symptom: "off topic", Present: f.present, Score: round(f.conf), Phrase: x.phrases[f.phrase].text, Against: f.why}
		if f.symptom != offTopic {
			r.Symptom = x.symptoms[f.symptom].ID
		}
		r.quote(t, f.found, f.clause)
		out = append(out, r)
	}
	for i := range seen {
		s := &seen[i]
		of := &x.concepts.sights[s.sight]
		r := Reason{Symptom: of.check + "=" + of.option, Present: true, Score: round(s.conf), Phrase: of.text, Against: s.why}
		r.quote(t, s.found, s.first)
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Reason) int { return cmp.Compare(b.Score, a.Score) })
	return out
}

// quote notes the words that fitted and their clause.
func (r *Reason) quote(t *text, found []hit, k int) {
	for _, h := range found {
		r.Words = append(r.Words, t.tokens[h.token].text)
	}
	c := t.clauses[k]
	var words []string
	for j := c.from; j < c.to; j++ {
		words = append(words, t.tokens[j].text)
	}
	r.Clause = strings.Join(words, " ")
}
