package conversation

import (
	"slices"
	"strings"
)

// tryPair finds the two answers of a try of which one is that nothing changed; -1
// where the options are no such pair.
func (m *message) tryPair() (same, cure int) {
	same, cure = -1, -1
	if len(m.q.Options) != 2 {
		return same, cure
	}
	for i, o := range m.q.Options {
		if m.optionIs(Choice{ID: o.ID, Label: o.Label}, "unchanged") {
			same = i
		} else {
			cure = i
		}
	}
	if same < 0 || cure < 0 {
		return -1, -1
	}
	return same, cure
}

// tried reads what came of such a try: "still dead with the new one" names the part
// that the cure names, and yet is none.
func (m *message) tried() (string, bool) {
	same, cure := m.tryPair()
	if same < 0 {
		return "", false
	}
	if m.has("first-good") {
		return "", false
	}
	unchanged, cured := says(m.cues.phrases["unchanged"], m.words), says(m.cues.phrases["cured"], m.words)
	switch {
	case unchanged && !cured:
		return m.q.Options[same].ID, true
	case cured && !unchanged && m.optionIs(m.q.Options[cure], "cured"):
		return m.q.Options[cure].ID, true
	}
	return "", false
}

// byOutcome maps "still dead", "fixed it", "all good", "completely off" on the one
// option of that kind.
func (m *message) byOutcome() (string, bool) {
	if m.has("fine-none") && m.q.Kind == "look" && m.asksTrouble() {
		return m.healthy()
	}
	for _, kind := range []string{"unchanged", "cured", "fine", "dead"} {
		if !says(m.cues.phrases[kind], m.words) {
			continue
		}
		hit, n := "", 0
		if kind == "fine" {
			if id, ok := m.healthy(); ok {
				return id, true
			}
		}
		for _, o := range m.q.Options {
			if m.optionIs(o, kind) {
				hit = o.ID
				n++
			}
		}
		if n == 1 {
			return hit, true
		}
	}
	return "", false
}

// asksTrouble is true for a question that lists what can be seen, or asks for
// what is wrong: to it "none" says that all is well.
func (m *message) asksTrouble() bool {
	asked := *m
	asked.words = m.cues.askedWords(m.q.Asked)
	return asked.asksOpen() || asked.has("asks-trouble")
}

// healthy is the one option that says all is well, where "all good" can mean
// only that: of a swap it would mean that the fault is gone.
func (m *message) healthy() (string, bool) {
	if same, _ := m.tryPair(); same >= 0 {
		return "", false
	}
	at := -1
	for i, o := range m.q.Options {
		if o.Healthy && at >= 0 {
			return "", false
		}
		if o.Healthy {
			at = i
		}
	}
	if at < 0 {
		return "", false
	}
	return m.q.Options[at].ID, true
}

// deniesTroubles reads "no bent pins", "the stand is up" to a look: some trouble
// on offer is denied and none is affirmed, so what is left is that all is well.
func (m *message) deniesTroubles() (string, bool) {
	id, ok := m.healthy()
	if !ok || m.q.Kind != "look" {
		return "", false
	}
	trouble, known := map[sense]bool{}, map[string]bool{}
	for _, s := range m.offered().all {
		for _, senses := range s.means {
			for _, k := range senses {
				known[k.name] = true
				trouble[k] = trouble[k] || !m.q.Options[s.option].Healthy
			}
		}
	}
	denied := false
	for _, senses := range m.cues.meaning(m.words) {
		if isDigit(senses[0].name[0]) && !isZero(senses) { // "level 2" where 0 would be the trouble
			denied = denied || trouble[sense{name: "zero"}]
			continue
		}
		if !slices.ContainsFunc(senses, func(k sense) bool { return known[k.name] }) {
			return "", false
		}
		affirms, denies := false, false
		for _, k := range senses {
			affirms = affirms || trouble[k]
			denies = denies || trouble[sense{k.name, !k.not}]
		}
		if affirms && !denies && !m.cues.thingStems[senses[0].name] {
			return "", false
		}
		denied = denied || denies
	}
	return id, denied
}

// optionIs looks at label and id first; phrases only count where an outcome can
// be told by them alone ("all stuck" is not all fine).
func (m *message) optionIs(o Choice, kind string) bool {
	texts := []string{o.Label, strings.ReplaceAll(o.ID, "-", " ")}
	if kind != "fine" {
		texts = append(texts, o.Phrases...)
	}
	for _, s := range texts {
		w := slices.Clone(m.cues.askedWords(s))
		m.cues.deny(w)
		if says(m.cues.phrases["option-"+kind], w) {
			return true
		}
	}
	return false
}

// says reports whether a cue stands in the words and its first word is not
// denied: "nothing moves" is no cure, "not off" is not off.
func says(cues []cue, words []heardWord) bool {
	for i, w := range words {
		if w.denied {
			continue
		}
		for _, q := range cues {
			if _, ok := q.at(words, i); ok && (!q.start || i == 0) {
				return true
			}
		}
	}
	return false
}
