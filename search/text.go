package search

import (
	"slices"
	"strings"
)

// token is one word as it is matched.
type token struct {
	word
	stem    string
	term    string // stem, or the concept of a pair of opposites, or thing
	id      int32  // number of the term, -1 unknown
	seg     int    // its clause
	light   bool
	part    bool
	pole    bool // one of a pair of opposites
	no      bool // the denying one of the pair
	denied  bool // within the reach of an odd number of negations
	cue     bool // a negation or joint: steers, and is not matched
	void    bool // part of an idiom: means something else
	subject bool // a part of which a following verb is denied
	lacking bool // "no lights": the word itself is said not to be there
}

// sign is whether the token's concept is denied in all.
func (t *token) sign() bool { return t.no != t.denied }

// literal is the token as names are compared: numbers count.
func (t *token) literal() string {
	if hasDigit(t.text) {
		return t.text
	}
	return t.stem
}

// matched reports whether the token takes part in matching.
func (t *token) matched() bool { return !t.cue && !t.void }

// clause is a run of tokens with its standing.
type clause struct {
	from, to     int
	hard         bool // parted from the one before by a stop or a contrast
	past         bool // was well before: no news
	gone         bool // was so, is no longer
	hypothetical bool // asked or feared, not told
	foreign      bool // about another machine
	asked        bool
	over         bool   // was so long ago, and mended
	mends        bool   // tells of that mending
	attempt      bool   // tells what was done to cure the fault
	answeredNo   bool   // asked, and answered with no
	joint        string // the joint it begins with
}

// text is a message made ready for matching.
type text struct {
	tokens  []token
	clauses []clause
	parts   [][]int32 // by clause: the parts it names, but for the thing itself
	ofThing []bool    // by clause: it names the thing itself
}

// topicParts are the parts a clause speaks of: its own, or those of the clause
// on which it hangs ("the charger says full | after ten seconds").
func (t *text) topicParts(k int) []int32 {
	for k > 0 && len(t.parts[k]) == 0 && t.clauses[k].joint != "" && !t.clauses[k].hard && t.clauses[k].joint != "and" {
		k--
	}
	return t.parts[k]
}

func (t *text) key(i int) string { return t.tokens[i].text }

// plainRun writes the clauses from a to b as they are compared word by word.
func (t *text) plainRun(a, b int) string {
	var sb strings.Builder
	for i := t.clauses[a].from; i < t.clauses[b-1].to; i++ {
		if tok := &t.tokens[i]; i > t.clauses[a].from || !tok.cue || t.clauses[a].joint == "" {
			sb.WriteString(tok.text)
			sb.WriteByte(' ')
		}
	}
	return sb.String()
}

// read makes a message ready for matching.
func (l *lexicon) read(message string) *text {
	words := l.plainWords(message)
	t := &text{tokens: make([]token, len(words))}
	for i, w := range words {
		t.tokens[i] = l.token(w)
	}
	for i := range t.tokens {
		t.tokens[i].part = t.tokens[i].part && !l.asVerb(t, i)
	}
	l.turnOf(t)
	if len(t.tokens) > 3 && l.g.fillers[t.tokens[0].text] {
		t.tokens[0].void = true
	}
	if !l.without[Idioms] {
		l.voidIdioms(t)
	}
	l.cutClauses(t)
	l.yesAndNo(t)
	if !l.without[Ellipses] {
		l.fillEllipses(t)
	}
	if !l.without[Negation] {
		l.deny(t)
	}
	l.joinStates(t)
	if !l.without[Standing] {
		l.judgeClauses(t)
	}
	t.parts, t.ofThing = make([][]int32, len(t.clauses)), make([]bool, len(t.clauses))
	for i := range t.tokens {
		if tok := &t.tokens[i]; tok.part && tok.term != thing && tok.matched() {
			t.parts[tok.seg] = append(t.parts[tok.seg], tok.id)
		} else if tok.term == thing {
			t.ofThing[tok.seg] = true
		}
	}
	return t
}

func (l *lexicon) token(w word) token {
	t := token{word: w, stem: l.stem(w.text), light: l.g.light[w.text]}
	t.term = t.stem
	if p, ok := l.g.poles[w.text]; ok {
		t.term, t.pole, t.no = "="+p.concept, true, p.no
	} else if l.things[t.stem] {
		t.term = thing
	}
	t.part = l.parts[t.stem] || t.term == thing
	t.id = l.id(t.term)
	return t
}

// asVerb reports whether a word that names a part is a verb here: "charging",
// "won't charge".
func (l *lexicon) asVerb(t *text, i int) bool {
	tok := &t.tokens[i]
	if tok.term == thing {
		return false
	}
	if tok.text != tok.stem && endsIn(tok.text, l.g.verbEndings) {
		return true
	}
	if i == 0 || !l.verbs[tok.stem] {
		return false
	}
	before := t.tokens[i-1].text
	return l.g.is("verbal", before) || l.g.is("pronouns", before) || l.g.modal[before]
}

func endsIn(w string, endings []string) bool {
	return slices.ContainsFunc(endings, func(e string) bool { return strings.HasSuffix(w, e) })
}

// preposition reports whether the "on" or "off" at i leads to a noun, and does not say
// that something is on: "the lights quit on me".
func (l *lexicon) preposition(t *text, i int) bool {
	return l.g.is("switched", t.tokens[i].text) && i+1 < len(t.tokens) && t.tokens[i+1].before == none && l.g.is("governed", t.tokens[i+1].text)
}

// turnOf writes "the light of the brake" as "the brake light", which is how
// the phrases have it.
func (l *lexicon) turnOf(t *text) {
	for i := 1; i+1 < len(t.tokens); i++ {
		if !l.g.is("belongs", t.tokens[i].text) || !t.tokens[i-1].part || t.tokens[i-1].term == thing {
			continue
		}
		j := i + 1
		if j+1 < len(t.tokens) && l.g.subjects[t.tokens[j].text] {
			j++
		}
		if t.tokens[j].part && t.tokens[j].term != thing && t.tokens[j].before == none && t.tokens[i].before == none {
			first := t.tokens[i-1].before
			t.tokens[i-1], t.tokens[j] = t.tokens[j], t.tokens[i-1]
			t.tokens[i-1].before, t.tokens[j].before = first, none
			// What stood between goes before the pair.
			pair := t.tokens[j]
			copy(t.tokens[i+1:j+1], t.tokens[i:j])
			t.tokens[i] = pair
		}
	}
}

// voidIdioms takes out words that mean something else where they stand.
func (l *lexicon) voidIdioms(t *text) {
	for i := range t.tokens {
		if _, n := l.g.idioms.at(t.key, i, len(t.tokens)); n > 0 {
			for j := i; j < i+n; j++ {
				t.tokens[j].void = true
			}
		}
	}
}
