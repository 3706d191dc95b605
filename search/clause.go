package search

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
		if joint && l.endsClause(t, i) {
			continue
		}
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

// endsClause reports whether the joint at i has nothing behind it, and so joins
// nothing: "not as fast as before".
func (l *lexicon) endsClause(t *text, i int) bool {
	return t.tokens[i].before == none && i > 0 && (i+1 == len(t.tokens) || t.tokens[i+1].before != none) && l.g.hanging[t.tokens[i].text]
}

// mainClause reports whether the clause on which this one hangs begins at i
// without a comma: "when i twist it nothing happens".
func (l *lexicon) mainClause(t *text, c clause, begin, i int) bool {
	if !l.g.hanging[c.joint] {
		return false
	}
	w := t.tokens[i].text
	tok := &t.tokens[i]
	_, denial := l.g.negNouns.at(t.key, i, len(t.tokens))
	nothing := tok.pole && tok.no && tok.term != workTerm && l.reachesVerbs(t, i)
	subject := (l.g.is("pronouns", w) || l.g.is("articles", w) || l.g.is("existence", w)) && l.verbFollows(t, i)
	if !nothing && denial == 0 && !subject {
		return false
	}
	for j := begin + 1; j < i; j++ {
		if tok := &t.tokens[j]; tok.part || !tok.light {
			return true
		}
	}
	return false
}

// reachesVerbs reports whether the word denies what follows ("nothing").
func (l *lexicon) reachesVerbs(t *text, i int) bool {
	_, n := l.g.negVerbs.at(t.key, i, len(t.tokens))
	return n > 0
}

// verbFollows reports whether "it" is followed by a verb, "the" by a part with
// its verb.
func (l *lexicon) verbFollows(t *text, i int) bool {
	if i+2 >= len(t.tokens) || l.g.auxiliary[t.tokens[i-1].text] {
		return false
	}
	next := &t.tokens[i+1]
	if !l.g.is("articles", t.tokens[i].text) {
		return next.before == none && (l.g.auxiliary[next.text] || !next.light && !next.part)
	}
	return t.tokens[i+1].part && (l.g.auxiliary[t.tokens[i+2].text] || !t.tokens[i+2].light)
}

// newSubject reports whether a part with its own verb begins at i after the
// clause has said something of another: "screen ok throttle dead".
func (l *lexicon) newSubject(t *text, begin, i int) bool {
	if !t.tokens[i].part || t.tokens[i].term == thing || i+1 >= len(t.tokens) {
		return false
	}
	next := &t.tokens[i+1]
	_, verb := l.g.negVerbs.at(t.key, i+1, len(t.tokens))
	if !(l.g.auxiliary[next.text] || verb > 0 || next.term == workTerm) || next.before != none {
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

// insideList reports whether the joint at i stands between two parts ("horn
// and lights work"), which are then one subject.
func (l *lexicon) insideList(t *text, i int) bool {
	if !l.g.is("joins", t.tokens[i].text) || i == 0 || !t.tokens[i-1].part || t.tokens[i].before != none {
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

// yesAndNo reads "screen yes, motor no" as states.
func (l *lexicon) yesAndNo(t *text) {
	for _, c := range t.clauses {
		last := &t.tokens[c.to-1]
		if c.to-c.from < 2 || c.to-c.from > 4 || !t.tokens[c.to-2].part || !l.g.is("yes", last.text) && !l.g.is("no", last.text) {
			continue
		}
		no := l.g.is("no", last.text)
		last.term, last.pole, last.no, last.light, last.text = workTerm, true, no, false, "="+last.text
		last.id, last.stem = l.id(workTerm), l.stem(l.g.state(no))
	}
}

// joinStates takes "works fine" as one state.
func (l *lexicon) joinStates(t *text) {
	last := -1
	for i := range t.tokens {
		tok := &t.tokens[i]
		if tok.term != workTerm || !tok.matched() {
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
