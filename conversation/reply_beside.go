package conversation

import (
	"slices"

	"triagebot/reading"
)

// beside reports whether figures are by the way: a limit of the meter, what
// should be, the weather, or how soon the owner is back.
func (m *message) beside(values []Value) bool {
	if i, _, ok := findCue(m.cues.phrases["limit"], m.words); ok && len(m.found) == 1 && values[0].Start > m.words[i].start {
		return true
	}
	if i, ok := m.first("speculates"); ok && m.mark && values[0].Start > m.words[i].start {
		return true
	}
	if _, n, ok := findCue(m.cues.phrases["like-one"], m.words); ok && len(values) == 1 && values[0].End >= m.words[n-1].end && values[0].Start <= m.words[n-1].start {
		return true
	}
	if m.has("back-in") && len(values) == 1 {
		return true
	}
	for _, v := range values {
		if v.Unit != reading.Celsius || m.q.Unit == reading.Celsius {
			return false
		}
	}
	return true
}

// correctsItself is true for a figure that is taken back in the same message:
// "4.1, I mean 1.4". Then the answer is new, not a change of an earlier one.
func (m *message) correctsItself(values []Value) bool {
	i, ok := m.first("self")
	first := slices.IndexFunc(m.found, func(q reading.Quantity) bool { return q.Start < m.words[i].start })
	return ok && len(m.found) > 1 && first >= 0 && !m.isName(first) && m.found[len(m.found)-1].Start > m.words[i].start
}

// onlyFigures reports whether figures and their places are all that a message
// says: such a message fits no option of a look, whatever the figures are.
func (m *message) onlyFigures(values []Value) bool {
	if len(values) == 0 {
		return false
	}
	placed := make([]bool, len(m.words))
	for _, p := range m.placeWords() {
		for i := p.from; i < p.to; i++ {
			placed[i] = true
		}
	}
	for i, w := range m.words {
		inside := false
		for _, v := range m.found {
			inside = inside || w.start >= v.Start && w.start < v.End
		}
		if !inside && !placed[i] && !m.cues.idle[w.text] && !m.cues.articles[w.text] {
			return false
		}
	}
	return true
}

// tells reports whether a message that answers nothing states something of the
// bike: a thing is named, and more is said of it than that it is fine.
func (m *message) tells() bool {
	things, said := 0, 0
	for _, w := range m.words {
		switch {
		case m.cues.things[w.text]:
			things++
		case !m.cues.idle[w.text] && !m.cues.judging[w.text]:
			said++
		}
	}
	return things > 0 && said > 0 && !m.mark
}

// namesAsked reports whether a thing of the question is named in the message.
func (m *message) namesAsked() bool {
	asked := map[string]bool{}
	for _, s := range questionTexts(m.q) {
		for _, w := range m.cues.askedWords(s) {
			asked[w.stem] = true
		}
	}
	return slices.ContainsFunc(m.words, func(w heardWord) bool { return m.cues.things[w.text] && asked[w.stem] })
}

// alsoUnchanged tells "also stays black" of a swapped part, an answer, from
// what is added with an "also".
func (m *message) alsoUnchanged() bool {
	same, _ := m.tryPair()
	return same >= 0 && m.has("unchanged") && !m.tells()
}

// chosenBefore is the option that was surely named before word i, where a
// question follows the answer: "it is in park, how do I get it out".
func (m *message) chosenBefore(i int) string {
	if len(m.q.Options) == 0 || i == 0 || m.words[i-1].clause == m.words[i].clause {
		return ""
	}
	part := *m
	part.words = m.words[:i]
	if r, ok := part.exact(); ok {
		return r.Choice
	}
	r, _ := part.surely()
	return r.Choice
}

// seeks reports whether the message as a whole asks something. "Does not move"
// begins like a question and is none.
func (m *message) seeks() bool {
	return m.mark || m.has("begins-wh") || m.has("begins-aux")
}

// barred reads what goes before an option that the words may also fit: that the
// owner cannot do it, or that the bike has no such part. "Can't see any" is
// neither; it tells what was looked for.
func (m *message) barred() (Reply, bool) {
	switch {
	case m.has("own-hands") && !slices.ContainsFunc(m.words, func(w heardWord) bool { return m.cues.things[w.text] }):
		return Reply{Intent: IntentCannot, Confidence: 0.8}, true
	case m.q.Kind == "try" && m.has("no-spare") && !m.has("cured") && !m.has("unchanged"):
		return Reply{Intent: IntentCannot, Confidence: 0.85}, true
	case m.has("no-view"):
		return m.plain("unable")
	case m.has("no-part") && m.namesAsked():
		return Reply{Intent: IntentNewInfo, Confidence: 0.7}, true
	case m.has("undecided"):
		return m.plain("undecided")
	case m.has("unable") && !m.has("perceives"):
		return m.plain("unable")
	}
	return Reply{}, false
}

// yesNoAsked reads, of a question of yes or no, what the owner cannot tell
// before what he cannot do, and an answer before news.
func (m *message) yesNoAsked() (Reply, bool) {
	if m.q.Kind != "yesno" {
		return Reply{}, false
	}
	if r, ok := m.plain("undecided"); ok {
		return r, true
	}
	if m.has("unable") {
		return m.plain("unable")
	}
	if r, ok := m.plain("unsure"); ok {
		return r, true
	}
	if r, ok := m.curedOrNot(); ok {
		return r, true
	}
	if m.asksCured() && says(m.cues.phrases["done"], m.words) && !m.has("cured") {
		return Reply{Intent: IntentDone, Confidence: 0.85}, true
	}
	return m.yesOrNo()
}
