package reading

import "strings"

// andPart adds "and a half", "½", "1/2" to a whole number.
func (p *parser) andPart(a amount, i int) (amount, int, bool) {
	if !a.whole || a.part {
		return a, i, true
	}
	j := i
	if t := p.at(i); t.kind == number && t.fraction {
		a.value, a.decimals, a.whole = a.value+t.value, -1, false
		return a, i + 1, true
	}
	if v, n, ok := p.slashed(i); ok && !a.spoken {
		a.value, a.decimals, a.whole = a.value+v, -1, false
		return a, n, true
	}
	if t := p.at(j).text; t != "and" && t != "n" && t != "&" {
		return a, i, true
	}
	j++
	if v, n, ok := p.partWord(j); ok {
		a.value, a.decimals, a.whole = a.value+v, -1, false
		return a, n, true
	}
	return a, i, true
}

// partWord reads "a half", "three quarters".
func (p *parser) partWord(i int) (float64, int, bool) {
	t := p.at(i).text
	if v, ok := parts[t]; ok {
		return v, i + 1, true
	}
	if t == "a" || t == "one" || t == "an" {
		if v, ok := parts[p.at(i+1).text]; ok {
			return v, i + 2, true
		}
	}
	if u, n, ok := p.count(i); ok {
		i = n - 1
		switch p.at(i + 1).text {
		case "hundredths":
			return u / 100, i + 2, true
		case "quarters", "quaters":
			return u / 4, i + 2, true
		case "thirds":
			return u / 3, i + 2, true
		case "tenths":
			return u / 10, i + 2, true
		}
	}
	return 0, i, false
}

// count reads a whole number in front of tenths, quarters and the like.
func (p *parser) count(i int) (float64, int, bool) {
	if plainDigits(p.at(i)) && len(p.at(i).text) <= 2 {
		return p.at(i).value, i + 1, true
	}
	if _, fits := foreign[p.at(i).text]; fits {
		return 0, i, false
	}
	return p.small(i)
}

// slashed reads 1/2 as a fraction.
func (p *parser) slashed(i int) (float64, int, bool) {
	a, b := p.at(i), p.at(i+2)
	if a.kind != number || p.at(i+1).text != "/" || b.kind != number || !p.at(i+1).glued || !b.glued ||
		a.decimals != 0 || b.decimals != 0 || a.odd || b.odd || a.value < 1 || a.value >= b.value {
		return 0, i, false
	}
	switch b.value {
	case 2, 3, 4, 5, 8, 10:
		return a.value / b.value, i + 3, true
	}
	return 0, i, false
}

// fractionOf reads a fraction that stands for itself before a unit: "half a
// volt", "a quarter of a volt", "1/2 V", "a volt and a half".
func (p *parser) fractionOf(i int) (amount, int, bool) {
	v, n, ok := p.partWord(i)
	if !ok {
		v, n, ok = p.slashed(i)
	}
	if !ok {
		return amount{}, i, false
	}
	bare := strings.HasPrefix(p.at(n-1).text, "tenth") || strings.HasPrefix(p.at(n-1).text, "hundredth") // are always of the unit
	if p.at(n).text == "of" {
		n++
	}
	if t := p.at(n).text; t == "a" || t == "an" {
		n++
	}
	return amount{value: v, decimals: -1, inScale: 1, part: !bare || p.want == "", spoken: true}, n, true
}
