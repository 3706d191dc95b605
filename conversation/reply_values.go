package conversation

import (
	"strings"

	"triagebot/reading"
)

// values are the figures of the message that can be readings: not the "5 V" of
// a wire's name, not what it should be, not what it was not.
func (m *message) values() []Value {
	var out []Value
	contrast := m.contrast()
	for i, q := range m.found {
		if m.isName(i) || m.rejected(q) || m.isLimit(q) || q.End <= contrast {
			continue
		}
		out = append(out, Value{Quantity: q})
	}
	if len(out) == 0 {
		for i, q := range m.found { // better one that is doubtful than none
			if !m.isName(i) {
				out = append(out, Value{Quantity: q})
			}
		}
	}
	if i, _, ok := findCue(m.cues.phrases["lone-one"], m.words); ok && m.q.Unit == reading.Ohm && len(out) == 1 && out[0].Value == 1 && out[0].Unit == "" && out[0].Start >= m.words[i].start {
		out[0].Overload, out[0].Value, out[0].Low, out[0].High, out[0].Decimals = true, 0, 0, 0, -1
	}
	for i := range out { // one that moves is known no better than its span
		out[i].Approx = out[i].Approx || out[i].Ranged()
	}
	m.setPlaces(out)
	return out
}

// wordAt is the index of the first word that begins at or behind byte pos.
func (m *message) wordAt(pos int) int {
	for i, w := range m.words {
		if w.start >= pos {
			return i
		}
	}
	return len(m.words)
}

// isName is true for a figure with a unit that names a thing: "the 5 V wire",
// "a 48 volt battery", "the 20 V range".
func (m *message) isName(i int) bool {
	q := m.found[i]
	if q.Unit == "" || q.Overload || q.Ranged() || q.Approx {
		return false
	}
	after, before := m.wordAt(q.End), m.wordAt(q.Start)-1
	named := after < len(m.words) && m.cues.names[m.words[after].text] && m.words[after].clause == m.words[max(after-1, 0)].clause
	article := before >= 0 && m.cues.articles[m.words[before].text]
	others := len(m.found) > 1
	heads := i+1 < len(m.found) && m.heads(q, m.found[i+1])
	return named && (q.Decimals == 0 || others) || article && others && q.Decimals == 0 || heads
}

// heads is true for the "5v" of "5v 4.98": a name right before its figure.
func (m *message) heads(q, next reading.Quantity) bool {
	return q.Decimals == 0 && next.Decimals > 0 && (next.Unit == "" || next.Unit == q.Unit) &&
		q.End <= next.Start && strings.Trim(m.text[q.End:next.Start], " \t:=") == ""
}

// isLimit is true for what the meter can show, beside what it shows.
func (m *message) isLimit(q reading.Quantity) bool {
	at := m.wordAt(q.Start)
	_, _, ok := endsWith(m.cues.phrases["limit"], m.words[max(0, at-6):at])
	return ok && len(m.found) > 1
}

// rejected is true behind "not", "instead of", "should be".
func (m *message) rejected(q reading.Quantity) bool {
	if len(m.found) < 2 {
		return false
	}
	at := m.wordAt(q.Start)
	lo := max(0, at-4)
	for lo < at && m.words[lo].clause != m.words[max(at-1, 0)].clause {
		lo++
	}
	if _, _, ok := endsWith(m.cues.phrases["rejects"], m.words[lo:at]); ok {
		return true
	}
	end := m.wordAt(q.End)
	hi := end
	for hi < len(m.words) && hi < end+2 && m.words[hi].clause == m.words[max(end-1, 0)].clause {
		hi++
	}
	i, _, ok := findCue(m.cues.phrases["rejected"], m.words[end:hi])
	return ok && i == 0
}

// endsWith finds a cue that takes in the last word.
func endsWith(cues []cue, words []heardWord) (from, to int, ok bool) {
	for i := range words {
		for _, q := range cues {
			if n, hit := q.at(words, i); hit && n == len(words) && (!q.start || i == 0) {
				return i, n, true
			}
		}
	}
	return 0, 0, false
}

// contrast is the byte where "but I get" parts what should be from what is; a
// figure must stand on both sides. Else it is -1.
func (m *message) contrast() int {
	i, n, ok := findCue(m.cues.phrases["contrast"], m.words)
	if !ok || len(m.found) < 2 {
		return -1
	}
	at := m.words[i].start
	if m.found[0].End <= at && m.found[len(m.found)-1].Start >= m.words[n-1].start {
		return at
	}
	return -1
}

// placeWord is where a figure was read, as said at words from..to.
type placeWord struct {
	name     string
	from, to int
}

// placeWords finds all places and states in the message. Of neighbours ("full
// twist") the one that stands first in the cues is kept.
func (m *message) placeWords() []placeWord {
	var out []placeWord
	rank := map[string]int{}
	for i := 0; i < len(m.words); i++ {
		for r, s := range m.cues.states {
			rank[s.name] = r
			to := 0
			for _, q := range s.cues {
				if n, ok := q.at(m.words, i); ok {
					to = max(to, n)
				}
			}
			if to == 0 {
				continue
			}
			p := placeWord{s.name, i, to}
			last := len(out) - 1
			if last >= 0 && p.from <= out[last].to && m.words[p.from].clause == m.words[out[last].from].clause {
				if rank[p.name] > rank[out[last].name] {
					p.name = out[last].name
				}
				p.from = out[last].from
				out[last] = p
			} else {
				out = append(out, p)
			}
			break
		}
	}
	return out
}

// setPlaces gives each figure the place or state it was read in: "0.8 shut, 4.1
// open", "closed 0.8, open 4.1", "0.8 released and when I twist it 4.2".
func (m *message) setPlaces(values []Value) {
	if len(values) == 0 {
		return
	}
	places := m.placeWords()
	start, end := make([]int, len(values)), make([]int, len(values))
	for i, v := range values {
		start[i], end[i] = m.wordAt(v.Start), m.wordAt(v.End)
	}
	between := func(lo, hi int) []placeWord {
		var out []placeWord
		for _, p := range places {
			if p.from >= lo && p.to <= hi {
				out = append(out, p)
			}
		}
		return out
	}
	if p := between(0, start[0]); len(p) > 0 {
		values[0].Place = p[len(p)-1].name
	}
	lead := values[0].Place != ""
	for i := 1; i < len(values); i++ {
		p := between(end[i-1], start[i])
		switch {
		case len(p) == 0:
		case len(p) > 1:
			if values[i-1].Place == "" {
				values[i-1].Place = p[0].name
			}
			values[i].Place = p[len(p)-1].name
		case m.leansRight(p[0], end[i-1], start[i], lead && values[i-1].Place != ""):
			values[i].Place = p[0].name
		default:
			values[i-1].Place = p[0].name
		}
	}
	last := len(values) - 1
	if p := between(end[last], len(m.words)); len(p) > 0 && values[last].Place == "" {
		values[last].Place = p[0].name
	}
}

// leansRight decides between two figures whether a place belongs to the second:
// a break in the sentence before it says so, one behind it says no.
func (m *message) leansRight(p placeWord, lo, hi int, lead bool) bool {
	breaks := func(from, to int) bool {
		for i := from; i <= to && i < len(m.words); i++ {
			if i > from && m.words[i].clause != m.words[i-1].clause || i < to && m.cues.ends[m.words[i].text] {
				return true
			}
		}
		return false
	}
	before := breaks(max(lo-1, 0), p.from)
	after := breaks(p.to-1, hi)
	if before != after {
		return before
	}
	return lead
}

func (m *message) clauseStart(i int) int {
	for i > 0 && i < len(m.words) && m.words[i-1].clause == m.words[i].clause {
		i--
	}
	return i
}

// reading puts figures into a reply, in the unit asked for when none was said.
func (m *message) reading(r Reply, values []Value) Reply {
	right := 0
	for _, v := range values {
		if v.Unit == "" || v.Unit == m.q.Unit || m.q.Unit == "" {
			right++
		}
	}
	if right > 0 && right < len(values) { // the day's temperature beside the volts
		kept := values[:0:0]
		for _, v := range values {
			if v.Unit == "" || v.Unit == m.q.Unit {
				kept = append(kept, v)
			}
		}
		values = kept
	}
	for i := range values {
		if values[i].Unit == "" {
			values[i].Unit, values[i].Assumed = m.q.Unit, m.q.Unit != ""
		}
	}
	r.Values = values
	if len(values) > 1 {
		r.Main = m.mainFigure(values)
	}
	r.WrongUnit = len(values) > 0 && right == 0
	if r.WrongUnit {
		r.Confidence *= 0.8
	}
	return r
}

// corrected picks the figure that takes the place of the wrong one: what stands
// behind "I meant", "it was", "should be"; else the last that is not disowned.
func (m *message) corrected(values []Value) []Value {
	if len(m.found) < 2 {
		return values
	}
	for i, q := range m.found {
		at := m.wordAt(q.Start)
		if _, _, ok := endsWith(m.cues.phrases["corrects"], m.words[max(0, at-3):at]); ok && !m.isName(i) {
			return []Value{{Quantity: q}}
		}
	}
	for _, v := range values {
		if v.Place != "" {
			return values
		}
	}
	return values[max(0, len(values)-1):]
}

// spokenFigure reads a figure said without a number: "nothing" on volts, "no
// reading" on ohms.
func (m *message) spokenFigure() (Value, bool) {
	if m.q.Kind != "measure" && m.q.Unit == "" {
		return Value{}, false
	}
	name := ""
	switch m.q.Unit {
	case reading.Volt, reading.Ampere:
		name = "zero"
	case reading.Ohm:
		name = "open"
	}
	if name != "" {
		if i, n, ok := findCue(m.cues.phrases[name], m.words); ok && !(m.tells() && len(m.words) > 5 && m.has("by-eye")) {
			v := Value{Quantity: reading.Quantity{Unit: m.q.Unit, Decimals: -1, Overload: name == "open", Start: m.words[i].start, End: m.words[n-1].end}}
			one := []Value{v}
			m.setPlaces(one)
			return one[0], true
		}
	}
	if m.q.Unit == reading.Ohm {
		if i, n, ok := findCue(m.cues.phrases["beeps"], m.words); ok {
			return Value{Quantity: reading.Quantity{Unit: reading.Ohm, Approx: true, Decimals: -1, Start: m.words[i].start, End: m.words[n-1].end}}, true
		}
	}
	return Value{}, false
}
