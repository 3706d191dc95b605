package reading

import "strings"

// overloads are the ways in which people write what a meter shows when the
// reading is beyond its range, as token texts.
var overloads = map[string][][]string{}

func init() {
	for _, s := range []string{
		"o l", "o . l", "0 l", "0 . l", "o / l", "0l", "oh el", "oh ell", "o el", "oh l",
		"over limit", "overlimit", "off limit", "over load", "overload", "overloaded", "over range", "overrange", "out of range", "over the range",
		"infinity", "infinite", "infinit", "infinitive", "∞", "open line", "open circuit", "open loop", "open lead",
		"1 on the left", "1 at the left", "1 on left", "one on the left", "1 to the left", "1 far left", "1 . on the left", "1 . at the left", "1 , on the left", "1 ( on the left", "1 . left",
	} {
		w := strings.Fields(s)
		overloads[w[0]] = append(overloads[w[0]], w[1:])
	}
}

// overload reads a meter's sign for out of range at token i.
func (p *parser) overload(i int) (Quantity, int, bool) {
	t := p.at(i)
	n := 0
	switch {
	case t.kind == word && t.text == "ol" && p.isOverloadWord(i):
		n = i + 1
	case t.kind == number && t.text == "1" && p.at(i+1).text == "." && !p.at(i+1).glued && !p.at(i+2).glued && p.at(i+2).kind != number:
		n = i + 2 // "1 .": an old meter's lone digit
	default:
		for _, rest := range overloads[t.text] {
			if end := i + 1 + len(rest); p.same(i+1, rest) && end > n && p.overloadFits(i, end) {
				n = end
			}
		}
	}
	if n == 0 {
		return Quantity{}, i, false
	}
	q := Quantity{Overload: true, Decimals: -1, Start: t.start, End: p.at(n - 1).end}
	if m, ok, k := p.unit(n); ok && m.unit != "" {
		q.Unit, q.End, n = m.unit, p.at(k-1).end, k
	}
	p.taken = n
	return q, n, true
}

// isOverloadWord tells OL from the "ol" of "good ol bike".
func (p *parser) isOverloadWord(i int) bool {
	t, next := p.at(i), p.at(i+1)
	if t.raw != "ol" {
		return true
	}
	if next.text == "'" || p.at(i-1).text == "good" || p.at(i-1).text == "same" {
		return false
	}
	return i+1 >= len(p.toks) || next.kind == mark || p.leads(i-1) || p.isConnector(i+1)
}

// overloadFits keeps single letters from being taken out of other words.
func (p *parser) overloadFits(i, end int) bool {
	t := p.at(i)
	switch t.text {
	case "0", "o":
		for j := i + 1; j < end; j++ {
			if !p.at(j).glued && (t.text == "0" || p.at(j).raw == "l") {
				return false
			}
		}
		return !t.glued || p.at(i-1).kind == mark
	case "oh", "out":
		return true
	}
	return !t.glued || p.at(i-1).kind == mark || end-i > 1
}

func (p *parser) same(i int, texts []string) bool {
	for k, s := range texts {
		if p.at(i+k).text != s {
			return false
		}
	}
	return true
}
