package search

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
		case l.g.is("likewise", tok.text):
			too = true
		case l.g.is("not", tok.text):
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
		if tok.cue || tok.void || tok.part || l.g.is("not", tok.text) || l.g.auxiliary[tok.text] || l.g.subjects[tok.text] || l.g.whole[tok.text] {
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
		if w := t.tokens[i].text; i > c.from && (l.g.auxiliary[w] || l.g.is("not", w)) {
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
