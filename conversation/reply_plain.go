package conversation

import "strings"

// stuck reads "the cover won't open", which is a finding of a look but bars a
// measurement.
func (m *message) stuck() (Reply, bool) {
	if len(m.q.Options) > 0 || m.q.Kind == "yesno" {
		return Reply{}, false
	}
	return m.plain("stuck")
}

// declines is true for "can't, nothing comes on" and "can't do it, no light": what
// follows says why, and is no answer.
func (m *message) declines() bool {
	if m.has("declines") {
		return true
	}
	i := 0
	for i < len(m.words) && (m.cues.idle[m.words[i].text] || m.cues.courtesy[m.words[i].text]) && !m.cues.ableWords[m.words[i].text] {
		i++
	}
	return i+1 < len(m.words) && m.cues.ableWords[m.words[i].text] && m.words[i+1].text == "not" && (i+2 == len(m.words) || m.words[i+2].clause != m.words[i+1].clause)
}

// done reads that something was carried out. Where the owner was only told to do
// something, a yes or words of what was told say so too.
func (m *message) done() (Reply, bool) {
	if m.q.Kind == "look" && m.bare() {
		return Reply{Intent: IntentUnsure, Confidence: 0.6}, true
	}
	told := (m.q.Kind == "talk" || m.q.Kind == "try") && len(m.q.Options) == 0 && m.q.Asked != ""
	switch {
	case m.q.Kind == "yesno" && m.has("cured"): // "sorted" answers whether the fault is gone
		return Reply{}, false
	case m.q.Kind == "measure" && m.tells() && len(m.words) > 4: // "the bulb broke while I took it out"
		return Reply{}, false
	case says(m.cues.phrases["done"], m.words):
		if m.q.Kind == "yesno" && !m.asksCured() {
			return Reply{Intent: IntentYes, Confidence: 0.8, Choice: m.optionFor(true)}, true
		}
		return Reply{Intent: IntentDone, Confidence: 0.85}, true
	case !told || m.has("no"):
		return Reply{}, false
	case m.has("yes") || m.has("agrees"):
		return Reply{Intent: IntentDone, Confidence: 0.8}, true
	case m.echoes() && !m.has("trouble"):
		return Reply{Intent: IntentDone, Confidence: 0.6}, true
	}
	return Reply{}, false
}

// plain gives the first of the named intents whose cues are in the message.
func (m *message) plain(names ...string) (Reply, bool) {
	for _, n := range names {
		if m.has(n) {
			name, _, _ := strings.Cut(n, "-")
			switch name {
			case "lacks", "stuck", "refuses", "alone", "blocked", "unable":
				name = "cannot"
			case "undecided":
				name = "unsure"
			}
			return Reply{Intent: Intent(name), Confidence: 0.85}, true
		}
	}
	return Reply{}, false
}

// question reads how, where and why. A figure given along with one is the
// answer; the question then is by the way.
func (m *message) question(values []Value) (Reply, bool) {
	for _, n := range []string{"why", "how"} {
		at, ok := m.first(n)
		if !ok {
			continue
		}
		if n == "how" && len(m.q.Options) > 0 && !m.mark && at > 0 && m.words[at].text == "where" && m.has("where-it-is") {
			continue
		}
		if len(values) > 0 && m.wantsFigure() && values[0].Start < m.words[at].start {
			continue
		}
		return Reply{Intent: Intent(n), Confidence: 0.85, Choice: m.chosenBefore(at)}, true
	}
	if m.mark && m.has("speculates") && len(values) == 0 {
		return Reply{Intent: IntentUnsure, Confidence: 0.6}, true
	}
	if len(values) == 0 && m.seeks() && (m.mark || m.has("begins-wh") || m.has("asks-thing") || len(m.q.Options) == 0 && m.q.Kind != "yesno") {
		return Reply{Intent: IntentHow, Confidence: 0.7}, true
	}
	return Reply{}, false
}

// asks reports whether the message as a whole is a question.
func (m *message) asks() bool {
	_, why := m.first("why")
	return why
}

func (m *message) wantsFigure() bool { return m.q.Kind == "measure" || m.q.Unit != "" }
