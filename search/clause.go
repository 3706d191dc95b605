package search

import "strings"

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
	l.voidIdioms(t)
	l.cutClauses(t)
	l.yesAndNo(t)
	l.fillEllipses(t)
	l.deny(t)
	l.joinStates(t)
	l.judgeClauses(t)
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
	if tok.text != tok.stem && (strings.HasSuffix(tok.text, "ing") || strings.HasSuffix(tok.text, "ed")) {
		return true
	}
	if i == 0 || !l.verbs[tok.stem] {
		return false
	}
	before := t.tokens[i-1].text
	return before == "not" || before == "to" || before == "will" || pronoun(before) || l.g.modal[before]
}

// turnOf writes "the light of the brake" as "the brake light", which is how
// the phrases have it.
func (l *lexicon) turnOf(t *text) {
	for i := 1; i+1 < len(t.tokens); i++ {
		if t.tokens[i].text != "of" || !t.tokens[i-1].part || t.tokens[i-1].term == thing {
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

func (t *text) key(i int) string { return t.tokens[i].text }

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

// cutClauses parts the tokens at punctuation and joints.
func (l *lexicon) cutClauses(t *text) {
	begin := 0
	var c clause
	flush := func(to int) {
		if to > begin {
			c.from, c.to = begin, to
			for i := begin; i < to; i++ {
				t.tokens[i].seg = len(t.clauses)
			}
			t.clauses = append(t.clauses, c)
			begin, c = to, clause{}
		}
	}
	for i := range t.tokens {
		tok := &t.tokens[i]
		joint := l.g.joints[tok.text] && !tok.void
		if joint && l.insideList(t, i) {
			tok.cue = true
			continue
		}
		if tok.before != none || joint || l.newSubject(t, begin, i) || l.mainClause(t, c, begin, i) {
			hard := tok.before == stop || joint && l.g.contrast[tok.text]
			flush(i)
			c.hard = c.hard || hard
			c.asked = tok.asked
		}
		if i == begin {
			c.asked = tok.asked
		}
		if joint {
			c.joint = tok.text
			tok.cue = true
		}
	}
	flush(len(t.tokens))
}

// mainClause reports whether the clause on which this one hangs begins at i
// without a comma: "when i twist it nothing happens".
func (l *lexicon) mainClause(t *text, c clause, begin, i int) bool {
	if !l.g.hanging[c.joint] {
		return false
	}
	w := t.tokens[i].text
	if !(t.tokens[i].pole && t.tokens[i].term == "=anything" && t.tokens[i].no || w == "no" || w == "nobody" || (w == "it" || w == "the") && l.verbFollows(t, i)) {
		return false
	}
	for j := begin + 1; j < i; j++ {
		if tok := &t.tokens[j]; tok.part || !tok.light {
			return true
		}
	}
	return false
}

// verbFollows reports whether "it" is followed by a verb, "the" by a part with
// its verb.
func (l *lexicon) verbFollows(t *text, i int) bool {
	if i+2 >= len(t.tokens) || l.g.auxiliary[t.tokens[i-1].text] {
		return false
	}
	if t.tokens[i].text == "it" {
		next := &t.tokens[i+1]
		return next.before == none && (l.g.auxiliary[next.text] || !next.light && !next.part)
	}
	return t.tokens[i+1].part && (l.g.auxiliary[t.tokens[i+2].text] || !t.tokens[i+2].light)
}

// joinStates takes "works fine" as one state.
func (l *lexicon) joinStates(t *text) {
	last := -1
	for i := range t.tokens {
		tok := &t.tokens[i]
		if tok.term != "=work" || !tok.matched() {
			continue
		}
		if last >= 0 && t.tokens[last].seg == tok.seg && t.tokens[last].sign() == tok.sign() && !l.partBetween(t, last, i) {
			tok.cue = true
			continue
		}
		last = i
	}
}

func (l *lexicon) partBetween(t *text, from, to int) bool {
	for i := from + 1; i < to; i++ {
		if t.tokens[i].part {
			return true
		}
	}
	return false
}

// newSubject reports whether a part with its own verb begins at i after the
// clause has said something of another: "screen ok throttle dead".
func (l *lexicon) newSubject(t *text, begin, i int) bool {
	if !t.tokens[i].part || t.tokens[i].term == thing || i+1 >= len(t.tokens) {
		return false
	}
	next := &t.tokens[i+1]
	_, verb := l.g.negVerbs.at(t.key, i+1, len(t.tokens))
	if !(l.g.auxiliary[next.text] || verb > 0 || next.term == "=work") || next.before != none {
		return false
	}
	noun, said := false, false
	for j := begin; j < i; j++ {
		tok := &t.tokens[j]
		if tok.part {
			noun = true
			said = false
		} else if noun && (!tok.light || tok.pole || l.g.particles[tok.text]) && !l.g.subjects[tok.text] {
			said = true
		}
	}
	return noun && said
}

// yesAndNo reads "screen yes, motor no" as states.
func (l *lexicon) yesAndNo(t *text) {
	for _, c := range t.clauses {
		last := &t.tokens[c.to-1]
		if c.to-c.from < 2 || c.to-c.from > 4 || !t.tokens[c.to-2].part || last.text != "yes" && last.text != "no" {
			continue
		}
		last.term, last.stem, last.pole, last.no, last.light = "=work", last.text, true, last.text == "no", false
		last.id, last.text = l.id("=work"), "="+last.text
	}
}

// insideList reports whether the joint at i stands between two parts ("horn
// and lights work"), which are then one subject.
func (l *lexicon) insideList(t *text, i int) bool {
	if t.tokens[i].text != "and" || i == 0 || !t.tokens[i-1].part || t.tokens[i].before != none {
		return false
	}
	for j := i + 1; j < len(t.tokens) && j <= i+3; j++ {
		if t.tokens[j].before != none {
			return false
		}
		if t.tokens[j].part {
			// Its own verb makes it a clause: "display and throttle does nothing".
			return l.nounOnly(t, i)
		}
		if !t.tokens[j].light {
			return false
		}
	}
	return false
}

// nounOnly reports whether the clause so far, up to token i, is only a noun
// with its article, so that what follows is the rest of the subject.
func (l *lexicon) nounOnly(t *text, i int) bool {
	for j := i - 1; j >= 0; j-- {
		tok := &t.tokens[j]
		switch {
		case tok.part, l.g.subjects[tok.text], l.g.whole[tok.text]:
		default:
			if _, n := l.g.negNouns.at(t.key, j, len(t.tokens)); n == 0 {
				return false
			}
		}
		if tok.before != none || l.g.joints[tok.text] {
			return true
		}
	}
	return true
}

// fillEllipses repeats the verb that a clause leaves out: "the lights work, the
// horn doesn't", "everything works except the horn", "horn works, lights too".
func (l *lexicon) fillEllipses(t *text) {
	var filled []token
	moved := false
	for k := range t.clauses {
		c := &t.clauses[k]
		from := len(filled)
		filled = append(filled, t.tokens[c.from:c.to]...)
		if k > 0 {
			if extra := l.ellipsis(t, k); len(extra) > 0 {
				moved = true
				for _, e := range extra {
					e.seg, e.before = k, none
					e.start, e.end = filled[len(filled)-1].start, filled[len(filled)-1].end
					filled = append(filled, e)
				}
			}
		}
		c.from, c.to = from, len(filled)
	}
	if moved {
		t.tokens = filled
	}
}

// ellipsis gives the tokens that clause k leaves out.
func (l *lexicon) ellipsis(t *text, k int) []token {
	c, prev := t.clauses[k], t.clauses[k-1]
	noun, aux, too, other := false, false, false, false
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		switch {
		case tok.part:
			if aux {
				other = true // an object: the verb is not left out
			}
			noun = true
		case tok.cue, l.g.lists[tok.text]:
		case l.g.auxiliary[tok.text]:
			aux = aux || noun
		case tok.text == "too" || tok.text == "also":
			too = true
		case tok.text == "not":
		case tok.light && !l.g.particles[tok.text]:
		default:
			other = true
		}
	}
	if !noun || other {
		return nil
	}
	exception := l.g.exception[c.joint] && !aux && l.mentionsWhole(t, prev)
	if !aux && !too && !exception {
		return nil
	}
	var out []token
	for i := l.predicate(t, prev); i < prev.to; i++ {
		tok := t.tokens[i]
		if tok.cue || tok.void || tok.part || tok.text == "not" || l.g.auxiliary[tok.text] || l.g.subjects[tok.text] || l.g.whole[tok.text] {
			continue
		}
		if tok.light && !l.g.particles[tok.text] {
			continue
		}
		if exception && tok.pole {
			tok.no = !tok.no
		}
		out = append(out, tok)
	}
	if len(out) > 3 {
		return nil
	}
	return out
}

// predicate is where the clause begins to say something of its subject: behind
// its first auxiliary or negation, else behind its first part.
func (l *lexicon) predicate(t *text, c clause) int {
	for i := c.from; i < c.to; i++ {
		if w := t.tokens[i].text; i > c.from && (l.g.auxiliary[w] || w == "not") {
			return i
		}
	}
	for i := c.from; i < c.to; i++ {
		if t.tokens[i].part {
			return i
		}
	}
	return c.from
}

func (l *lexicon) mentionsWhole(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.whole[t.tokens[i].text] {
			return true
		}
	}
	return false
}
