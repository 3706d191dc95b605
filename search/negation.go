package search

// deny marks what each negation reaches.
func (l *lexicon) deny(t *text) {
	n := len(t.tokens)
	for i := 0; i < n; {
		if t.tokens[i].void {
			i++
			continue
		}
		if _, size := l.g.negNot.at(t.key, i, n); size > 0 {
			for j := i; j < i+size; j++ {
				t.tokens[j].cue = true
			}
			i += size
			continue
		}
		_, noun := l.g.negNouns.at(t.key, i, n)
		_, verb := l.g.negVerbs.at(t.key, i, n)
		_, stops := l.g.negStops.at(t.key, i, n)
		if i+stops >= n || stops > 0 && !endsIn(t.tokens[i+stops].text, l.g.stopped) {
			stops = 0
		}
		size := max(noun, verb, stops)
		if size == 0 {
			i++
			continue
		}
		for j := i; j < i+size; j++ {
			// "nothing" and its like deny and are words of the phrase as well.
			t.tokens[j].cue = t.tokens[j].cue || !t.tokens[j].pole
		}
		if noun == size {
			// "neither horn nor lights": what has been denied is not denied back.
			l.denyNoun(t, i+size, size == 1 && l.g.lists[t.tokens[i].text])
		} else {
			l.denyVerb(t, i, i+size)
		}
		i += size
	}
}

// denyNoun reaches the next two words of weight: "no smoke", "no error code".
// "or" and "of" carry it on. A verb or a new subject ends it.
func (l *lexicon) denyNoun(t *text, from int, again bool) {
	left, seen := 2, 0
	if from >= len(t.tokens) || t.tokens[from].before != none && t.tokens[from].start > t.tokens[from-1].end+1 {
		return // "No. Smoke ..." and "no, smoke ..." deny what was before; "no-name" does not
	}
	seg := t.tokens[from].seg
	for i := from; i < len(t.tokens); i++ {
		tok := &t.tokens[i]
		if tok.void {
			continue
		}
		if tok.seg != seg {
			seg = tok.seg
			if l.listGoesOn(t, tok.seg) {
				left = 2
			} else {
				return
			}
		}
		if tok.cue {
			continue
		}
		switch {
		case l.g.is("passes", tok.text):
			continue
		case tok.light && !l.g.particles[tok.text]:
			if seen > 0 && (l.g.auxiliary[tok.text] || l.g.subjects[tok.text]) {
				return
			}
			continue
		}
		if left == 0 {
			return
		}
		if seen > 0 && tok.part && i+1 < len(t.tokens) && l.opensClause(t, i) {
			return
		}
		tok.denied = again || !tok.denied
		tok.lacking = again || !tok.lacking
		seen++
		left--
	}
}

// listGoesOn reports whether clause k is a bare item of a list that ends with
// "or": "no smoke, smell or noise".
func (l *lexicon) listGoesOn(t *text, k int) bool {
	for ; k < len(t.clauses); k++ {
		c := t.clauses[k]
		if l.g.lists[c.joint] && t.tokens[c.from].before != stop {
			return true
		}
		if c.hard || c.joint != "" || c.to-c.from > 5 {
			return false
		}
		for i := c.from; i < c.to; i++ {
			if l.g.auxiliary[t.tokens[i].text] {
				return false
			}
		}
	}
	return false
}

// denyVerb reaches to the end of the clause, until a new subject begins, and
// marks the part before it as the subject of a denied verb.
func (l *lexicon) denyVerb(t *text, at, from int) {
	for i := at - 1; i >= 0 && t.tokens[i].seg == t.tokens[at].seg; i-- {
		if t.tokens[i].part {
			t.tokens[i].subject = true
			break
		}
		// "The brake symbol is not shown" is said of both words.
		if i > 0 && i+1 < at && l.g.auxiliary[t.tokens[i+1].text] && !t.tokens[i].light && t.tokens[i-1].part && t.tokens[i-1].seg == t.tokens[i].seg {
			t.tokens[i].subject = true
			continue
		}
		if !t.tokens[i].light && !l.g.auxiliary[t.tokens[i].text] {
			break
		}
	}
	l.denyAhead(t, at, from)
	l.denyBehind(t, at)
}

// denyAhead denies what follows a negation.
func (l *lexicon) denyAhead(t *text, at, from int) {
	seen := 0
	seg := t.tokens[at].seg
	for i := from; i < len(t.tokens); i++ {
		tok := &t.tokens[i]
		if tok.seg != seg {
			if !l.listGoesOn(t, tok.seg) || seen == 0 {
				return
			}
			seg = tok.seg
		}
		if tok.void {
			continue
		}
		if seen > 0 && (tok.part && l.opensClause(t, i) || l.g.is("pronouns", tok.text)) {
			return
		}
		if tok.cue {
			continue
		}
		tok.denied = !tok.denied
		if !tok.light || l.g.particles[tok.text] {
			seen++
		}
	}
}

// denyBehind denies the verb before a negation, in languages where the negation
// comes last: "der Motor dreht sich nicht".
func (l *lexicon) denyBehind(t *text, at int) {
	if len(l.g.deniedVerbs) == 0 {
		return
	}
	for i := at - 1; i >= 0 && t.tokens[i].seg == t.tokens[at].seg; i-- {
		tok := &t.tokens[i]
		if l.g.auxiliary[tok.text] || tok.cue || tok.light && l.g.is("states", tok.text) {
			return
		}
		if !tok.void && !tok.light && !tok.part && endsIn(tok.text, l.g.deniedVerbs) {
			tok.denied = !tok.denied
			return
		}
	}
}

// opensClause reports whether the part at i is a subject with its own verb or
// state, as in "no smoke display is blank".
func (l *lexicon) opensClause(t *text, i int) bool {
	if i+1 >= len(t.tokens) || t.tokens[i+1].seg != t.tokens[i].seg {
		return false
	}
	next := &t.tokens[i+1]
	_, verb := l.g.negVerbs.at(t.key, i+1, len(t.tokens))
	return l.g.auxiliary[next.text] || l.g.is("states", next.text) || verb > 0 || next.pole && next.term == workTerm
}
