package search

import (
	"cmp"
	"slices"
	"strings"

	"triagebot/kb"
)

// named is one way to name a kit or a tool.
type named struct {
	id    string
	words []string // stems
	own   bool     // the name itself, not just a kind of thing ("the moped")
	any   bool     // a way to say that the kit is not known
}

func (l *lexicon) kitNames(k *kb.KB) []named {
	var out []named
	for _, kit := range k.Kits {
		generic := kit.ID == k.About.Generic
		id := strings.ReplaceAll(kit.ID, "-", " ")
		for _, w := range append([]string{id}, kit.Words...) {
			words := l.literal(w)
			name := named{id: kit.ID, words: words, own: len(words) > 0 && isNear(words[0], strings.Fields(id)[0])}
			if generic {
				name.own, name.any = false, true
			}
			out = append(out, name)
		}
	}
	sortNames(out)
	return out
}

// isNear reports whether a word is a name, or a way to misspell it.
func isNear(word, name string) bool { return distance(word, name, 2) <= 2 }

func (l *lexicon) toolNames(k *kb.KB) []named {
	var out []named
	for id, words := range k.Words.Tools {
		for _, w := range words {
			out = append(out, named{id: id, words: l.literal(w)})
		}
	}
	sortNames(out)
	return out
}

// sortNames puts the longer names first, and makes the order fixed.
func sortNames(names []named) {
	slices.SortFunc(names, func(a, b named) int {
		return cmp.Or(
			cmp.Compare(len(b.words), len(a.words)),
			strings.Compare(a.id, b.id),
			slices.Compare(a.words, b.words))
	})
}

// literal reads text into words as they are compared for names: synonyms
// brought together, numbers kept.
func (l *lexicon) literal(text string) []string {
	var out []string
	for _, w := range l.plainWords(text) {
		if !l.g.subjects[w.text] {
			out = append(out, l.literalWord(w.text))
		}
	}
	return out
}

func (l *lexicon) literalWord(w string) string {
	if hasDigit(w) {
		return w
	}
	return l.stem(w)
}

// nameAt finds the name that begins at token i.
func (l *lexicon) nameAt(names []named, t *text, i int) (named, bool) {
	for _, n := range names {
		if len(n.words) == 0 || i+len(n.words) > len(t.tokens) {
			continue
		}
		if l.namedAt(n.words, t, i) {
			return n, true
		}
	}
	return named{}, false
}

// namedAt reports whether the words stand at token i, but for articles and the like.
func (l *lexicon) namedAt(words []string, t *text, i int) bool {
	at := i
	for j, w := range words {
		for j > 0 && at < len(t.tokens) && l.g.subjects[t.tokens[at].text] {
			at++
		}
		if at >= len(t.tokens) || t.tokens[at].literal() != w || at > i && t.tokens[at].before == stop {
			return false
		}
		at++
	}
	return true
}

// kitIn finds the kit the owner speaks of: its own name before a kind of
// thing, the first before later ones, and never one that is denied; a word that
// the kit is not known only counts when nothing else names it.
func (x *Index) kitIn(t *text) string {
	kind, unknown := "", ""
	for i := range t.tokens {
		n, ok := x.lex.nameAt(x.kits, t, i)
		if !ok || t.tokens[i].denied || t.clauses[t.tokens[i].seg].foreign {
			continue
		}
		switch {
		case n.own:
			return n.id
		case n.any:
			unknown = n.id
			continue
		}
		// "The moped" is the owner's; "a moped", "dad's moped" are mopeds.
		if kind == "" && (i == 0 || x.lex.g.is("owners", t.tokens[i-1].text)) {
			kind = n.id
		}
	}
	if kind == "" {
		return unknown
	}
	return kind
}

// toolsIn finds the tools the owner says to have or to lack.
func (x *Index) toolsIn(t *text) []Tool {
	var out []Tool
	for i := range t.tokens {
		n, ok := x.lex.nameAt(x.tools, t, i)
		if !ok || t.clauses[t.tokens[i].seg].hypothetical {
			continue
		}
		tool := Tool{n.id, !t.tokens[i].denied}
		if at := slices.IndexFunc(out, func(o Tool) bool { return o.ID == tool.ID }); at >= 0 {
			continue
		}
		out = append(out, tool)
	}
	return out
}
