package search

// judgeHistory marks what is over and done with: it was long ago, or used to be
// so, and was mended.
func (l *lexicon) judgeHistory(t *text) {
	for k := range t.clauses {
		c := &t.clauses[k]
		long := l.has(t, *c, l.g.pastLong)
		if !c.gone && !long {
			continue
		}
		for j := k; j < len(t.clauses) && j <= k+2; j++ {
			if l.has(t, t.clauses[j], l.g.mended) {
				c.over = true
				t.clauses[j].mends = t.clauses[j].mends || long
			}
		}
	}
}

// judgeAttempts marks what was done to cure the fault, after it began: "swapped
// the throttle, no difference" as against "since I swapped the throttle".
func (l *lexicon) judgeAttempts(t *text) {
	for k := range t.clauses {
		c := &t.clauses[k]
		if !l.acts(t, *c) || l.g.is("began", c.joint) {
			continue
		}
		c.attempt = l.has(t, *c, l.g.tries) || l.has(t, *c, l.g.vain)
		for j := k + 1; j < len(t.clauses) && j <= k+2 && !c.attempt; j++ {
			next := &t.clauses[j]
			if l.g.is("began", next.joint) {
				break
			}
			c.attempt = l.has(t, *next, l.g.vain) || l.stillThere(t, *next)
			next.attempt = c.attempt // "no change" is what came of it
		}
	}
}

// stillThere reports whether a clause begins by telling that something goes on:
// "it still stutters"; what still works is no fault.
func (l *lexicon) stillThere(t *text, c clause) bool {
	still := false
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if tok.term == workTerm && !tok.no {
			return false
		}
		still = still || i < c.from+3 && l.g.is("still", tok.text)
	}
	return still
}

func (l *lexicon) acts(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.acts[t.tokens[i].text] {
			return true
		}
	}
	return false
}
