package search

import "math"

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
	softJoint       = 0.9
	hardJoint       = 0.5
	turnedHeadLeast = 0.6  // share of what a phrase says that must be there to turn it round
	unsaidPart      = 0.25 // of a phrase's part when the clause names none
	crossSingle     = 2.5  // a phrase of one clause is rarely said in two
	otherWord       = 0.8  // the same concept in another word: "broken" for "dead"
)

// reach gives the clauses near k whose words may complete a phrase, with how
// much they count.
type reach struct {
	from, to int       // tokens
	count    []float64 // per clause from first
	first    int
}

func (t *text) reachOf(k int) reach {
	r := reach{first: max(0, k-2)}
	last := min(len(t.clauses)-1, k+2)
	r.count = make([]float64, last-r.first+1)
	r.count[k-r.first] = 1
	for j := k - 1; j >= r.first; j-- {
		r.count[j-r.first] = r.count[j+1-r.first] * jointCount(t.clauses[j+1])
	}
	for j := k + 1; j <= last; j++ {
		r.count[j-r.first] = r.count[j-1-r.first] * jointCount(t.clauses[j])
	}
	r.from, r.to = t.clauses[r.first].from, t.clauses[last].to
	return r
}

func jointCount(c clause) float64 {
	if c.hard {
		return hardJoint
	}
	return softJoint
}

// align lays a phrase on clause k of the message.
func (x *Index) align(pi int, t *text, k int, r *reach, used []bool) (fit, bool) {
	p := &x.phrases[pi]
	f := fit{phrase: pi, clause: k, order: 1}
	clear(used[r.from:r.to])
	own := t.clauses[k]
	ownPart := len(t.parts[k]) > 0
	var got, head, agree, voters, partAgree, partVoters, crossed float64
	lowest, highest := math.MaxInt, -1
	last, ordered, pairs := -1, 0, 0
	partFound, real, said := false, 0, 0
	for i := range p.terms {
		pt := &p.terms[i]
		at, quality := x.seek(p, pt, t, k, r, used, last, ownPart)
		if at < 0 {
			continue
		}
		used[at] = true
		tok := &t.tokens[at]
		weight := pt.weight * quality
		got += weight
		if pt.real() {
			real++
		}
		if pt.says() && pt.stem != "#" {
			said++
		}
		f.found = append(f.found, hit{at, i, weight})
		if tok.seg == k {
			lowest, highest = min(lowest, at), max(highest, at)
			if last >= 0 {
				pairs++
				if at > last {
					ordered++
				}
			}
			last = at
		} else {
			crossed += weight
		}
		same := tok.sign() == pt.sign
		switch {
		case pt.part:
			partFound = true
			denied, pDenied := tok.lacking || tok.subject, pt.lacking || pt.subject
			if pt.lacking {
				head += weight
			}
			partVoters += weight
			if denied == pDenied {
				partAgree += weight
			}
			if tok.lacking || pt.lacking {
				voters += weight
				if denied == pDenied {
					agree += weight
				}
			}
		case pt.says():
			head += weight
			// Where neither denies, nothing is to be compared; but a phrase
			// that denies one word and not another is only turned round when
			// both are.
			if !pt.sign && !tok.sign() && !pt.pole && !p.mixed {
				break
			}
			vote := weight
			if pt.pole && !pt.light {
				vote *= 4 // opposites carry the sense
			}
			voters += vote
			if same {
				agree += vote
			}
		}
	}
	if highest < 0 || got <= 0 || real == 0 && p.real > 0 {
		return f, false
	}
	f.cover = got / p.weight
	if !partFound && len(t.topicParts(k)) == 0 {
		// "it flickers": the part goes without saying.
		f.cover = got / (p.weight - unsaidPart*p.partWeight)
	}
	f.head = 1
	if p.head > 0 {
		f.head = head / p.head
		f.headless = head == 0
	}
	f.least = p.leastClause(&f)
	f.heft = got
	f.cross = crossed / got
	if p.single {
		f.cross *= crossSingle
	}
	if pairs > 0 {
		f.order = float64(ordered) / float64(pairs)
	}
	if head == 0 {
		agree, voters = agree+partAgree, voters+partVoters
	}
	f.agree = 1
	if voters > 0 {
		f.agree = agree / voters
	}
	f.same = f.agree >= 0.5
	// One word turned round is no statement of the opposite: "can't reach it"
	// against "reaches 45".
	if !f.same && (f.head < turnedHeadLeast || said < 2 && (p.absent || f.cover < 0.9)) {
		return f, false
	}
	f.hanging = x.lex.g.hanging[own.joint] && !p.hangs && crossed == 0 && p.symptom >= 0 && x.symptoms[p.symptom].Family != "history"
	between, total, ownGot := x.weighClause(t, own, lowest, highest, used)
	f.dense, f.whole = ownGot/between, ownGot/total
	// "the speed on the screen jumps" does not deny "no speed on the screen".
	if !f.same && p.head == 0 && f.whole < 0.85 {
		return f, false
	}
	f.clash = !partFound && (ownPart || len(t.topicParts(k)) > 0)
	return f, true
}

// speaksOf reports whether the phrase names one of the parts, or there are none.
func (p *phrase) speaksOf(parts []int32) bool {
	for _, id := range parts {
		if p.has(id) {
			return true
		}
	}
	return len(parts) == 0
}

// says reports whether the word says something of a part: verbs, states and
// the particles that make a verb ("out"), or a part that is not there ("no lights").
func (t *phraseTerm) says() bool {
	if t.part {
		return t.lacking
	}
	return !t.light || t.pole || t.particle
}

// real reports whether the word has a meaning of its own.
func (t *phraseTerm) real() bool { return !t.light && t.stem != "#" }

// leastClause is the share of what was found of the phrase's clause that was
// found least: "i press the button" alone is not "i press the button and
// nothing comes on".
func (p *phrase) leastClause(f *fit) float64 {
	last := p.terms[len(p.terms)-1].clause
	if p.terms[0].clause == last {
		return f.cover
	}
	least := 1.0
	for c := p.terms[0].clause; c <= last; c++ {
		var got, all, saidGot, said float64
		for i := range p.terms {
			if t := &p.terms[i]; t.clause == c && !t.aside {
				all += t.weight
				if t.says() {
					said += t.weight
				}
			}
		}
		for _, h := range f.found {
			if t := &p.terms[h.term]; t.clause == c && !t.aside {
				got += h.weight
				if t.says() {
					saidGot += h.weight
				}
			}
		}
		if all > 0.3 {
			least = min(least, got/all)
		}
		if said > 0.3 {
			least = min(least, saidGot/said)
		}
	}
	return least
}

// seek finds the best free word for a term of the phrase: in the clause
// itself, then near by; nearest after the last one found.
func (x *Index) seek(p *phrase, pt *phraseTerm, t *text, k int, r *reach, used []bool, last int, ownPart bool) (int, float64) {
	best, quality, gap := -1, 0.0, math.MaxInt
	for i := r.from; i < r.to; i++ {
		tok := &t.tokens[i]
		if tok.id != pt.id || used[i] || !tok.matched() {
			continue
		}
		q := r.count[tok.seg-r.first]
		if tok.seg != k && (pt.light || pt.part && ownPart || !p.speaksOf(t.parts[tok.seg])) {
			continue
		}
		if tok.seg != k && t.ofThing[tok.seg] && !p.parts {
			q *= hardJoint
		}
		if tok.stem != pt.stem && pt.id != x.thingID() {
			if p.symptom < 0 {
				continue
			}
			q *= otherWord
		}
		d := i - last
		if d < 0 {
			d = -d + 3
		}
		if q > quality || q == quality && d < gap {
			best, quality, gap = i, q, d
		}
	}
	return best, quality
}

func (x *Index) thingID() int32 { return x.lex.id(thing) }

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
