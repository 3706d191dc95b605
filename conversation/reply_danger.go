package conversation

import "slices"

// danger reports whether something dangerous is said to be so now: not when
// it is denied ("no smoke"), supposed ("what if it burns") or feared.
func (m *message) danger() bool {
	cues := m.cues.dangerous.now
	if !m.aboutHeat() {
		cues = append(cues[:len(cues):len(cues)], m.cues.dangerous.heat...)
	}
	for i := range m.words {
		for _, q := range cues {
			n, ok := q.at(m.words, i)
			if !ok || q.start && i > 0 {
				continue
			}
			if !m.deniedDanger(i, n) && !m.supposed(i, n) {
				return true
			}
		}
	}
	return false
}

// deniedDanger looks back from word i for a negation with nothing between but
// words that carry it on. Anything else between leaves the danger standing.
func (m *message) deniedDanger(i, n int) bool {
	d := m.cues.dangerous
	for j := i; j < len(m.words) && j < max(n, i+2); j++ { // "smoke? no" and denial inside the cue
		if j > i && m.words[j].clause != m.words[i].clause {
			if j == i+1 && m.cues.negators[m.words[j].text] && (j+1 == len(m.words) || m.words[j+1].clause != m.words[j].clause) {
				return true
			}
			break
		}
		if j > i && j < n && m.cues.negators[m.words[j].text] {
			return !m.cues.affirms(m.words[i:n])
		}
	}
	for j := i - 1; j >= 0 && j >= i-8; j-- {
		w := m.words[j]
		if m.cues.negators[w.text] {
			return w.text != "no" || w.clause == m.words[j+1].clause
		}
		if !d.between[w.text] && !d.words[w.text] {
			return false
		}
		if m.words[j+1].clause != w.clause && !d.words[w.text] {
			return false
		}
	}
	return false
}

// supposed is true for a danger that is asked about or feared, and for what
// only sounds like one.
func (m *message) supposed(from, to int) bool {
	lo, hi := m.clauseStart(from), to
	for hi < len(m.words) && m.words[hi].clause == m.words[from].clause {
		hi++
	}
	if _, _, ok := findCue(m.cues.dangerous.supposed, m.words[max(lo, from-6):from]); ok {
		return true
	}
	_, _, ok := findCue(m.cues.dangerous.harmless, m.words[lo:hi])
	return ok
}

// aboutHeat is true when the question itself asks for what is warm or hot.
func (m *message) aboutHeat() bool {
	if m.q.Kind == "yesno" { // "so nothing is hot?" asks for the danger itself
		return false
	}
	for _, s := range questionTexts(m.q) {
		if _, _, ok := findCue(m.cues.phrases["about-heat"], m.cues.askedWords(s)); ok {
			return true
		}
	}
	return false
}

// reassures reads "no smoke or anything": said of a danger that was not asked
// about, so it is news and no answer.
func (m *message) reassures() (Reply, bool) {
	dangerous := m.cues.dangerous.words
	asked := slices.ContainsFunc(m.cues.askedWords(m.q.Asked), func(w heardWord) bool { return dangerous[w.text] })
	if asked || !slices.ContainsFunc(m.words, func(w heardWord) bool { return w.denied && dangerous[w.text] }) {
		return Reply{}, false
	}
	return Reply{Intent: IntentNewInfo, Confidence: 0.6}, true
}
