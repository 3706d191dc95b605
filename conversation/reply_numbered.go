package conversation

import "strconv"

// numbered reads "2", "the second one", "b)", "option 3", "last" as a place in
// the list that was offered.
func (m *message) numbered() (string, bool) {
	n := len(m.q.Options)
	if n == 0 || m.wantsFigure() && m.q.Kind == "measure" {
		return "", false
	}
	var rest []string
	for _, w := range m.words {
		if !m.cues.idle[w.text] && !m.cues.ordinalIdle[w.text] {
			rest = append(rest, w.text)
		}
	}
	if len(m.words) == 1 && len(m.words[0].text) == 1 { // a letter, even one that is idle elsewhere
		rest = []string{m.words[0].text}
	}
	if len(rest) == 0 { // "number one": a word that is idle elsewhere; but "nice one" counts nothing
		for _, w := range m.words {
			if m.cues.ordinals[w.text] != 0 {
				rest = append(rest, w.text)
			} else if m.cues.courtesy[w.text] || m.cues.judging[w.text] {
				return "", false
			}
		}
	}
	if len(rest) != 1 {
		return "", false
	}
	at := 0
	w := rest[0]
	if k, ok := m.cues.ordinals[w]; ok {
		at = k
		if k < 0 {
			at = n + 1 + k
		}
	} else if k, err := strconv.Atoi(w); err == nil {
		at = k
	} else if len(w) == 1 && w[0] >= 'a' && w[0] <= 'j' && len(m.words) <= 2 {
		at = int(w[0]-'a') + 1
	}
	if at < 1 || at > n {
		return "", false
	}
	return m.q.Options[at-1].ID, true
}
