package language

import (
	"strings"

	"triagebot/commonwords"
)

// What it takes to go on in another language.
const (
	oneIn      = 4 // of a first message without a word of English, one word in so many of a language tells
	firstWords = 2 // of a first message: so many words, and more than of English
	laterWords = 3 // of a later one, and twice as many as of the language so far
)

// Recognise gives the code of the language that a message is written in. It is
// current where the message does not tell: where it is short, unclear, or of
// both. first is true of an owner's first words; later on a language is left
// only for what is plainly another. also says of a word whether it is one of a
// language's own in the trade at hand; it may be nil.
func Recognise(text, current string, first bool, also func(code, word string) bool) string {
	words := split(text)
	known := func(l *Language, w string) bool { return l.words[w] || also != nil && also(l.Code, w) }
	count := map[string]int{}
	for _, w := range words {
		if in := languagesOf(w, known); len(in) == 1 { // what is a word of two tells of neither
			count[in[0]]++
		}
	}
	for _, l := range All() {
		if l.Letters != "" && strings.ContainsAny(strings.ToLower(text), l.Letters) {
			count[l.Code]++
		}
	}
	now := current
	if now == "" {
		now = Base
	}
	best := now
	for _, l := range All() { // in the order of their codes, so that a draw is always the same
		if count[l.Code] > count[best] {
			best = l.Code
		}
	}
	n, so := count[best], count[now]
	switch {
	case best == now:
	case first && now == Base && (n >= firstWords || so == 0 && oneIn*n >= len(words)):
		return best
	case n >= laterWords && n >= 2*so:
		return best
	}
	return current
}

// AskedFor finds a wish for a language ("auf Deutsch bitte"): its code, and what
// else the message says. ok is false when it holds none.
func AskedFor(text string) (code, rest string, ok bool) {
	if len(text) > longestWish {
		return "", text, false
	}
	words, from, to := places(text)
	for _, l := range All() {
		for _, wish := range l.asked {
			for i := 0; i+len(wish) <= len(words); i++ {
				if same(words[i:i+len(wish)], wish) {
					rest := strings.TrimSpace(text[:from[i]] + " " + text[to[i+len(wish)-1]:])
					if len(split(rest)) <= courtesy {
						rest = ""
					}
					return l.Code, rest, true
				}
			}
		}
	}
	return "", text, false
}

// A wish is short; beside it a word or two are courtesy and no message.
const (
	longestWish = 400
	courtesy    = 2
)

// places is split with the places of the words in the text.
func places(text string) (words []string, from, to []int) {
	start := -1
	flush := func(end int) {
		if start >= 0 {
			words, from, to = append(words, Plain(text[start:end])), append(from, start), append(to, end)
			start = -1
		}
	}
	for i, r := range text {
		if isLetter(r) {
			if start < 0 {
				start = i
			}
			continue
		}
		flush(i)
	}
	flush(len(text))
	return words, from, to
}

func same(a, b []string) bool {
	for i := range b {
		if a[i] != b[i] {
			return false
		}
	}
	return len(b) > 0
}

// languagesOf lists the languages of which a word is one. What only a word list
// knows counts as the base's where no other language has it.
func languagesOf(w string, known func(l *Language, w string) bool) []string {
	var in []string
	for _, l := range All() {
		if known(l, w) {
			in = append(in, l.Code)
		}
	}
	if len(in) == 0 && commonwords.Has(w) {
		in = append(in, Base)
	}
	return in
}
