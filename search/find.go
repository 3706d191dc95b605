package search

import (
	"cmp"
	"slices"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"
)

// finding is one reading of a clause as a symptom.
type finding struct {
	fit
	symptom int
	present bool
	conf    float64
	also    []hit  // what other patterns that say the same found
	concept bool   // known by a pattern, not by a phrase
	why     string // why it does not count, "" when it does
}

// manner is how a phrase was met.
type manner int

const (
	partly manner = iota // by some of its words
	within               // word for word, among others
	whole                // word for word, and nothing else in the clause
)

// Bounds of the search, which keep its time bounded too.
const (
	fetch        = 96   // phrases laid against each clause
	lookWords    = 8    // words of a clause looked up
	maxClauses   = 64   // clauses looked up
	exactClauses = 5    // clauses that may make up a phrase word for word
	exactly      = 0.99 // of a phrase said in so many words
	nearly       = 0.88 // a phrase that is nearly said is less sure than a pattern that is there
	loneCover    = 0.85 // of a phrase, when only one of its words is there
	wordsWithin  = 2    // of a phrase that may stand word for word in a longer clause
	namedOnly    = 0.3  // at most, when a part is named and nothing is said of it
	keywordCover = 0.6  // of what a danger's phrase says, when only its keyword is there
)

// findings lays the likely phrases against each clause and keeps, for each
// clause, symptom and sign, the best.
func (x *Index) findings(t *text, except int) []finding {
	used := make([]bool, len(t.tokens))
	evidence := make([]belonging, len(x.symptoms))
	var out []finding
	n := min(len(t.clauses), maxClauses)
	for k := 0; k < n; k++ {
		hits := x.lookUp(t, k)
		if len(hits) == 0 {
			continue
		}
		x.weighEvidence(t, t.clauses[k], except, evidence)
		r := t.reachOf(k)
		first := len(out)
		lay := func(pi int, as manner) {
			if pi == except {
				return
			}
			if f, ok := x.align(pi, t, k, &r, used); ok {
				if fd, ok := x.judge(f, evidence, as); ok {
					out = keepBest(out, first, fd)
				}
			}
		}
		for _, pi := range hits {
			lay(pi, partly)
		}
		for _, pi := range x.standWithin(t, t.clauses[k]) {
			lay(pi, within)
		}
		for last := k + 1; last <= len(t.clauses) && last <= k+exactClauses; last++ {
			for _, pi := range x.exact[t.plainRun(k, last)] {
				lay(pi, whole)
			}
		}
	}
	return out
}

// judge scores a fit. A keyword alone tells of nothing but danger.
func (x *Index) judge(f fit, evidence []belonging, as manner) (finding, bool) {
	p := &x.phrases[f.phrase]
	fd := finding{symptom: p.symptom, present: p.absent != f.same}
	switch {
	case p.symptom < 0:
		fd.conf = otherTalk(&f)
	case p.keyword && f.same && x.symptoms[p.symptom].Danger == "":
		return fd, false
	default:
		f.evidence, f.pool = evidence[p.symptom].share, evidence[p.symptom].known
		if p.keyword && f.same {
			f.cover *= keywordCover
			f.clash = false // danger is danger at whatever part
		}
		fd.conf = x.nearly * score(&f, fd.present)
		if f.lone && f.same && (f.headless || f.cover < loneCover && fd.present && x.symptoms[p.symptom].Danger == "") {
			// Only the thing is named, and what the phrase says of it is not there.
			fd.conf = min(fd.conf, namedOnly)
		}
	}
	fd.fit = f
	switch {
	case !f.same:
	case as == whole:
		// Said in so many words; the longer, the surer.
		fd.conf = max(fd.conf, exactly+0.009*min(f.heft, 10)/10)
	case as == within && f.agree > 0.99 && !f.hanging:
		fd.conf = max(fd.conf, min(conceptTop, conceptBase+conceptWithin*float64(len(p.words))))
	}
	return fd, true
}

// standWithin gives the phrases that begin in the clause and stand there word
// for word, with the same words denied, among others.
func (x *Index) standWithin(t *text, c clause) []int {
	var out []int
	for i := c.from; i < c.to; i++ {
		if t.tokens[i].void {
			continue
		}
	phrases:
		for _, pi := range x.within[t.tokens[i].text] {
			words := x.phrases[pi].words
			if i+len(words) > len(t.tokens) {
				continue
			}
			for j, w := range words {
				tok := &t.tokens[i+j]
				if tok.text != w.text || tok.denied != w.denied || tok.void {
					continue phrases
				}
			}
			out = append(out, pi)
		}
	}
	return out
}

func keepBest(out []finding, first int, f finding) []finding {
	for i := first; i < len(out); i++ {
		if out[i].symptom == f.symptom && out[i].present == f.present {
			if f.conf > out[i].conf || f.conf == out[i].conf && f.phrase < out[i].phrase {
				out[i] = f
			}
			return out
		}
	}
	return append(out, f)
}

// lookWord is a word to be looked up.
type lookWord struct {
	term   string
	weight float64
}

// lookUp asks the index for the phrases that may fit clause k.
func (x *Index) lookUp(t *text, k int) []int {
	c := t.clauses[k]
	var words []lookWord
	heavy := 0.0
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if tok.id < 0 || !tok.matched() {
			continue
		}
		w := x.tokenWeight(tok)
		heavy = max(heavy, w)
		words = append(words, lookWord{tok.term, w})
		if tok.pole {
			words = append(words, lookWord{tok.stem, w})
		}
	}
	slices.SortFunc(words, func(a, b lookWord) int {
		return cmp.Or(cmp.Compare(b.weight, a.weight), strings.Compare(a.term, b.term))
	})
	words = slices.Compact(words)
	if len(words) > lookWords {
		words = words[:lookWords]
	}
	var queries []query.Query
	for _, w := range words {
		// The commonest words find everything and decide nothing.
		if w.weight < 0.25*min(heavy, 1) {
			continue
		}
		q := bleve.NewTermQuery(w.term)
		q.SetField("terms")
		q.SetBoost(w.weight)
		queries = append(queries, q)
	}
	if len(queries) == 0 {
		return nil
	}
	req := bleve.NewSearchRequestOptions(bleve.NewDisjunctionQuery(queries...), fetch, 0, false)
	req.SortBy([]string{"-_score", "_id"})
	res, err := x.bleve.Search(req)
	if err != nil {
		return nil // the index is closed; nothing is understood then
	}
	out := make([]int, 0, len(res.Hits))
	for _, h := range res.Hits {
		if n := atoi(h.ID); n >= 0 && n < len(x.phrases) {
			out = append(out, n)
		}
	}
	return out
}

func atoi(s string) int {
	n := 0
	for _, r := range s {
		if r < '0' || r > '9' {
			return -1
		}
		n = n*10 + int(r-'0')
	}
	return n
}

// belonging is how much the words of a clause belong to a symptom.
type belonging struct {
	share float64 // how much they are its own
	known float64 // how much of the clause its phrases know
}

// weighEvidence sums for each symptom how much the words of the clause belong
// to it, whatever phrase they stand in.
func (x *Index) weighEvidence(t *text, c clause, except int, into []belonging) {
	clear(into)
	var total float64
	for i := c.from; i < c.to; i++ {
		tok := &t.tokens[i]
		if tok.cue || tok.light {
			continue
		}
		w := x.tokenWeight(tok)
		total += w
		if tok.id < 0 || tok.void {
			continue
		}
		for _, l := range x.affinity[tok.id] {
			if share := x.shareOf(l, tok.id, except); share > 0 {
				into[l.symptom].share += w * share
				into[l.symptom].known += w
			}
		}
	}
	if total > 0 {
		for i := range into {
			into[i].share /= total
			into[i].known /= total
		}
	}
}

// shareOf is how much of a term's use is the symptom's, without what the
// phrase that is left out contributed.
func (x *Index) shareOf(l linkage, id int32, except int) float64 {
	count, uses := float64(l.count), float64(x.uses[id])
	if except >= 0 && x.phrases[except].has(id) {
		p := &x.phrases[except]
		uses--
		if int(l.symptom) == p.symptom && !p.absent {
			count--
		}
	}
	return max(0, count) / (uses + 1)
}
