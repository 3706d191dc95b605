package conversation

import "slices"

// yesOrNo reads an answer to a question of yes or no, in the owner's words or by
// what is said of the thing asked about ("it moves" to "does it stay still?").
func (m *message) yesOrNo() (Reply, bool) {
	yes, no := m.has("yes"), m.has("no")
	if m.q.Kind == "measure" && m.has("fine") && !m.has("yes-first") && !m.has("no-first") {
		return Reply{}, false // "looks good" answers no question for a figure
	}
	if m.q.Kind != "measure" && !yes && !no {
		yes = m.has("agrees")
	}
	sure := 0.9
	if yes == no {
		yes, no = m.byQuestion()
		sure = 0.65
	}
	if yes == no || yes && m.asksCured() && !m.aboutFault() {
		return Reply{}, false
	}
	r := Reply{Intent: IntentYes, Confidence: sure}
	if no {
		r.Intent = IntentNo
	}
	r.Choice = m.optionFor(yes)
	return r, true
}

// answersPlainly reads a message that begins with its yes or no; what follows
// explains it. Yes or no of an idea, and a bare "sure?", are no answers.
func (m *message) answersPlainly() (Reply, bool) {
	if m.mark && len(m.words) == 1 {
		return Reply{}, false
	}
	yes, no := m.has("yes-first"), m.has("no-first")
	if yes == no {
		return Reply{}, false
	}
	if yes && m.asksCured() && !m.aboutFault() {
		return Reply{Intent: IntentOther, Confidence: 0.6}, !m.mark && !m.has("unable")
	}
	r := Reply{Intent: IntentYes, Confidence: 0.9, Choice: m.optionFor(yes)}
	if no && len(m.words) > 1 && m.asksNegative() { // "so nothing is hot?" "no smell"
		return r, true
	}
	if no {
		r.Intent = IntentNo
	}
	return r, true
}

// asksNegative is true for "so nothing smells burnt?".
func (m *message) asksNegative() bool {
	asked := *m
	asked.words = m.cues.askedWords(m.q.Asked)
	return asked.has("asks-negative")
}

// curedOrNot reads "done, but still the same" to "is the fault gone?": what the
// owner did is no news then, what came of it is.
func (m *message) curedOrNot() (Reply, bool) {
	if !m.asksCured() || !says(m.cues.phrases["done"], m.words) {
		return Reply{}, false
	}
	yes, no := m.has("cured"), m.has("unchanged") || m.has("relapses")
	if yes == no {
		return Reply{}, false
	}
	r := Reply{Intent: IntentYes, Confidence: 0.85, Choice: m.optionFor(yes)}
	if no {
		r.Intent = IntentNo
	}
	return r, true
}

// mendsLater reads "not yet, the part is on order" to "is the fault gone?", and
// "I have no spare": neither says that the remedy did not help.
func (m *message) mendsLater() (Reply, bool) {
	if m.asksCured() && m.has("circumstances") && !m.has("cured") && !m.has("relapses") && !m.tells() && !m.has("the-fault") {
		return Reply{Intent: IntentOther, Confidence: 0.8, Waits: true}, true
	}
	if !m.asksCured() || m.has("cured") && !m.has("not-yet") || m.has("unchanged") {
		return Reply{}, false
	}
	switch {
	case m.has("unwilling"):
		return Reply{Intent: IntentCannot, Confidence: 0.8}, true
	case m.has("not-yet"):
		return Reply{Intent: IntentOther, Confidence: 0.8, Waits: true}, true
	case m.has("lacks-part"):
		return Reply{Intent: IntentCannot, Confidence: 0.8}, true
	}
	return Reply{}, false
}

// asksCured is true for "is the fault gone?": to it "done" is no answer yet.
func (m *message) asksCured() bool {
	asked := *m
	asked.words = m.cues.askedWords(m.q.Asked)
	return asked.has("asks-cured")
}

// byQuestion compares what is said with what was asked.
func (m *message) byQuestion() (yes, no bool) {
	if m.q.Kind != "yesno" {
		return false, false
	}
	asked := m.cues.askedWords(m.q.Asked)
	if _, _, ok := findCue(m.cues.phrases["asks-cured"], asked); ok {
		yes, no = m.has("cured"), m.has("unchanged") || m.has("but-then") || m.has("relapses")
		yes = yes && !no
		if yes != no {
			return yes, no
		}
	}
	if _, _, ok := findCue(m.cues.phrases["asks-keep"], asked); ok && len(m.words) <= 6 {
		yes, no = m.has("holds"), says(m.cues.phrases["gives-way"], m.words)
		if yes != no {
			return yes, no
		}
	}
	asked = slices.Clone(asked)
	m.cues.deny(asked)
	_, _, lit := findCue(m.cues.phrases["asks-lit"], asked)
	said := map[sense]bool{}
	for _, senses := range m.cues.meaning(asked) {
		for _, k := range senses {
			said[k] = said[k] || lit && k.name == "on" || !m.cues.light[k.name]
		}
	}
	if said[sense{"on", true}] { // "does the light go off": what counts is the off
		delete(said, sense{name: "light"})
	}
	score := 0 // what is said against the question weighs more than what repeats it
	for _, senses := range m.cues.meaning(m.words) {
		switch {
		case slices.ContainsFunc(senses, func(k sense) bool { return said[sense{k.name, !k.not}] && !said[k] }):
			score -= 2
		case slices.ContainsFunc(senses, func(k sense) bool { return said[k] }):
			score++
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
	want := m.cues.plainNo
	if yes {
		want = m.cues.plainYes
	}
	for _, o := range m.q.Options {
		for _, s := range []string{o.ID, o.Label} {
			// Where no is "not" as well ("no puedo") it must stand alone.
			if w := m.cues.askedWords(s); len(w) > 0 && want[w[0].text] && (m.cues.lang == nil || len(w) == 1 || w[1].clause != w[0].clause) {
				return o.ID
			}
		}
	}
	asked := *m
	asked.words = slices.Clone(m.cues.askedWords(m.q.Asked))
	m.cues.deny(asked.words)
	if same, cure := m.tryPair(); same >= 0 { // whether the try cured it; "the same lamp" must not mislead
		if yes {
			return m.q.Options[cure].ID
		}
		return m.q.Options[same].ID
	}
	if dark := m.darkOf(); dark >= 0 {
		if yes {
			return m.q.Options[1-dark].ID
		}
		return m.q.Options[dark].ID
	}
	if asked.asksOpen() {
		return ""
	}
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

// darkOf is which of two options says that nothing comes of it; -1 where not
// just one does.
func (m *message) darkOf() int {
	if len(m.q.Options) != 2 {
		return -1
	}
	a, b := m.optionIs(Choice{Label: m.q.Options[0].Label}, "dead"), m.optionIs(Choice{Label: m.q.Options[1].Label}, "dead")
	switch {
	case a == b:
		return -1
	case a:
		return 0
	}
	return 1
}

// asksOpen is true for "with the wheel up, what does it do", to which yes is no
// answer. The last clause that begins like a question decides.
func (m *message) asksOpen() bool {
	begins := func(name string, i int) bool {
		return slices.ContainsFunc(m.cues.phrases[name], func(q cue) bool { _, ok := q.at(m.words, i); return ok })
	}
	open := false
	for i := range m.words {
		if i > 0 && m.words[i].clause == m.words[i-1].clause {
			continue
		}
		if begins("asks-open", i) {
			open = true
		} else if begins("asks-closed", i) {
			open = false
		}
	}
	return open
}
