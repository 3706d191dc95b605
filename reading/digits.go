package reading

import (
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// longest is how many runes a number may have. No meter shows more, and a
// longer run is a key press held down, not a figure.
const longest = 40

// The shapes digits come in. Each is tried at the place where digits begin, in
// this order, so the narrower ones stand first.
var (
	shapeGrouped  = regexp.MustCompile(`^\d{1,3}(?:,\d{3})+\.\d+`)           // 1,234.5
	shapeEuropean = regexp.MustCompile(`^[1-9]\d{0,2}(?:\.\d{3})+,\d+`)      // 1.234,5
	shapeSwiss    = regexp.MustCompile(`^[1-9]\d{0,2}(?:'\d{3})+(?:\.\d+)?`) // 1'234.5
	shapeGroups   = regexp.MustCompile(`^[1-9]\d{0,2}(?:(?:,\d{3}){2,}|(?:\.\d{3}){2,})`)
	shapeThree    = regexp.MustCompile(`^[1-9]\d{0,2},\d{3}`) // 1,234 or 1.234
	shapeOh       = regexp.MustCompile(`^[0-9oO]+[.,][0-9oO]+`)
	shapeDot      = regexp.MustCompile(`^\d*\.\d+`)
	shapeComma    = regexp.MustCompile(`^\d*,\d+`)
	shapePlain    = regexp.MustCompile(`^\d+`)

	shapeDate   = regexp.MustCompile(`^\d{1,4}([-/.])\d{1,2}[-/.]\d{1,4}`)
	shapeTime   = regexp.MustCompile(`^\d{1,3}(?::\d{1,3})+`)
	shapeDotted = regexp.MustCompile(`^\d+(?:\.\d+){2,}`)
	shapeCommas = regexp.MustCompile(`^\d+(?:,\d+){2,}`)
	shapePower  = regexp.MustCompile(`^[eE][+-]?\d+`)
	shapeInside = regexp.MustCompile(`^(\d{1,3})([vVrRkKMΩ])(\d{1,3})`) // 4v2, 1k2, 4R7
)

// digits reads a number written in digits at rune i.
func (f folded) digits(i int) (token, bool) {
	r := f.runes[i]
	switch {
	case isDigit(r):
	case (r == '.' || r == ',') && i+1 < len(f.runes) && isDigit(f.runes[i+1]) && !f.digitBefore(i) && !f.dotBefore(i):
	case (r == 'o' || r == 'O') && !f.letterBefore(i):
	case (r == 'l' || r == 'I') && !f.letterBefore(i) && (f.peek(i+1) == '.' || f.peek(i+1) == ',') && isDigit(f.peek(i+2)): // l.56
	default:
		return token{}, false
	}
	run := f.run(i)
	if r == 'l' || r == 'I' {
		run = "1" + f.run(i+1)
	}
	if len(run) > longest {
		if !isDigit(r) {
			return token{}, false
		}
		n := len(run)
		for i+n < len(f.runes) && (isDigit(f.runes[i+n]) || f.runes[i+n] == '.' || f.runes[i+n] == ',') {
			n++
		}
		raw := string(f.runes[i : i+n])
		return token{kind: number, text: raw, raw: raw, odd: true}, true
	}
	t, ok := shape(run)
	if !ok {
		return token{}, false
	}
	// A letter O stands for a zero in 5.O2 V, not in 5.OK.
	if after := f.peek(i + len(t.raw)); strings.ContainsAny(t.raw, "oO") && unicode.IsLetter(after) && !strings.ContainsRune("vVΩ", after) {
		if !isDigit(r) {
			return token{}, false
		}
		m := shapePlain.FindString(run)
		t = plain(m, m)
	}
	t.lead = r == '.' || r == ','
	t.kind, t.text = number, t.raw
	return t, true
}

// run is the text from rune i while it can belong to a number; beyond longest
// it stops, so that a page of digits is looked at once.
func (f folded) run(i int) string {
	var b strings.Builder
	for ; i < len(f.runes) && b.Len() <= longest; i++ {
		r := f.runes[i]
		if r == 'Ω' {
			r = 'R' // one byte a rune, so that lengths agree; it means ohms in 4R7
		}
		if !isDigit(r) && !strings.ContainsRune(".,':/-+eEvVrRkKMoO", r) {
			if r < 0x80 && unicode.IsLetter(r) {
				b.WriteRune(r) // a letter behind: lets a shape see that it is not at its end
			}
			break
		}
		b.WriteRune(r)
	}
	return b.String()
}

func shape(s string) (token, bool) {
	if m := shapeDotted.FindString(s); m != "" && shapeGroups.FindString(s) != m {
		return token{raw: m, odd: true}, true
	}
	for _, re := range []*regexp.Regexp{shapeDate, shapeTime} {
		if m := re.FindString(s); m != "" && !digitAt(s, len(m)) {
			if re == shapeDate && strings.Count(m, ".") == 1 {
				continue // 3.9-4.1 is a range
			}
			return token{raw: m, odd: true}, true
		}
	}
	if m := shapeInside.FindStringSubmatch(s); m != nil && !alnumAt(s, len(m[0])) && !sepDigit(s, len(m[0])) {
		t := plain(m[0], m[1]+"."+m[3])
		switch strings.ToLower(m[2]) {
		case "v":
			t.unit = Volt
		case "r":
			t.unit = Ohm
		case "k":
			t.scale = 1e3
		case "m":
			t.scale = 1e6
		}
		return t, true
	}
	if m := shapeOh.FindString(s); m != "" && strings.ContainsAny(m, "oO") && strings.ContainsAny(m, "0123456789") && !sepDigit(s, len(m)) {
		return plain(m, strings.NewReplacer("o", "0", "O", "0", ",", ".").Replace(m)), true
	}
	for _, re := range []*regexp.Regexp{shapeGrouped, shapeEuropean, shapeSwiss, shapeGroups} {
		m := re.FindString(s)
		if m == "" || digitAt(s, len(m)) || sepDigit(s, len(m)) {
			continue
		}
		switch re {
		case shapeEuropean:
			return plain(m, strings.ReplaceAll(strings.ReplaceAll(m, ".", ""), ",", ".")), true
		case shapeGroups:
			return plain(m, strings.NewReplacer(".", "", ",", "").Replace(m)), true
		}
		return plain(m, strings.NewReplacer(",", "", "'", "").Replace(m)), true
	}
	if m := shapeCommas.FindString(s); m != "" && !strings.HasPrefix(s[len(m):], ".") {
		return token{raw: m, odd: true}, true
	}
	if m := shapeDot.FindString(s); m != "" {
		return power(s, plain(m, m)), true
	}
	if m := shapeComma.FindString(s); m != "" && !(len(s) > len(m)+1 && s[len(m)] == '.' && digitAt(s, len(m)+1)) {
		t := plain(m, strings.Replace(m, ",", ".", 1))
		t.grouped = shapeThree.FindString(s) == m
		return power(s, t), true
	}
	if m := shapePlain.FindString(s); m != "" {
		return power(s, plain(m, m)), true
	}
	return token{}, false
}

// power takes in an exponent: 1e3. A value beyond all measure is no quantity.
func power(s string, t token) token {
	e := shapePower.FindString(s[len(t.raw):])
	if e == "" || alnumAt(s, len(t.raw)+len(e)) {
		return t
	}
	v, err := strconv.ParseFloat(strings.Replace(t.raw, ",", ".", 1)+e, 64)
	t.raw += e
	t.value, t.decimals, t.odd = v, -1, err != nil
	return t
}

// plain makes a token of the runes raw that reads as the decimal number text.
func plain(raw, text string) token {
	if strings.HasPrefix(text, ".") {
		text = "0" + text
	}
	v, err := strconv.ParseFloat(text, 64)
	t := token{raw: raw, value: v, scale: 1, odd: err != nil}
	if i := strings.IndexByte(text, '.'); i >= 0 {
		t.decimals = len(text) - i - 1
	}
	return t
}

func digitAt(s string, i int) bool { return i < len(s) && isDigit(rune(s[i])) }

func alnumAt(s string, i int) bool {
	return digitAt(s, i) || i < len(s) && unicode.IsLetter(rune(s[i]))
}

// sepDigit is true when the number would go on: a separator and a digit.
func sepDigit(s string, i int) bool {
	return i < len(s) && (s[i] == '.' || s[i] == ',') && digitAt(s, i+1)
}

func (f folded) peek(i int) rune {
	if i < len(f.runes) {
		return f.runes[i]
	}
	return 0
}

func (f folded) digitBefore(i int) bool { return i > 0 && isDigit(f.runes[i-1]) }

func (f folded) letterBefore(i int) bool {
	return i > 0 && (unicode.IsLetter(f.runes[i-1]) || isDigit(f.runes[i-1]))
}

func (f folded) dotBefore(i int) bool { return i > 0 && f.runes[i-1] == '.' }
