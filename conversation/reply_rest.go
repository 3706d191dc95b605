package conversation

import (
	"slices"
	"strings"
)

// leads is the index of the first word behind what announces a correction, or
// asks to go back: "no wait, the key was off" is announced by two words.
func (m *message) leads() int {
	i := 0
	for i < len(m.words) {
		next := i
		for _, q := range m.cues.phrases["back-lead"] {
			if n, ok := q.at(m.words, i); ok && n > next && (!q.start || i == 0) {
				next = n
			}
		}
		if next == i {
			break
		}
		i = next
	}
	return i
}

// rest is the message without what announces the correction; "" when nothing
// that tells is left.
func (m *message) rest() string {
	from := m.leads()
	if !slices.ContainsFunc(m.words[from:], func(w heardWord) bool { return !m.cues.idle[w.text] && !m.cues.courtesy[w.text] }) {
		return ""
	}
	return strings.TrimSpace(m.text[m.words[from].start:])
}

// corrects reads an answer that takes the place of an earlier one. "Go back"
// names no option, whatever else its words can mean.
func (m *message) corrects(values []Value) Reply {
	r := m.reading(Reply{Intent: IntentBack, Confidence: 0.9}, m.corrected(values))
	part := *m
	part.words = m.words[m.leads():]
	if len(values) > 0 || m.rest() == "" {
		return r
	}
	if c, ok := part.chosen(); ok && c.Intent == IntentChoice {
		r.Choice = c.Choice
	}
	return r
}

// contradicts reads a bare figure behind a "no" or "wait": no question for a
// figure is answered by no, so it goes against a figure that was given.
func (m *message) contradicts(values []Value) (Reply, bool) {
	if len(values) != 1 || !m.has("back-figure") {
		return Reply{}, false
	}
	if i, n, ok := findCue(m.cues.phrases["sorry-figure"], m.words); ok && m.words[i].clause == m.words[n-1].clause {
		return Reply{}, false // "sorry 4.98" is sorry for the wait; "sorry, 4.98" takes something back
	}
	return m.reading(Reply{Intent: IntentBack, Confidence: 0.75}, values), true
}

// afterAll reads "oh wait, the key is off" as the answer on offer that its rest
// says.
func (m *message) afterAll() (Reply, bool) {
	if len(m.q.Options) == 0 || m.mark || !m.has("turns") || m.leads() == len(m.words) {
		return Reply{}, false
	}
	part := *m
	part.words = m.words[m.leads():]
	return part.surely()
}

// takesBack reads "wait, the stand was down" of a thing that was not asked about now:
// it goes against something that was answered before.
func (m *message) takesBack() (Reply, bool) {
	if m.mark || m.has("how") || m.has("why") || !m.has("turns") || !m.has("is-so") || m.q.Kind == "yesno" {
		return Reply{}, false
	}
	from := m.leads()
	asked := map[string]bool{}
	for _, s := range questionTexts(m.q) {
		for _, w := range m.cues.askedWords(s) {
			asked[w.stem] = true
		}
	}
	if from == 0 || !slices.ContainsFunc(m.words[from:], func(w heardWord) bool { return m.cues.things[w.text] && !asked[w.stem] }) {
		return Reply{}, false
	}
	return Reply{Intent: IntentBack, Confidence: 0.7}, true
}

// misplaced is true for a figure that, by the owner's own account, may be from
// the wrong place or range, when no better one follows.
func (m *message) misplaced(values []Value) bool {
	i, _, ok := findCue(m.cues.phrases["misplaced"], m.words)
	if !ok || m.has("goes-back") {
		return false
	}
	return len(values) > 0 && values[len(values)-1].Start < m.words[i].start
}
