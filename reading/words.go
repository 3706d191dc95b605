package reading

import (
	"math"
)

// Number words of English, with the spellings that hurried writers use.
var (
	units = map[string]float64{
		"zero": 0, "nought": 0, "naught": 0, "nil": 0,
		"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9,
		"thre": 3, "foru": 4, "fiv": 5, "fve": 5, "sevn": 7, "seve": 7, "eigth": 8, "eigt": 8, "nin": 9,
	}
	teens = map[string]float64{
		"ten": 10, "eleven": 11, "twelve": 12, "thirteen": 13, "fourteen": 14, "fifteen": 15, "sixteen": 16,
		"seventeen": 17, "eighteen": 18, "nineteen": 19, "twelv": 12, "twelf": 12, "forteen": 14, "fiveteen": 15,
	}
	tens = map[string]float64{
		"twenty": 20, "thirty": 30, "forty": 40, "fifty": 50, "sixty": 60, "seventy": 70, "eighty": 80, "ninety": 90,
		"fourty": 40, "fivty": 50, "fiftey": 50, "eigthy": 80, "eighthy": 80, "ninty": 90, "twelty": 20, "thirdy": 30,
	}
	powers   = map[string]float64{"hundred": 100, "hundered": 100, "hunderd": 100, "thousand": 1e3, "thousend": 1e3, "million": 1e6}
	misheard = map[string]float64{"tree": 3, "free": 3, "fore": 4, "ate": 8, "won": 1} // only behind a ten
	points   = map[string]bool{"point": true, "dot": true, "decimal": true, "piont": true, "poin": true, "komma": true, "virgule": true, "punto": true, "punkt": true}
	ohs      = map[string]bool{"oh": true, "o": true, "ow": true}
	parts    = map[string]float64{"tenth": 0.1, "hundredth": 0.01, "half": 0.5, "quarter": 0.25, "third": 1.0 / 3, "halfs": 0.5, "halve": 0.5, "quater": 0.25}
)

// amount is a number read from tokens, before its unit.
type amount struct {
	value    float64
	decimals int
	spoken   bool    // begins with a number word
	whole    bool    // nothing behind a decimal sign
	part     bool    // a bare fraction (half, 1/2): only a quantity with a unit
	inUnit   string  // said inside the digits
	inScale  float64 // said inside the digits
	odd      bool
	vague    bool // put together by guess
	grouped  bool
}

func (p *parser) amount(i int) (amount, int, bool) {
	if a, n, ok := p.fractionOf(i); ok {
		return a, n, true
	}
	a, n, ok := p.integer(i)
	if !ok {
		if p.at(i).text == "." && i == 0 && plainDigits(p.at(1)) { // ". 85"
			v, places, n, ok := p.behindPoint(1)
			return amount{value: v, decimals: places, inScale: 1}, n, ok
		}
		if p.isPoint(i) && p.pointAllowed(i) {
			if d, places, n, ok := p.behindPoint(i + 1); ok {
				return amount{value: d, decimals: places, spoken: true, inScale: 1}, n, true
			}
		}
		return amount{}, i, false
	}
	if a.odd {
		return a, n, true
	}
	if a.whole && a.inUnit == "" {
		a, n = p.decimals(a, n)
	}
	return p.andPart(a, n)
}

// integer reads digits or number words up to the decimal sign.
func (p *parser) integer(i int) (amount, int, bool) {
	t := p.at(i)
	if t.kind == number {
		if v, n, ok := p.broken(i); ok {
			return amount{value: v, decimals: min(2, len(p.at(n-1).text)), inScale: 1}, n, true
		}
		a := amount{value: t.value, decimals: t.decimals, inUnit: t.unit, inScale: t.scale, odd: t.odd,
			grouped: t.grouped, whole: t.decimals == 0 && t.unit == "" && t.scale == 1, part: t.fraction}
		if m, n := p.power(i + 1); n > i+1 && !a.odd { // 1.2 thousand
			a.value *= m
			a.decimals, a.whole = -1, true
			if t.decimals == 0 {
				a.decimals = 0
			}
			i = n - 1
		}
		return a, i + 1, true
	}
	v, n, ok := p.cardinal(i)
	if d, k, two := p.small(n); ok && v > 0 && v < 10 && n == i+1 && two && d < 10 && p.isPoint(k) { // "five four point two"
		v, n = 10*v+d, k
	}
	if ok {
		return amount{value: v, spoken: true, whole: true, inScale: 1}, n, true
	}
	if ohs[t.text] && t.kind == word && p.isPoint(i+1) {
		if _, _, _, ok := p.behindPoint(i + 2); ok { // oh point eight
			return amount{spoken: true, whole: true, inScale: 1}, i + 1, true
		}
	}
	if (t.text == "for" || t.text == "fore") && p.isPoint(i+1) && p.leads(i-1) {
		if _, _, _, ok := p.behindPoint(i + 2); ok { // "reads for point two", by voice
			return amount{value: 4, spoken: true, whole: true, inScale: 1, vague: true}, i + 1, true
		}
	}
	return amount{}, i, false
}

// cardinal reads whole number words: "four thousand two hundred and five".
func (p *parser) cardinal(i int) (float64, int, bool) {
	v, n, ok := p.group(i)
	if !ok {
		return 0, i, false
	}
	last := math.Inf(1)
	total := 0.0
	for {
		m, ok := powers[p.at(n).text]
		if !ok || m < 1e3 || m >= last {
			return total + v, n, true
		}
		total, last, n = total+v*m, m, n+1
		j := n
		if p.at(j).text == "and" {
			j++
		}
		w, k, ok := p.group(j)
		if !ok {
			return total, n, true
		}
		v, n = w, k
	}
}

// group reads number words below a thousand, or hundreds beyond it ("twelve
// hundred").
func (p *parser) group(i int) (float64, int, bool) {
	v, n, ok := p.small(i)
	if t := p.at(i).text; !ok && (t == "a" || t == "an") && powers[p.at(i+1).text] > 0 {
		v, n, ok = 1, i+1, true
	}
	if !ok && p.at(i).kind == word && powers[p.at(i).text] > 0 && p.leads(i-1) { // "hundred and twenty"
		v, n, ok = 1, i, true
	}
	if !ok || powers[p.at(n).text] != 100 {
		return v, n, ok
	}
	v, n = v*100, n+1
	j := n
	if p.at(j).text == "and" {
		j++
	}
	if w, k, ok := p.small(j); ok && w > 0 {
		return v + w, k, true
	}
	return v, n, true
}

// small reads a spoken number below one hundred.
func (p *parser) small(i int) (float64, int, bool) {
	t := p.at(i)
	if t.kind != word {
		return 0, i, false
	}
	if v, ok := foreign[t.text]; ok && p.want != "" {
		return v, i + 1, true
	}
	if v, ok := tens[t.text]; ok {
		if u, ok := units[p.at(i+1).text]; ok && u > 0 && p.at(i+1).kind == word {
			return v + u, i + 2, true
		}
		if u, ok := misheard[p.at(i+1).text]; ok {
			return v + u, i + 2, true
		}
		return v, i + 1, true
	}
	if v, ok := teens[t.text]; ok {
		return v, i + 1, true
	}
	v, ok := units[t.text]
	return v, i + 1, ok
}

func (p *parser) power(i int) (float64, int) {
	if m, ok := powers[p.at(i).text]; ok {
		return m, i + 1
	}
	return 1, i
}

func (p *parser) isPoint(i int) bool {
	t := p.at(i)
	return t.kind == word && points[t.text]
}

// pointAllowed is false where "point" is a place to measure at.
func (p *parser) pointAllowed(i int) bool {
	switch p.at(i - 1).text {
	case "at":
		return p.at(i+1).kind == word // "at point eight" is a figure, "at point 2" a place
	case "test", "the", "this", "that", "which", "measuring", "what", "same", "next", "no", "a":
		return false
	}
	return true
}

// behindPoint reads the digits spoken behind a decimal sign: "oh five",
// "twenty five", "2". It returns them as a fraction.
func (p *parser) behindPoint(i int) (v float64, places, next int, ok bool) {
	div := 1.0
	for places < 6 {
		t := p.at(i)
		if t.kind == number {
			if t.odd || t.decimals != 0 || t.lead || places > 0 && !p.digitSpoken(i-1) {
				break
			}
			n := len(t.text)
			if n > 6 {
				break
			}
			for range n {
				div *= 10
			}
			v += t.value / div
			return v, places + n, i + 1, true
		}
		d, n, isNum := p.small(i)
		if !isNum && ohs[t.text] && t.kind == word && t.text != "ow" {
			d, n, isNum = 0, i+1, true
		}
		if !isNum {
			break
		}
		if d >= 10 {
			if places > 1 {
				break
			}
			div *= 100
			places += 2
		} else {
			div *= 10
			places++
		}
		v += d / div
		i = n
		ok = true
	}
	return v, places, i, ok
}

func (p *parser) digitSpoken(i int) bool {
	t := p.at(i)
	_, ok := units[t.text]
	return ok || ohs[t.text]
}

// decimals adds what stands behind a decimal sign that is not inside the
// digits: "four point two", "4 .2", "5 oh 2", "fifty four six volts".
func (p *parser) decimals(a amount, i int) (amount, int) {
	if p.isPoint(i) {
		if d, places, n, ok := p.behindPoint(i + 1); ok {
			a.value, a.decimals, a.whole = a.value+d, places, false
			return a, n
		}
	}
	t := p.at(i)
	if t.text == "comma" || t.text == "coma" {
		if d, places, n, ok := p.behindPoint(i + 1); ok { // a comma dictated as a decimal sign
			a.value, a.decimals, a.whole = a.value+d, places, false
			return a, n
		}
	}
	if !a.spoken && t.kind == number && t.lead && !t.odd && !t.glued && p.at(i-1).kind == number {
		a.value, a.decimals, a.whole = a.value+t.value, t.decimals, false // 4 .2
		return a, i + 1
	}
	if !a.spoken && t.text == "." && t.glued && p.at(i+1).kind == number && p.at(i+1).decimals == 0 && !p.at(i+1).odd &&
		!p.at(i+1).glued && len(p.at(i+1).text) <= 3 {
		if _, _, n := p.unit(i + 2); n > i+2 { // 4. 2v
			v, places, n, _ := p.behindPoint(i + 1)
			a.value, a.decimals, a.whole = a.value+v, places, false
			return a, n
		}
	}
	if !a.spoken && t.text == "." && t.glued && p.at(i+1).text == "." && p.at(i+1).glued &&
		p.at(i+2).kind == number && p.at(i+2).glued && p.at(i+2).decimals == 0 && !p.at(i+2).odd {
		if v, places, n, ok := p.behindPoint(i + 2); ok { // 4..2
			a.value, a.decimals, a.whole = a.value+v, places, false
			return a, n
		}
	}
	if a.spoken && a.value < 100 {
		if b, n := p.pairByPair(a, i); n > i {
			return b, n
		}
		return p.digitByDigit(a, i)
	}
	return a, i
}

// pairByPair reads "four ninety-five", which is 4.95 V but 495 mV or Ω.
func (p *parser) pairByPair(a amount, i int) (amount, int) {
	d, n, ok := p.small(i)
	round := math.Mod(a.value, 10) == 0 && math.Mod(d, 10) == 0 // "fifty sixty" are two
	if !ok || d < 10 || a.value < 1 || round || p.isPoint(n) || powers[p.at(n).text] > 0 {
		return a, i
	}
	m, said, _ := p.unit(n)
	switch {
	case a.value < 10 && said && (m.scale < 1 || m.unit == Ohm), a.value < 10 && !said && p.want == Ohm:
		a.value = a.value*100 + d
	case m.unit == Volt && m.scale == 1, !said && p.want == Volt:
		a.value, a.decimals, a.whole = a.value+d/100, 2, false
	default:
		return a, i
	}
	return a, n
}

// digitByDigit reads figures spoken without a point, as "five oh two volts" or
// "fifty four six volts": a whole number and then single digits. It is a
// guess, so it wants a spoken oh or a unit behind.
func (p *parser) digitByDigit(a amount, i int) (amount, int) {
	v, div, n, oh := 0.0, 1.0, i, false
	for n-i < 3 {
		t := p.at(n)
		d, ok := units[t.text]
		if t.text == "oh" || t.text == "o" && n > i {
			ok, oh = true, true
		}
		if !ok || t.kind != word {
			break
		}
		div *= 10
		v += d / div
		n++
	}
	if n == i || p.isPoint(n) {
		return a, i
	}
	if a.value < 10 && n-i == 2 && n >= len(p.toks) && p.want == Volt { // "four nine eight"
		a.value, a.decimals, a.whole = a.value+v, n-i, false
		return a, n
	}
	ends := p.want == Volt && n >= len(p.toks) && a.value > 20 // "sixty six eight" is all there is
	if _, _, k := p.unit(n); k == n && !(oh && n-i >= 2) && !ends {
		return a, i
	}
	a.value, a.decimals, a.whole, a.vague = a.value+v, n-i, false, !ends
	return a, n
}

// unhyphen takes the hyphens out of number words (forty-one, four-point-two),
// not those of a range (four-five volts).
func unhyphen(toks []token) []token {
	out := toks[:0]
	for i, t := range toks {
		if t.text == "-" && t.glued && i > 0 && i+1 < len(toks) && toks[i+1].glued {
			a, b := toks[i-1].text, toks[i+1].text
			_, ten := tens[a]
			_, one := units[b]
			_, small := units[a]
			_, twenty := tens[b]
			if ten && one || small && twenty || isNumberWord(a) && (points[b] || powers[b] > 0) || (points[a] || powers[a] > 0) && isNumberWord(b) {
				continue
			}
		}
		out = append(out, t)
	}
	return out
}

func isNumberWord(s string) bool {
	for _, m := range []map[string]float64{units, teens, tens} {
		if _, ok := m[s]; ok {
			return true
		}
	}
	return powers[s] > 0
}
