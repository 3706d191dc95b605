package conversation

// What a question of the owner's can be about, beside how to do what was asked.
const (
	AboutRisk  = "risk"  // is it dangerous, could it break something
	AboutTime  = "time"  // how long, how many more
	AboutCost  = "cost"  // what it costs
	AboutWhere = "where" // where it is
	AboutGuess = "guess" // what it may be by now, what to buy
)

// about says what is asked about; "" where it is none of these, or no question.
func (m *message) about() string {
	for _, name := range []string{AboutRisk, AboutCost, AboutTime, AboutWhere, AboutGuess} {
		if m.has("about-" + name) {
			return name
		}
	}
	return ""
}

// wonders reads "is it safe?", "what does that cost?" before any option or yes is
// looked for in its words. Why something is dangerous is another question.
func (m *message) wonders() (Reply, bool) {
	if m.has("why") || m.has("refuses") {
		return Reply{}, false
	}
	if m.about() == AboutGuess {
		return Reply{Intent: IntentWhy, Confidence: 0.85}, true
	}
	if !m.mark && !m.has("inquires") {
		return Reply{}, false
	}
	if a := m.about(); a != "" && a != AboutWhere {
		return Reply{Intent: IntentHow, Confidence: 0.85}, true
	}
	return Reply{}, false
}

// thanks is true where thanks are all that is said: they answer nothing.
func (m *message) thanks() bool {
	if !m.has("thanks") || m.has("yes-first") || m.has("no-first") {
		return false
	}
	for _, w := range m.words {
		if !m.cues.idle[w.text] && !m.cues.courtesy[w.text] {
			return false
		}
	}
	return true
}

// aboutFault reports whether what is said with a yes to "is the fault gone?" is
// of the bike or the fault: the weather may be lovely while the fault is there.
func (m *message) aboutFault() bool {
	if m.has("cured") || m.has("unchanged") || m.has("but-then") {
		return true
	}
	if m.has("acknowledges") {
		return false
	}
	asked := map[string]bool{}
	for _, s := range questionTexts(m.q) {
		for _, w := range m.cues.askedWords(s) {
			asked[w.stem] = !m.cues.idle[w.text]
		}
	}
	near, far := 0, 0
	_, yes, _ := findCue(m.cues.phrases["yes-first"], m.words)
	for i, w := range m.words {
		switch {
		case i < yes || w.text[0] >= 0x80: // a sign, as a thumb
		case m.cues.idle[w.text] || m.cues.courtesy[w.text] || m.cues.negators[w.text] || m.cues.adverbWords[w.text]:
		case m.cues.things[w.text] || m.cues.assuring[w.text] || asked[w.stem]:
			near++
		default:
			far++
		}
	}
	return far == 0 || near > far
}
