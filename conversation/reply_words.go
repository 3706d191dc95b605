package conversation

import (
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/width"

	"triagebot/reading"
)

// heardWord is one word of a message, contractions taken apart.
type heardWord struct {
	text       string
	stem       string
	clause     int  // words of one clause share a number
	denied     bool // under a negation
	start, end int  // bytes in the message
}

// message is one reply on its way to being understood.
type message struct {
	q     Question
	text  string
	cues  *cueBook
	words []heardWord
	mark  bool // ends in a question mark
	found []reading.Quantity

	examples *exampleBook
	offers   *[2]*offer // the options and their labels, worked out when needed; shared by parts of the message
}

func (r *Reader) hear(q Question, text string) *message {
	m := &message{q: q, text: text, cues: r.cues, examples: r.examples, offers: &[2]*offer{}}
	m.words = withoutTail(r.cues.words(text))
	m.cues.mend(m.words, q)
	m.cues.deny(m.words)
	m.mark = strings.HasSuffix(strings.TrimRight(text, " \n\t"), "?")
	m.found = reading.FindIn(r.cues.code(), text, q.Unit)
	return m
}

// withoutTail takes off the signs behind a message of words: "done 👍" is done.
func withoutTail(words []heardWord) []heardWord {
	n := len(words)
	for n > 1 && words[n-1].text[0] >= 0x80 && !unicode.IsLetter([]rune(words[n-1].text)[0]) {
		n--
	}
	return words[:n]
}

// clip keeps the first n runes and makes the text valid UTF-8.
func clip(text string, n int) string {
	var b strings.Builder
	for i := 0; i < len(text) && n > 0; n-- {
		r, size := utf8.DecodeRuneInString(text[i:])
		if r == utf8.RuneError || unicode.IsControl(r) && r != '\n' && r != '\t' {
			r = ' '
		}
		b.WriteRune(r)
		i += size
	}
	return b.String()
}

// words cuts text into lower-case words, figures and signs that speak (an
// emoji); it takes contractions apart and counts clauses.
func (c *cueBook) words(text string) []heardWord {
	var out []heardWord
	clause := 0
	runes, at := runesOf(text)
	for i := 0; i < len(runes); {
		r := runes[i]
		j := i + 1
		switch {
		case unicode.IsLetter(r):
			for j < len(runes) && (unicode.IsLetter(runes[j]) || runes[j] == '\'' && j+1 < len(runes) && unicode.IsLetter(runes[j+1])) {
				j++
			}
		case unicode.IsDigit(r):
			for j < len(runes) && (unicode.IsDigit(runes[j]) || (runes[j] == '.' || runes[j] == ',') && j+1 < len(runes) && unicode.IsDigit(runes[j+1])) {
				j++
			}
		case strings.ContainsRune(",.;:!?()\n\"/", r), r == '-' && (i == 0 || runes[i-1] == ' '):
			clause++
			i++
			continue
		case r >= 0x1F3FB && r <= 0x1F3FF: // the colour of a hand
			i++
			continue
		case unicode.Is(unicode.So, r) || unicode.Is(unicode.Sk, r) && r > 0x1000:
		default:
			i++
			continue
		}
		for _, w := range c.expand(c.folded(string(runes[i:j]))) {
			if c.breaks[w] {
				clause++
			}
			out = append(out, heardWord{text: w, stem: c.stem(w), clause: clause, start: at[i], end: at[j]})
		}
		i = j
	}
	return out
}

func runesOf(text string) ([]rune, []int) {
	var runes []rune
	var at []int
	for i, r := range text {
		switch r {
		case '\u2018', '\u2019', '\u02bc', '`', '\u00b4':
			r = '\''
		case '\u2013', '\u2014', '\u2212':
			r = '-'
		}
		if w := width.LookupRune(r).Folded(); w != 0 {
			r = w
		}
		runes = append(runes, unicode.ToLower(r))
		at = append(at, i)
	}
	return runes, append(at, len(text))
}

// expand takes a contraction apart: don't and dont are "do not".
func (c *cueBook) expand(w string) []string {
	if out, ok := c.short[w]; ok {
		return out
	}
	if base, ok := strings.CutSuffix(w, "n't"); ok && base != "" {
		return []string{base, "not"}
	}
	if i := strings.IndexByte(w, '\''); i > 0 {
		if tail, ok := c.short[w[i:]]; ok {
			return append([]string{w[:i]}, tail...)
		}
		return []string{strings.ReplaceAll(w, "'", "")}
	}
	return []string{w}
}

// mend repairs spelling: a word of five letters or more that is not known is
// taken for the one known word that is a single slip away. A plain English word
// is no slip.
func (c *cueBook) mend(words []heardWord, q Question) {
	known := map[string]bool{}
	for _, s := range questionTexts(q) {
		for _, w := range c.askedWords(s) {
			known[w.text] = true
		}
	}
	for i, w := range words {
		if len(w.text) < 4 || len(w.text) > 20 || known[w.text] || c.known[w.text] || !isASCII(w.text) || c.isCommon(w.text) {
			continue
		}
		best := ""
		sets := []map[string]bool{known, c.known}
		if len(w.text) == 4 { // short words have many neighbours: only the question's own count
			sets = sets[:1]
		}
		for _, set := range sets {
			for k := range set {
				if len(k) >= 5 && k[0] == w.text[0] && oneSlip(w.text, k) && likely(w.text, k) && (best == "" || k < best) {
					best = k
				}
			}
			if best != "" {
				break
			}
		}
		if best != "" {
			words[i].text, words[i].stem = best, c.stem(best)
		}
	}
}

func isDigit(b byte) bool { return '0' <= b && b <= '9' }

func isASCII(s string) bool {
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}

func questionTexts(q Question) []string {
	out := []string{q.Asked}
	for _, o := range q.Options {
		out = append(out, o.Label)
		out = append(out, o.Phrases...)
	}
	return out
}

// likely keeps short words from being taken for each other: brake is not broke.
// A slip that leaves the same letters, or one that repeats or drops one, is fair.
func likely(a, b string) bool {
	return len(a) != len(b) || len(a) >= 7 || sortedLetters(a) == sortedLetters(b)
}

func sortedLetters(s string) string {
	b := []byte(s)
	slices.Sort(b)
	return string(b)
}

// oneSlip reports whether a becomes b by one letter left out, put in, changed
// or two swapped.
func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	if len(b)-len(a) > 1 {
		return false
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	if len(a) < len(b) {
		return a[i:] == b[i+1:]
	}
	if i >= len(a)-1 {
		return true
	}
	return a[i+1:] == b[i+1:] || a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
}

// deny marks the words under a negation: those behind it in its clause, up to
// an "and". A "no" that answers ("no it spins") denies nothing behind it.
func (c *cueBook) deny(words []heardWord) {
	left, clause := 0, -1
	for i := range words {
		w := &words[i]
		if w.clause != clause {
			left, clause = 0, w.clause
		}
		switch {
		case c.ends[w.text]:
			left = 0
		case c.negators[w.text]:
			if w.text == "no" && i+1 < len(words) && (words[i+1].clause != w.clause || c.pronouns[words[i+1].text]) {
				continue
			}
			left = 5
		case left > 0:
			w.denied = true
			left--
		}
	}
}
