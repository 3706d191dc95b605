package search

import (
	"strings"

	"github.com/blevesearch/snowballstem"
	"github.com/blevesearch/snowballstem/english"

	"triagebot/kb"
)

// lexicon puts the words of a message into the terms in which the phrases are
// indexed: mended, synonyms brought together, stems, opposites as one concept
// with a sign.
type lexicon struct {
	g      *grammar
	speak  *speller
	same   seqs // runs of stems -> the words kept
	stems  map[string]string
	ids    map[string]int32 // term -> its number
	names  []string
	parts  set // stems that name a part of the thing
	verbs  set // those of them that are verbs as well (charge, brake)
	things set // stems that name the thing itself
	trade  set // stems of the trade, for telling chatter from matters of ours
	light  set // stems of the light words

	without map[Piece]bool
}

// workTerm is the concept of the opposites "works" and "is dead", which are what
// is left out of a sentence ("the horn too") and what one word can say of a part.
const workTerm = "=work"

const thing = "<thing>" // the term of everything that names the thing itself

// newLexicon gathers the vocabulary of k.
func newLexicon(g *grammar, k *kb.KB, without map[Piece]bool) *lexicon {
	l := &lexicon{g: g, without: without, stems: map[string]string{}, ids: map[string]int32{}, parts: set{}, things: set{}, trade: set{}}
	known := map[string]int{}
	learn := func(texts ...string) {
		for _, t := range texts {
			for _, w := range g.split(t) {
				if !hasDigit(w.text) {
					known[w.text]++
				}
			}
		}
	}
	for _, s := range k.Symptoms {
		learn(s.Phrases...)
		learn(s.Absent...)
	}
	for _, kit := range k.Kits {
		learn(kit.Words...)
	}
	for _, c := range k.Checks {
		learn(c.Name)
		learn(c.Phrases...)
		for _, o := range c.Options {
			learn(o.Phrases...)
		}
	}
	for _, group := range k.Words.Same {
		learn(group...)
	}
	learn(k.Words.Parts...)
	for _, lists := range []map[string][]string{k.Words.Kinds, k.Words.Told, k.Words.Denied, k.Words.Figures} {
		for _, items := range lists {
			for _, item := range items {
				if !strings.Contains(item, "<") {
					learn(item)
				}
			}
		}
	}
	for _, words := range k.Words.Tools {
		learn(words...)
	}
	for _, right := range k.Words.Spelling {
		learn(right)
	}
	learn(k.About.Thing)
	for _, words := range []set{g.light, g.auxiliary, g.joints, g.answers} {
		for w := range words {
			known[w]++
		}
	}
	for w := range g.base {
		known[w]++
	}
	for w := range g.poles {
		known[w]++
	}
	l.speak = newSpeller(known, k.Words.Spelling, g.tongue)
	l.speak.alone = g.roles["alone"]
	for w := range known {
		l.stems[w] = l.freshStem(w)
	}
	l.light = set{}
	for w := range g.light {
		l.light[l.stem(w)] = true
	}
	l.same = seqs{}
	if !without[Synonyms] {
		l.learnSame(k.Words.Same)
	}
	l.learnParts(k)
	return l
}

// learnSame turns groups of synonyms into rewriting rules over stems.
func (l *lexicon) learnSame(groups [][]string) {
	for _, group := range groups {
		if len(group) < 2 {
			continue
		}
		keep := joinWords(l.g.split(group[0]))
		for _, other := range group[1:] {
			words := l.g.split(other)
			if len(words) == 0 {
				continue
			}
			pattern := make([]string, len(words))
			for i, w := range words {
				pattern[i] = l.sameStem(w.text)
			}
			l.same.add(strings.Join(pattern, " "), keep)
		}
	}
}

// sameStem is the word as synonyms are compared: a stem, but for verbs in a form
// of their own, so that "stopped lighting" is no stop light.
func (l *lexicon) sameStem(w string) string {
	if strings.HasSuffix(w, "ing") || strings.HasSuffix(w, "ed") {
		return w
	}
	return l.stem(w)
}

// learnParts notes which words name parts, and which the thing itself.
func (l *lexicon) learnParts(k *kb.KB) {
	note := func(to set, text string) {
		for _, w := range l.plainWords(text) {
			if !l.g.light[w.text] && len(w.text) > 2 && !hasDigit(w.text) {
				to[l.stem(w.text)] = true
			}
		}
	}
	for _, c := range k.Causes {
		note(l.parts, c.Part)
	}
	for _, kit := range k.Kits {
		for _, p := range kit.Parts {
			note(l.parts, strings.ReplaceAll(p, "-", " "))
		}
		for _, w := range kit.Words {
			if kit.ID == k.About.Generic {
				break // they say that it is not known
			}
			if words := l.plainWords(w); len(words) == 1 {
				l.things[l.stem(words[0].text)] = true
			}
		}
	}
	named := set{}
	for _, w := range k.Words.Parts {
		note(named, w)
	}
	for _, group := range k.Words.Same {
		if words := l.plainWords(group[0]); len(words) == 1 && named[l.stem(words[0].text)] {
			l.parts[l.stem(words[0].text)] = true
		}
	}
	note(l.things, k.About.Thing)
	for w := range l.things {
		delete(l.parts, w)
	}
	l.verbs = set{}
	for w := range l.speak.known {
		if stem := l.stem(w); l.parts[stem] && w != stem && endsIn(w, l.g.stopped) {
			l.verbs[stem] = true
		}
	}
	for w := range l.parts {
		l.trade[w] = true
	}
	for w := range l.things {
		l.trade[w] = true
	}
	for _, w := range k.Words.Parts {
		note(l.trade, w)
	}
	for _, words := range k.Words.Tools {
		for _, w := range words {
			// Of "phone charger" neither word alone is of the trade.
			if len(l.plainWords(w)) == 1 {
				note(l.trade, w)
			}
		}
	}
}

// plainWords reads text into plain words with synonyms brought together.
func (l *lexicon) plainWords(text string) []word {
	words := l.g.split(text)
	if !l.without[Spelling] {
		words = l.speak.mend(words)
	}
	words = l.g.joinPairs(words)
	words = replace(words, l.g.rewrite, func(i int) string { return words[i].text })
	return replace(words, l.same, func(i int) string { return l.sameStem(words[i].text) })
}

// joinPairs writes the second half of a pair as the word it stands for there:
// in "weder dick noch heiß", "noch" is "or"; alone it is "still".
func (g *grammar) joinPairs(words []word) []word {
	var open [2]string
	for i := range words {
		if pair, ok := g.pairs[words[i].text]; ok {
			open = pair
		} else if open[0] != "" && words[i].text == open[0] {
			words[i].text, open = open[1], [2]string{}
		}
	}
	return words
}

// replace writes the right side of each rule for the words it finds.
func replace(words []word, rules seqs, key func(int) string) []word {
	out := make([]word, 0, len(words))
	for i := 0; i < len(words); {
		q, n := rules.at(key, i, len(words))
		if n == 0 || crossesStop(words[i:i+n]) {
			out = append(out, words[i])
			i++
			continue
		}
		w := words[i]
		w.end = words[i+n-1].end
		out = appendWords(out, w, strings.Fields(q.to)...)
		i += n
	}
	return out
}

func crossesStop(words []word) bool {
	for _, w := range words[1:] {
		if w.before != none {
			return true
		}
	}
	return false
}

func joinWords(words []word) string {
	texts := make([]string, len(words))
	for i, w := range words {
		texts[i] = w.text
	}
	return strings.Join(texts, " ")
}

func (l *lexicon) stem(w string) string {
	if s, ok := l.stems[w]; ok {
		return s
	}
	return l.freshStem(w)
}

func (l *lexicon) freshStem(w string) string {
	if hasDigit(w) {
		return digitsAway(w)
	}
	if base, ok := l.g.base[w]; ok {
		w = base
	}
	if len(w) > 40 {
		return w
	}
	if l.g.lang != nil {
		return l.g.lang.Stem(w)
	}
	env := snowballstem.NewEnv(w)
	english.Stem(env)
	return env.Current()
}

// digitsAway writes # for a run of digits: one number is as good as another
// in a phrase.
func digitsAway(w string) string {
	var b strings.Builder
	in := false
	for _, r := range w {
		if r >= '0' && r <= '9' || in && (r == '.' || r == ',') {
			if !in {
				b.WriteByte('#')
			}
			in = true
			continue
		}
		in = false
		b.WriteRune(r)
	}
	return b.String()
}

// id gives the number of a term, or -1 when the index does not have it.
func (l *lexicon) id(term string) int32 {
	if id, ok := l.ids[term]; ok {
		return id
	}
	return -1
}

// learnTerm gives a new term a number.
func (l *lexicon) learnTerm(term string) int32 {
	id, ok := l.ids[term]
	if !ok {
		id = int32(len(l.names))
		l.ids[term] = id
		l.names = append(l.names, term)
	}
	return id
}
