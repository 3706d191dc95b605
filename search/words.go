package search

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// breach is how much stands between a word and the one before it.
type breach uint8

const (
	none  breach = iota
	comma        // a comma, a dash, a bracket
	stop         // the end of a sentence
)

// word is one word of a message, made plain.
type word struct {
	text       string
	start, end int    // bytes in the message
	before     breach // what stands before it
	asked      bool   // its sentence ends with a question mark
}

// cut takes the first n runes of text.
func cut(text string, n int) string {
	count := 0
	for i := range text {
		if count == n {
			return text[:i]
		}
		count++
	}
	return text
}

// split takes a message apart into plain words: lower case, no accents, no
// apostrophes; symbols stay as words of their own, punctuation becomes breaches.
func (g *grammar) split(text string) []word {
	return g.joinContractions(g.splitRaw(cut(text, MaxRunes)))
}

// joinContractions mends what a phone tore apart: "won t", "it s".
func (g *grammar) joinContractions(in []word) []word {
	out := in[:0:0]
	for i := 0; i < len(in); i++ {
		if i+1 < len(in) && len(in[i+1].text) == 1 && in[i+1].before == none {
			if to, ok := g.contractions[in[i].text+in[i+1].text]; ok {
				w := in[i]
				w.end = in[i+1].end
				out = appendWords(out, w, to...)
				i++
				continue
			}
		}
		if g.is("torn", in[i].text) && in[i].before == none && len(out) > 0 && g.is("not", out[len(out)-1].text) {
			continue // "isn" has told it already
		}
		out = append(out, in[i])
	}
	return out
}

func (g *grammar) splitRaw(text string) []word {
	var out []word
	var gap breach
	first := 0 // the first word of the sentence
	for i := 0; i < len(text); {
		r, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			j := endOfWord(text, i)
			for _, w := range g.expand(text[i:j], i) {
				w.before, gap = gap, none
				out = append(out, w)
			}
			i = j
			continue
		case r == '?' || r == '？':
			for k := first; k < len(out); k++ {
				out[k].asked = true
			}
			gap = stop
		case strings.ContainsRune(".!;:\n…。！", r):
			gap = stop
		case strings.ContainsRune(",()[]{}-–—/\"|、，", r):
			gap = max(gap, comma)
		case r == '&' || r == '+' || r == '@':
			if w, ok := g.contractions[string(r)]; ok {
				out = append(out, word{text: w[0], start: i, end: i + size, before: gap})
				gap = none
			}
		case r == utf8.RuneError && size <= 1:
		case unicode.IsSymbol(r):
			if w, ok := g.emoji[string(r)]; ok {
				// A row of the same sign is said once, and a sign stands for itself.
				if len(out) == 0 || out[len(out)-1].text != w || out[len(out)-1].end != i {
					out = append(out, word{text: w, start: i, end: i + size, before: max(gap, comma)})
				} else {
					out[len(out)-1].end = i + size
				}
				gap = comma
			} else if r >= firstPictograph {
				gap = max(gap, comma)
			}
		}
		if gap == stop {
			first = len(out)
		}
		i += size
	}
	return out
}

// firstPictograph is where signs that stand for themselves begin: one that is
// not known still parts what is said before it from what is said behind it.
const firstPictograph = 0x2600

// endOfWord is where the run of letters, digits and inner apostrophes from i ends.
func endOfWord(text string, i int) int {
	for i < len(text) {
		r, size := utf8.DecodeRuneInString(text[i:])
		inner := isApostrophe(r) || r == '.' || r == ',' || r == '\u00ad' || r == '\u200b' || r == '\u200d'
		switch {
		case unicode.IsLetter(r) || unicode.IsDigit(r) || unicode.Is(unicode.Mn, r):
		case inner && i+size < len(text):
			next, _ := utf8.DecodeRuneInString(text[i+size:])
			last, _ := utf8.DecodeLastRuneInString(text[:i])
			number := unicode.IsDigit(next) && unicode.IsDigit(last)
			if (r == '.' || r == ',') && !number || !unicode.IsLetter(next) && !unicode.IsDigit(next) {
				return i
			}
		default:
			return i
		}
		i += size
	}
	return i
}

func isApostrophe(r rune) bool { return r == '\'' || r == '’' || r == '‘' || r == '`' || r == '´' }

// expand makes one written word plain and opens what is drawn together:
// "don't" is two words, "yarrow72" too.
func (g *grammar) expand(raw string, at int) []word {
	plainWord := g.plain(raw)
	var parts []string
	for _, p := range splitDigits(plainWord) {
		if to, ok := g.contractions[p]; ok {
			parts = append(parts, to...)
		} else if stem, ok := strings.CutSuffix(p, "nt"); ok && strings.ContainsFunc(raw, isApostrophe) && g.auxiliary[stem] {
			parts = append(parts, stem, "not")
		} else {
			parts = append(parts, p)
		}
	}
	out := make([]word, len(parts))
	for i, p := range parts {
		out[i] = word{text: p, start: at, end: at + len(raw)}
	}
	return out
}

// plain is lower case without accents, apostrophes and joiners; a possessive
// or "is" drawn in with an apostrophe is dropped, and a letter that somebody
// leaned on ("deaaaad") is written twice at most.
func plain(raw string) string {
	if ascii(raw) {
		return strings.ToLower(raw)
	}
	var b strings.Builder
	s := norm.NFKD.String(raw)
	for i, r := range s {
		if isApostrophe(r) {
			if rest := strings.ToLower(s[i+utf8.RuneLen(r):]); rest == "s" && i > 2 {
				break
			}
			continue
		}
		if unicode.Is(unicode.Mn, r) || unicode.Is(unicode.Cf, r) {
			continue
		}
		b.WriteRune(unicode.ToLower(r))
	}
	return thin(b.String())
}

// ascii reports plain letters and digits, where there is nothing to be done.
func ascii(s string) bool {
	run := 0
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c >= utf8.RuneSelf || c == '\'' || c == '`' {
			return false
		}
		if i > 0 && c|0x20 == s[i-1]|0x20 {
			run++
		} else {
			run = 0
		}
		if run >= 2 {
			return false
		}
	}
	return true
}

func thin(s string) string {
	var b strings.Builder
	run, last := 0, rune(-1)
	for _, r := range s {
		if r == last && !unicode.IsDigit(r) {
			run++
		} else {
			run = 0
		}
		if run < 2 {
			b.WriteRune(r)
		}
		last = r
	}
	return b.String()
}

// splitDigits parts digits from the letters after them, and from three or
// more letters before them; "e07" is one word.
func splitDigits(s string) []string {
	if !strings.ContainsFunc(s, unicode.IsDigit) || strings.IndexFunc(s, unicode.IsLetter) < 0 {
		return []string{s}
	}
	var out []string
	from := 0
	for i, r := range s {
		if i == from {
			continue
		}
		last, _ := utf8.DecodeLastRuneInString(s[:i])
		letterNext := unicode.IsLetter(r) && unicode.IsDigit(last)
		digitNext := unicode.IsDigit(r) && unicode.IsLetter(last) && i-from >= 3
		if letterNext || digitNext {
			out = append(out, s[from:i])
			from = i
		}
	}
	return append(out, s[from:])
}
