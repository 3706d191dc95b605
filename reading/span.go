package reading

import "math"

// parser walks the tokens of one text.
type parser struct {
	toks  []token
	want  string // the unit asked for, "" when unknown
	taken int    // tokens before this one are part of a quantity already found
}

// at returns token i, or an empty mark outside the text.
func (p *parser) at(i int) token {
	if i < 0 || i >= len(p.toks) {
		return token{kind: mark}
	}
	return p.toks[i]
}

// single is one number with its unit, not yet joined to a range.
type single struct {
	amount
	measure
	said       bool // the unit was said
	neg        bool
	start, end int // tokens, sign included
	first      int // token of the number itself
}

// span reads one quantity at token i: a number with its unit, or a range.
// When ok is false, next is where to go on.
func (p *parser) span(i int) (Quantity, int, bool) {
	a, next, ok := p.single(i)
	if !ok {
		return Quantity{}, next, false
	}
	if b, n, how := p.rangeTo(a, next); how != "" {
		return p.close(p.joined(a, b, how, n), a.start, n)
	}
	if b, n, ok := p.tolerance(a, next); ok {
		share(&a, &b)
		q := quantity(a)
		d := math.Abs(quantity(b).Value)
		q.Low, q.High = math.Min(q.Value, clean(q.Value-d, -1)), math.Max(q.Value, clean(q.Value+d, -1))
		q.Approx = true
		return p.close(q, a.start, n)
	}
	if !p.counts(a, next) {
		return Quantity{}, next, false
	}
	q := quantity(a)
	return p.close(q, a.start, next)
}

// close puts in what lies around the words: place and vagueness.
func (p *parser) close(q Quantity, start, next int) (Quantity, int, bool) {
	q.Start, q.End = p.at(start).start, p.at(next-1).end
	if p.vagueBefore(start) {
		q.Approx = true
	}
	if n, ok := p.vagueAfter(next); ok {
		q.Approx = true
		if n > next && p.at(next).glued {
			q.End = p.at(n - 1).end
		}
		next = n
	}
	p.taken = next
	return q, next, true
}

// single reads sign, number and unit. A number that fails the guards is
// passed over as a whole, so that its tail is not read for another.
func (p *parser) single(i int) (single, int, bool) {
	s := single{start: i}
	j := i
	s.neg, j = p.sign(i)
	if w := p.at(j).text; (w == "a" || w == "an" || fews[w] > 0) && p.at(j).kind == word && !s.neg {
		if one, n, ok := p.articleUnit(j); ok {
			one.start, one.end = i, n
			return one, n, true
		}
	}
	s.first = j
	a, n, ok := p.amount(j)
	if !ok {
		return s, i + 1, false
	}
	s.amount = a
	m, said, k := p.unit(n)
	if !said && growths[p.at(n).text] { // "thirty something millivolts"
		if behind, ok, e := p.unit(n + 1); ok {
			m, said, k, s.vague = behind, true, e, true
		}
	}
	if a.inUnit != "" && (!said || m.unit == a.inUnit || m.unit == "") {
		m = measure{unit: a.inUnit, scale: 1}
		said = true
	}
	if !said {
		m.scale = 1
		if u, ok := p.unitBefore(i); ok {
			m, said = u, true
		}
	}
	m.scale *= a.inScale
	if !said && s.grouped && p.noThousands() { // "4,935" answers a question for volts
		s.grouped, s.decimals = false, 3
	}
	s.measure, s.said, s.end = m, said, k
	if said && m.unit != "" && s.whole { // "four volts and a half"
		if v, e, ok := p.partAfterUnit(k); ok {
			s.value, s.decimals, s.end, k = s.value+v, -1, e, e
		}
	}
	if said && m.unit != "" && s.whole && m.scale == 1 { // "66 volt point eight"
		if v, places, e, ok := p.volts(k); ok && m.unit == Volt {
			s.value, s.decimals, s.whole, s.end, k = s.value+v, places, false, e, e
		}
	}
	if n, ok := p.minusBehind(k); ok && !s.neg {
		s.neg, s.end, k = true, n, n
	}
	if a.odd || a.part && m.unit == "" && !(said && p.want == Ohm) || p.glued(s, j) || p.otherMeasure(k, s) {
		return s, k, false
	}
	return s, k, true
}

func (p *parser) partAfterUnit(i int) (float64, int, bool) {
	if p.at(i).text != "and" {
		return 0, i, false
	}
	v, n, ok := p.partWord(i + 1)
	if _, said, _ := p.unit(n); said || p.at(n).text == "of" {
		return 0, i, false
	}
	return v, n, ok
}

// fews are how many a small count in words is about.
var fews = map[string]float64{"couple": 2, "few": 3}

// articleUnit reads "a volt" as about one volt, "a few" of them as about three.
func (p *parser) articleUnit(i int) (single, int, bool) {
	count := 1.0
	count = max(count, fews[p.at(i).text])
	for fews[p.at(i+1).text] > 0 || p.at(i+1).text == "of" { // a couple of, a few
		count = max(count, fews[p.at(i+1).text])
		i++
	}
	m, said, n := p.unit(i + 1)
	if !said || m.unit == "" || len(p.at(i+1).text) < 3 || p.at(i+1).text == "degree" {
		return single{}, i, false
	}
	s := single{amount: amount{value: count, decimals: 0, spoken: true, inScale: 1, vague: true, whole: true}, measure: m, said: true}
	if v, e, ok := p.partAfterUnit(n); ok { // a volt and a half
		s.value, s.decimals, s.vague, n = s.value+v, -1, false, e
	}
	return s, n, true
}

// sign reads a minus. A dash between words is none, and "pack minus" is a
// place: the word counts only at the start, behind a mark or behind a verb.
func (p *parser) sign(i int) (bool, int) {
	t, before := p.at(i), p.at(i-1)
	switch {
	case t.text == "-" && t.kind == mark:
		if !p.numeric(i + 1) {
			return false, i
		}
		if !p.at(i + 1).glued { // "- 5": a list's dash, unless it is all there is
			if i == 0 && !p.lines() {
				return true, i + 1
			}
			return false, i
		}
		if t.glued && before.kind != mark {
			return false, i
		}
		return true, i + 1
	case t.text == "minus" || t.text == "negative" || t.text == "minis" || t.text == "neg" || t.text == "negativ":
		j := i + 1
		if !p.numeric(j) {
			return false, i
		}
		if p.leads(i-1) || signLeads[before.text] || i == p.taken {
			return true, j
		}
		return false, i
	case t.text == "+" && p.numeric(i+1) && p.at(i+1).glued:
		return false, i + 1
	}
	return false, i
}

// minusBehind reads "54 with a minus in front".
func (p *parser) minusBehind(i int) (int, bool) {
	j := i
	for p.at(j).text == "," || p.at(j).text == "but" || p.at(j).text == "and" || p.at(j).text == "(" {
		j++
	}
	if p.at(j).text == "negative" && j+1 >= len(p.toks) {
		return j + 1, true
	}
	switch p.at(j).text {
	case "with", "has", "having":
	default:
		return i, false
	}
	for j++; p.at(j).text == "a" || p.at(j).text == "the" || p.at(j).text == "it"; j++ {
	}
	switch p.at(j).text {
	case "minus", "negative", "-":
	default:
		return i, false
	}
	for _, s := range [][]string{{"sign", "in", "front"}, {"sign", "before", "it"}, {"in", "front"}, {"before", "it"}, {"sign"}} {
		if p.same(j+1, s) {
			return j + 1 + len(s), true
		}
	}
	return j + 1, true
}

func (p *parser) lines() bool {
	for _, t := range p.toks[min(1, len(p.toks)):] {
		if t.fresh {
			return true
		}
	}
	return false
}

// numeric reports whether a number can begin at token i.
func (p *parser) numeric(i int) bool {
	t := p.at(i)
	if t.kind == number {
		return true
	}
	if t.kind != word {
		return false
	}
	if _, _, ok := p.small(i); ok {
		return true
	}
	_, _, ok := p.amount(i)
	return ok
}

// quantity turns a single into what it measures.
func quantity(s single) Quantity {
	v, dec := s.value, s.decimals
	if s.grouped && !thousands(s) {
		dec = 3
	} else if s.grouped {
		v, dec = v*1000, 0
	}
	if s.neg {
		v = -v
	}
	if dec >= 0 { // in the unit without prefix
		dec = max(0, dec-int(math.Round(math.Log10(s.scale))))
	}
	v = clean(v*s.scale, dec)
	if s.fahrenheit {
		v = (v - 32) * 5 / 9
	}
	if v == 0 {
		v = 0 // no negative zero
	}
	return Quantity{Value: v, Unit: s.measure.unit, Approx: s.vague, Low: v, High: v, Decimals: dec}
}

// clean takes off what binary multiplication adds: 850 * 0.001 is 0.85.
func clean(v float64, decimals int) float64 {
	if decimals < 0 || decimals > 12 {
		decimals = 12
	}
	f := math.Pow10(decimals)
	if r := math.Round(v * f); math.Abs(r) < 1<<52 {
		return r / f
	}
	return v
}

// noThousands is true where the unit asked for does not come by the thousand, so
// that 1,544 has a decimal comma.
func (p *parser) noThousands() bool {
	switch p.want {
	case Volt, Ampere, Celsius, Percent:
		return true
	}
	return false
}

// thousands decides how to read 1,234. Volts and amperes of a vehicle do not
// come by the thousand; ohms and millivolts do.
func thousands(s single) bool {
	if s.scale > 1 {
		return false
	}
	switch s.measure.unit {
	case Volt, Ampere:
		return s.scale < 1
	case Celsius, Percent:
		return false
	}
	return true
}
