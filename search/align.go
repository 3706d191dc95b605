package search

import (
	"math"
)

// fit is how well one phrase lies on one clause.
type fit struct {
	phrase   int
	clause   int
	same     bool    // both say it, or both deny it
	agree    float64 // share of the matched weight that has the same sign
	cover    float64 // share of the phrase that is there
	head     float64 // share of what the phrase says of its parts
	least    float64 // share of that clause of the phrase that is there least
	dense    float64 // share of the words between that are the phrase's
	whole    float64 // share of the clause that the phrase explains
	heft     float64 // weight of what was matched
	order    float64 // 1 when in the phrase's order
	cross    float64 // share of the matched weight that stands in other clauses
	clash    bool    // it speaks of another part
	hanging  bool    // the clause only says when or why something else was
	headless bool    // nothing of what the phrase says of its parts is there
	lone     bool    // only one word with a meaning of its own was found
	// evidence is how much the words of the clause are the symptom's own,
	// whatever phrase they stand in.
	evidence float64
	pool     float64 // share of the clause that the symptom's phrases know
	found    []hit
}

// hit is one word of the message that a phrase found.
type hit struct {
	token  int
	term   int // of the phrase
	weight float64
}

// How much a word of another clause counts, by what parts the clauses.
const (
	softJoint   = 0.9
	hardJoint   = 0.5
	turnedHead  = 0.6  // share of what a phrase says that must be there to turn it round
	unsaidPart  = 0.25 // of a phrase's part when the clause names none
	crossSingle = 2.5  // a phrase of one clause is rarely said in two
	poleVote    = 4    // opposites carry the sense
	otherWord   = 0.8  // the same concept in another word: "broken" for "dead"
)

// laying is a phrase being laid on a clause: what was found so far.
type laying struct {
	x       *Index
	p       *phrase
	t       *text
	k       int // the clause
	reach   *reach
	used    []bool // tokens taken
	fit     fit
	ownPart bool // the clause names a part of its own

	got, head, crossed    float64 // weight of what was found: in all, of what says something, in other clauses
	agree, votes          float64 // of the words that carry the sense, those of the same sign
	partAgree, partVotes  float64 // the same of the parts, asked when nothing else is there
	lowest, highest, last int     // tokens found in the clause
	ordered, pairs        int
	real, said            int
	partFound             bool
	hinge                 bool // a word was found by which the phrase itself denies or affirms
}

// align lays a phrase on clause k of the message; false when it does not fit
// at all.
func (x *Index) align(pi int, t *text, k int, r *reach, used []bool) (fit, bool) {
	l := laying{x: x, p: &x.phrases[pi], t: t, k: k, reach: r, used: used, ownPart: len(t.parts[k]) > 0,
		fit: fit{phrase: pi, clause: k}, lowest: math.MaxInt, highest: -1, last: -1}
	clear(used[r.from:r.to])
	for i := range l.p.terms {
		if at, quality := l.seek(&l.p.terms[i]); at >= 0 {
			l.take(i, at, quality)
		}
	}
	if l.highest < 0 || l.got <= 0 || l.real == 0 && l.p.real > 0 {
		return fit{}, false
	}
	l.measure()
	return l.fit, l.turnsRound()
}

// take notes that term i of the phrase was found at a token.
func (l *laying) take(i, at int, quality float64) {
	pt, tok := &l.p.terms[i], &l.t.tokens[at]
	weight := pt.weight * quality
	l.used[at] = true
	l.got += weight
	l.fit.found = append(l.fit.found, hit{at, i, weight})
	if pt.real() {
		l.real++
	}
	if pt.says() {
		l.head += weight
		if pt.stem != "#" {
			l.said++
		}
	}
	if tok.seg != l.k {
		l.crossed += weight
	} else {
		l.lowest, l.highest = min(l.lowest, at), max(l.highest, at)
		if l.last >= 0 {
			l.pairs++
			if at > l.last {
				l.ordered++
			}
		}
		l.last = at
	}
	l.hinge = l.hinge || pt.hinges()
	l.vote(pt, tok, weight)
}

// vote compares the signs of the phrase's word and the message's.
func (l *laying) vote(pt *phraseTerm, tok *token, weight float64) {
	if pt.part {
		l.partFound = true
		l.partVotes += weight
		l.partAgree += when((tok.sign() || tok.subject) == (pt.sign || pt.subject), weight)
		if tok.lacking || pt.lacking {
			l.votes += weight
			l.agree += when((tok.lacking || tok.subject) == (pt.lacking || pt.subject), weight)
		}
		return
	}
	// Where neither denies, nothing is to be compared; but a phrase that denies
	// one word and not another is only turned round when both are.
	if !pt.says() || !pt.sign && !tok.sign() && !pt.pole && !l.p.mixed {
		return
	}
	if pt.pole && !pt.light {
		weight *= poleVote
	}
	l.votes += weight
	l.agree += when((tok.sign() || tok.subject && pt.lacking) == (pt.sign || pt.subject && tok.lacking), weight)
}

func when(ok bool, v float64) float64 {
	if ok {
		return v
	}
	return 0
}

// measure works out how well the phrase fits from what was found.
func (l *laying) measure() {
	f, p := &l.fit, l.p
	topic := len(l.t.topicParts(l.k)) > 0
	f.cover = l.got / p.weight
	if !l.partFound && !topic {
		// "it flickers": the part goes without saying.
		f.cover = l.got / (p.weight - unsaidPart*p.partWeight)
	}
	f.head = 1
	if p.head > 0 {
		f.head, f.headless = l.head/p.head, l.head == 0
	}
	f.least = p.leastClause(f)
	f.heft = l.got
	f.lone = l.real <= 1
	f.cross = l.crossed / l.got
	if p.single {
		f.cross *= crossSingle
	}
	f.order = 1
	if l.pairs > 0 {
		f.order = float64(l.ordered) / float64(l.pairs)
	}
	if l.head == 0 {
		l.agree, l.votes = l.agree+l.partAgree, l.votes+l.partVotes
	}
	f.agree = 1
	if l.votes > 0 {
		f.agree = l.agree / l.votes
	}
	f.same = f.agree >= 0.5
	own := l.t.clauses[l.k]
	between, total, ownGot := l.x.weighClause(l.t, own, l.lowest, l.highest, l.used)
	f.dense, f.whole = ownGot/between, ownGot/total
	f.hanging = l.x.lex.g.hanging[own.joint] && !p.hangs && l.crossed == 0 && !l.x.tellsAside(p.symptom)
	f.clash = !l.partFound && (l.ownPart || topic)
}

// turnsRound reports whether a phrase whose signs differ from the message's is
// really said to be otherwise; true as well when they do not differ.
func (l *laying) turnsRound() bool {
	f, p := &l.fit, l.p
	switch {
	case f.same:
		return true
	case p.hinged && !l.hinge:
		// "no brake sign" does not deny "brake sign is off": the "off" is not there.
		return false
	case f.head < turnedHead || l.said < 2 && !l.partFound && (p.absent || f.cover < 0.9):
		// One word turned round is no statement of the opposite: "can't reach
		// it" against "reaches 45".
		return false
	default:
		// "the speed on the screen jumps" does not deny "no speed on the screen".
		return p.head > 0 || f.whole >= 0.85
	}
}

// tellsAside reports whether a symptom may be told in a clause that hangs on
// another: what went before ("since it rained"), and danger anywhere.
func (x *Index) tellsAside(symptom int) bool {
	return symptom < 0 || x.symptoms[symptom].Family == "history" || x.symptoms[symptom].Danger != ""
}

// seek finds the best free word for a term of the phrase: in the clause
// itself, then near by; nearest after the last one found.
func (l *laying) seek(pt *phraseTerm) (at int, quality float64) {
	at, gap := -1, math.MaxInt
	for i := l.reach.from; i < l.reach.to; i++ {
		tok := &l.t.tokens[i]
		if tok.id != pt.id || l.used[i] || !tok.matched() {
			continue
		}
		q := l.quality(pt, tok)
		d := i - l.last
		if d < 0 {
			d = -d + 3
		}
		if q > quality || q == quality && q > 0 && d < gap {
			at, quality, gap = i, q, d
		}
	}
	return at, quality
}

// quality is how much a word that has the same concept counts, 0 not at all.
func (l *laying) quality(pt *phraseTerm, tok *token) float64 {
	q := l.reach.count[tok.seg-l.reach.first]
	if tok.seg != l.k {
		if pt.light || pt.part && l.ownPart || !l.p.speaksOf(l.t.parts[tok.seg], pt.clause) {
			return 0
		}
		if l.t.ofThing[tok.seg] && !l.p.parts {
			q *= hardJoint
		}
	}
	if tok.stem != pt.stem && tok.term != thing {
		if l.p.symptom < 0 {
			return 0
		}
		q *= otherWord
	}
	return q
}

// weighClause gives the weight of the words from lowest to highest, of the
// whole clause, and of what of it was used.
func (x *Index) weighClause(t *text, c clause, lowest, highest int, used []bool) (between, total, got float64) {
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if tok.cue {
			continue
		}
		w := x.tokenWeight(tok)
		if tok.void {
			w = unknownWeight
		}
		total += w
		if i >= lowest && i <= highest {
			between += w
		}
		if used[i] {
			got += w
		}
	}
	return max(between, 1e-9), max(total, 1e-9), got
}

func (x *Index) tokenWeight(tok *token) float64 {
	if w, ok := x.weights[tok.stem]; ok {
		return w
	}
	return unknownWeight * x.lex.kindWeight(tok.stem)
}
