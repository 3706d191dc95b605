package reading

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"
)

type kind uint8

const (
	word   kind = iota // letters, or one of % °
	number             // digits, with its value
	mark               // one sign
)

// token is a piece of the text with its place in it.
type token struct {
	kind       kind
	text       string // width folded; words in lower case
	raw        string // the same with capitals kept, because m and M differ
	start, end int    // bytes in the text
	glued      bool   // no blank before it
	fresh      bool   // first on its line

	value    float64
	decimals int
	unit     string  // said inside the digits: 4v2
	scale    float64 // said inside the digits: 1k2
	odd      bool    // digits that are no quantity: a date, a time, a version
	grouped  bool    // 1,234: thousands, or a decimal comma with three digits
	fraction bool    // one half as one sign
	lead     bool    // begins with its decimal sign: .85
}

// folded is the text as single runes with one spelling for signs that look
// alike, and the byte offset of each.
type folded struct {
	runes []rune
	at    []int
}

func fold(text string) folded {
	f := folded{
		runes: make([]rune, 0, len(text)),
		at:    make([]int, 0, len(text)+1),
	}
	for i := 0; i < len(text); {
		r, n := utf8.DecodeRuneInString(text[i:])
		if r == '\ufe0f' || r == '\u20e3' { // the frame of a keycap: its digits stand side by side
			i += n
			continue
		}
		f.runes = append(f.runes, foldRune(r))
		f.at = append(f.at, i)
		i += n
	}
	f.at = append(f.at, len(text))
	return f
}

func foldRune(r rune) rune {
	if r < 0x80 {
		return r
	}
	switch r {
	case '\u2010', '\u2011', '\u2012', '\u2013', '\u2014', '\u2212', '\ufe63', '\uff0d':
		return '-'
	case '\u2018', '\u2019', '\u02bc':
		return '\''
	case '\u2126': // ohm sign: the Greek letter is kept
		return 'Ω'
	case '\u00b5': // micro sign
		return 'μ'
	case '\u00ba', '\u02da': // ordinal and ring, typed for degrees
		return '°'
	case '\u2044', '\u2215':
		return '/'
	case utf8.RuneError:
		return ' '
	}
	if folded := width.LookupRune(r).Folded(); folded != 0 {
		return folded
	}
	return r
}

var vulgar = map[rune]float64{
	'½': 0.5, '¼': 0.25, '¾': 0.75, '⅓': 1.0 / 3, '⅔': 2.0 / 3, '⅕': 0.2, '⅖': 0.4,
	'⅗': 0.6, '⅘': 0.8, '⅛': 0.125, '⅜': 0.375, '⅝': 0.625, '⅞': 0.875,
}

func isDigit(r rune) bool { return '0' <= r && r <= '9' }

// lex cuts the text into tokens.
func lex(text string) []token {
	f := fold(text)
	var toks []token
	blank, fresh := true, true
	for i := 0; i < len(f.runes); {
		r := f.runes[i]
		if r == '\n' || r == '\r' {
			fresh = true
		}
		if unicode.IsSpace(r) || unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Me, r) || unicode.Is(unicode.Cf, r) || unicode.IsControl(r) {
			blank = true
			i++
			continue
		}
		t := f.next(i)
		t.glued, t.fresh = !blank, fresh
		end := i + len([]rune(t.raw))
		t.start, t.end = f.at[i], f.at[end]
		toks = append(toks, t)
		blank, fresh = false, false
		i = end
	}
	return unhyphen(toks)
}

// next reads the token at rune i; its raw text has one rune per rune read.
func (f folded) next(i int) token {
	r := f.runes[i]
	if t, ok := f.digits(i); ok {
		return t
	}
	if v, ok := vulgar[r]; ok {
		return token{kind: number, text: string(r), raw: string(r), value: v, decimals: -1, scale: 1, fraction: true}
	}
	if !unicode.IsLetter(r) && r != '°' && r != '%' {
		return token{kind: mark, text: string(r), raw: string(r)}
	}
	j := i + 1
	if r != '%' {
		for j < len(f.runes) && (unicode.IsLetter(f.runes[j]) || f.apostrophe(j)) {
			j++
		}
	}
	if k := numberStem(f.runes[i:j]); k > 0 {
		j = i + k
	}
	// A word longer than any in use is kept whole; it only costs its length.
	raw := make([]rune, 0, j-i)
	low := make([]rune, 0, j-i)
	for _, c := range f.runes[i:j] {
		raw = append(raw, c)
		low = append(low, unicode.ToLower(c))
	}
	return token{kind: word, text: string(low), raw: string(raw)}
}

// numberStem is how many runes of a word are a number word with "ish" grown
// on it (fiveish); 0 for any other word.
func numberStem(runes []rune) int {
	base, ok := strings.CutSuffix(strings.ToLower(string(runes)), "ish")
	if !ok || !isNumberWord(base) {
		return 0
	}
	return len(runes) - len("ish")
}

// apostrophe is true inside a word: don't, it's.
func (f folded) apostrophe(j int) bool {
	return f.runes[j] == '\'' && j+1 < len(f.runes) && unicode.IsLetter(f.runes[j+1])
}
