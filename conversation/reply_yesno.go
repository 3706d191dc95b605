package conversation

// yesOrNo reads an answer to a question of yes or no, in the owner's words or by
// what is said of the thing asked about ("it moves" to "does it stay still?").
func (m *message) yesOrNo() (Reply, bool) {
	yes, no := m.has("yes"), m.has("no")
	if m.q.Kind != "measure" && !yes && !no {
		yes = m.has("agrees")
	}
	sure := 0.9
	if yes == no {
		yes, no = m.byQuestion()
		sure = 0.65
	}
	if yes == no {
		return Reply{}, false
	}
	r := Reply{Intent: IntentYes, Confidence: sure}
	if no {
		r.Intent = IntentNo
	}
	r.Choice = m.optionFor(yes)
	return r, true
}

// byQuestion compares what is said with what was asked.
func (m *message) byQuestion() (yes, no bool) {
	if m.q.Kind != "yesno" {
		return false, false
	}
	asked := m.cues.words(m.q.Asked)
	if _, _, ok := findCue(m.cues.phrases["asks-cured"], asked); ok {
		yes, no = m.has("cured"), m.has("unchanged")
		if yes != no {
			return yes, no
		}
	}
	m.cues.deny(asked)
	sides := map[string]bool{}
	for _, k := range m.cues.meaning(asked) {
		sides[k.name] = k.not
	}
	score := 0 // what is said against the question weighs more than what repeats it
	for _, k := range m.cues.meaning(m.words) {
		if not, ok := sides[k.name]; ok && !m.cues.light[k.name] {
			if not == k.not {
				score++
			} else {
				score -= 2
			}
		}
	}
	return score > 0, score < 0
}

// echoes reports whether the message says again, and does not deny, what the
// question said.
func (m *message) echoes() bool {
	yes, _ := (&message{q: Question{Kind: "yesno", Asked: m.q.Asked}, cues: m.cues, words: m.words}).byQuestion()
	return yes && !m.mark
}

// optionFor finds the option that a bare yes or no stands for: the one that says
// yes or no itself, else the one that says what was asked; of two, no is the other.
func (m *message) optionFor(yes bool) string {
	n := len(m.q.Options)
	if n == 0 {
		return ""
	}
	want := "no"
	if yes {
		want = "yes"
	}
	for _, o := range m.q.Options {
		for _, s := range []string{o.ID, o.Label} {
			if w := m.cues.words(s); len(w) > 0 && w[0].text == want {
				return o.ID
			}
		}
	}
	asked := *m
	asked.words = m.cues.words(m.q.Asked)
	m.cues.deny(asked.words)
	fit := asked.fit()
	best, tie := 0, false
	for i, f := range fit {
		switch {
		case i == 0:
		case f > fit[best]+0.05:
			best, tie = i, false
		case f > fit[best]-0.05:
			tie = true
		}
	}
	switch {
	case fit[best] <= 0.1 || tie:
		return ""
	case yes:
		return m.q.Options[best].ID
	case n == 2:
		return m.q.Options[1-best].ID
	}
	return ""
}
