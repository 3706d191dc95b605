package search

// judgeClauses finds what is no news or not told as a fact.
func (l *lexicon) judgeClauses(t *text) {
	for k := range t.clauses {
		c := &t.clauses[k]
		c.hypothetical = l.isHypothetical(t, k)
		if l.has(t, *c, l.g.pastGone) {
			c.gone = true
		}
		if l.isPast(t, k) {
			c.past = true
		}
		if k > 0 && l.has(t, *c, l.g.resolved) && !l.denies(t, *c) {
			t.clauses[k-1].gone = true
			// "It was dead, I dried the plug and that cured it."
			if k > 1 && (l.hasWord(t, t.clauses[k-1], l.g.acts) || l.hasWord(t, t.clauses[k-1], l.g.roles["cures"])) {
				t.clauses[k-2].gone = true
			}
		}
	}
	// A fear or a question runs on through soft joints: "what if it smokes and
	// catches fire".
	for k := 1; k < len(t.clauses); k++ {
		c := &t.clauses[k]
		if t.clauses[k-1].hypothetical && !c.hard && l.g.is("carries", c.joint) && !l.ownWord(t, *c) {
			c.hypothetical = true
		}
	}
	l.judgeHistory(t)
	l.judgeAttempts(t)
	l.answerQuestions(t)
	l.judgeMachines(t)
}

// answerQuestions takes what an owner asks and answers as told: "smoke? no",
// "is it dangerous if the battery hisses? mine does not".
func (l *lexicon) answerQuestions(t *text) {
	for k := 0; k+1 < len(t.clauses); k++ {
		c := &t.clauses[k]
		if !c.asked {
			c.answeredNo = c.answeredNo || l.deniesAlone(t, t.clauses[k+1])
			continue
		}
		answered, yes := l.answer(t, t.clauses[k+1])
		if !answered {
			continue
		}
		for j := k; j >= 0 && (j == k || t.clauses[j].asked && !t.clauses[j+1].hard); j-- {
			t.clauses[j].hypothetical = false
			t.clauses[j].answeredNo = !yes
		}
	}
}

// deniesAlone reports whether a clause is nothing but a denial of the one before:
// "looked for smoke: none".
func (l *lexicon) deniesAlone(t *text, c clause) bool {
	return c.to-c.from == 1 && t.tokens[c.from].before != none && l.g.is("none", t.tokens[c.from].text)
}

// answer reports whether a clause only answers, and how.
func (l *lexicon) answer(t *text, c clause) (answered, yes bool) {
	if c.to-c.from > 4 || c.asked {
		return false, false
	}
	yes = true
	for i := c.from; i < c.to; i++ {
		switch w := t.tokens[i].text; {
		case w == "=no", w == "nope", l.g.is("no", w), l.g.is("not", w):
			yes = false
			answered = answered || !l.g.is("not", w)
		case l.g.is("yes", w), l.g.is("mine", w), w == "mine":
			answered = true
		case !l.g.is("answer", w):
			return false, false
		}
	}
	return answered, yes
}

// has reports whether one of the runs stands in the clause.
func (l *lexicon) has(t *text, c clause, s seqs) bool {
	for i := c.from; i < c.to; i++ {
		if _, n := s.at(t.key, i, len(t.tokens)); n > 0 {
			return true
		}
	}
	return false
}

func (l *lexicon) denies(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.is("not", t.tokens[i].text) {
			return true
		}
	}
	return false
}

func (l *lexicon) ownWord(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.own[t.tokens[i].text] {
			return true
		}
	}
	return false
}

// isPast: a verb of the past together with a word of time, here or at the
// head of the next clause.
func (l *lexicon) isPast(t *text, k int) bool {
	c := t.clauses[k]
	verb := false
	for i := c.from; i < c.to; i++ {
		verb = verb || l.g.pastWorking[t.tokens[i].text]
	}
	if !verb {
		return false
	}
	if l.has(t, c, l.g.pastWhen) {
		return true
	}
	if k+1 < len(t.clauses) {
		next := t.clauses[k+1]
		for i := next.from; i < next.to && i < next.from+3; i++ {
			if _, n := l.g.pastNext.at(t.key, i, len(t.tokens)); n > 0 {
				return true
			}
		}
	}
	return false
}

// isHypothetical: a question whether something is so, or a fear of it.
func (l *lexicon) isHypothetical(t *text, k int) bool {
	c := t.clauses[k]
	if l.has(t, c, l.g.fears) || l.has(t, c, l.g.asks) && !l.ownWord(t, c) {
		return true
	}
	if l.g.is("condition", c.joint) && c.from+1 < c.to && !l.g.is("persons", t.tokens[c.from+1].text) && (k > 0 && l.advises(t, t.clauses[k-1]) || k+1 < len(t.clauses) && l.advises(t, t.clauses[k+1])) {
		return true
	}
	i := c.from
	if i < c.to && t.tokens[i].cue && l.g.joints[t.tokens[i].text] {
		i++
	}
	if i+1 < c.to && l.inverts(t, i) && (l.g.subjects[t.tokens[i+1].text] || t.tokens[i+1].part) {
		if _, n := l.g.normal.at(t.key, i, len(t.tokens)); n == 0 && !l.politely(t, i, c.to) {
			return true
		}
	}
	if l.has(t, c, l.g.normal) && l.generalTalk(t, c) {
		return true
	}
	return c.asked && l.generalTalk(t, c)
}

// inverts reports whether the word at i opens a question when a subject
// follows; "have a meter" does not ask.
func (l *lexicon) inverts(t *text, i int) bool {
	w := t.tokens[i].text
	if l.g.is("owns", w) {
		return l.g.asked[t.tokens[i+1].text]
	}
	return l.g.opens[w]
}

// advises reports whether the clause asks what is to be done.
func (l *lexicon) advises(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.advice[t.tokens[i].text] {
			return true
		}
	}
	return false
}

// politely reports "can someone tell me why ...", which asks for help.
func (l *lexicon) politely(t *text, from, to int) bool {
	for i := from; i < to && i < from+4; i++ {
		if l.g.polite[t.tokens[i].text] {
			return true
		}
	}
	return false
}

// generalTalk: "packs can catch fire" tells of packs as such. A modal with a
// verb of perception ("I can smell") tells of something met.
func (l *lexicon) generalTalk(t *text, c clause) bool {
	modal := false
	for i := c.from; i < c.to; i++ {
		w := t.tokens[i].text
		if _, n := l.g.normal.at(t.key, i, len(t.tokens)); n > 1 {
			i += n - 1 // "what would make it grind" takes the grinding for granted
			continue
		}
		if l.g.modal[w] && !(i+1 < c.to && (l.g.perception[t.tokens[i+1].text] || l.g.is("not", t.tokens[i+1].text))) {
			modal = true
		}
	}
	return modal && !l.ownWord(t, c)
}

// judgeMachines marks clauses whose subject is another machine; those after
// it go on about it until the owner names ours.
func (l *lexicon) judgeMachines(t *text) {
	foreign := false
	for k := range t.clauses {
		c := &t.clauses[k]
		if c.hard && c.joint != "" {
			foreign = false
		}
		switch l.subjectOf(t, *c) {
		case "ours":
			foreign = false
		case "other":
			foreign = !l.hitsOurs(t, *c)
		case "part":
			foreign = foreign && c.joint == "" && !c.hard
		}
		c.foreign = foreign
	}
}

// subjectOf says whose the clause is: "ours", "other", "part" when it speaks of a
// part, or "" when it does not say.
func (l *lexicon) subjectOf(t *text, c clause) string {
	part := ""
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if i+1 < c.to && l.g.is("others", tok.text) && !l.near(t, c, i) && (l.g.is("owns", t.tokens[i+1].text) || t.tokens[i+1].term == thing && t.tokens[i+1].before == none) {
			return "other"
		}
		if tok.term == thing || l.g.is("ours", tok.text) {
			return "ours"
		}
		if _, n := l.g.machines.at(t.key, i, len(t.tokens)); n > 0 && l.isForeign(t, i, n) {
			if l.near(t, c, i) {
				continue
			}
			return "other"
		}
		if tok.part {
			part = "part"
		}
	}
	return part
}

// near reports whether the machine at i is only near what the clause speaks of:
// "hit by a car", "in the van"; "the battery of my laptop" speaks of it.
func (l *lexicon) near(t *text, c clause, i int) bool {
	mine := i > c.from && l.g.is("mine", t.tokens[i-1].text)
	for j := max(c.from, i-3); j < i; j++ {
		if w := t.tokens[j].text; l.g.is("places", w) && !mine || l.g.is("beside", w) {
			return true
		}
	}
	return false
}

// hitsOurs reports whether another machine ran into ours: "a van reversed into it".
func (l *lexicon) hitsOurs(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if l.g.is("struck", t.tokens[i].text) {
			return true
		}
	}
	return false
}

// isForeign: a machine that the knowledge base itself speaks of is ours.
func (l *lexicon) isForeign(t *text, i, n int) bool {
	for j := i; j < i+n; j++ {
		if t.tokens[j].part || l.trade[t.tokens[j].stem] {
			return false
		}
	}
	return true
}
