package conversation

import "triagebot/reading"

// mainFigure is the index of the figure that the question asked for, where a
// message gives several: the one read in the state or at the place asked about,
// else the one where a moving figure came to rest, else the first.
func (m *message) mainFigure(values []Value) int {
	best, most := 0, 0
	asked := *m
	asked.words = m.cues.askedWords(m.q.Asked)
	states, stems := map[string]bool{}, map[string]bool{}
	for _, p := range asked.placeWords() {
		states[m.cues.alike[p.name]] = true
	}
	for _, w := range asked.words {
		if !m.cues.idle[w.text] {
			stems[w.stem] = true
		}
	}
	for i, v := range values {
		score := 0
		if v.Place != "" && states[m.cues.alike[v.Place]] {
			score += 3
		}
		from, to := m.reach(values, i)
		for _, w := range m.words[from:to] {
			if stems[w.stem] {
				score++
			}
		}
		if _, _, ok := findCue(m.cues.phrases["comes-to-rest"], m.words[from:to]); ok && i > 0 {
			score += 2
		}
		if _, _, ok := findCue(m.cues.phrases["was-before"], m.words[from:to]); ok {
			score -= 2
		}
		if v.Approx && !allApprox(values) { // "just under 5, 4.93"
			score--
		}
		if v.Overload && m.q.Unit == reading.Volt {
			score--
		}
		if i == 0 || score > most {
			best, most = i, score
		}
	}
	return best
}

func allApprox(values []Value) bool {
	for _, v := range values {
		if !v.Approx {
			return false
		}
	}
	return true
}

// reach is the words that can tell of figure i: its clause, no further than the
// figures beside it.
func (m *message) reach(values []Value, i int) (from, to int) {
	at, end := m.wordAt(values[i].Start), m.wordAt(values[i].End)
	from, to = min(at, len(m.words)), min(end, len(m.words))
	lo, hi := 0, len(m.words)
	if i > 0 {
		lo = m.wordAt(values[i-1].End)
	}
	if i+1 < len(values) {
		hi = m.wordAt(values[i+1].Start)
	}
	clause := m.words[min(at, len(m.words)-1)].clause
	for from > lo && m.words[from-1].clause == clause {
		from--
	}
	for to < hi && m.words[to].clause == clause {
		to++
	}
	return from, max(from, to)
}
