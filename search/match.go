package search

import (
	"cmp"
	"slices"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/search/query"

	"triagebot/reading"
)

// Said is what a message was understood as. Empty fields mean that nothing was
// said of it.
type Said struct {
	Kit      string    // id of the kit named
	Danger   []string  // ids of danger symptoms present, also in Symptoms
	Symptoms []Symptom // surest first
	Readings []Reading // numbers given, in the order of the message
	Tools    []Tool    // tools the owner says to have or to lack
	Offtopic bool      // nothing in it is about the matter
	// Unclear names two or three symptoms that one clause may mean equally
	// well; none of them is in Symptoms.
	Unclear []string
}

// Symptom is one observation told, with how surely it was meant.
type Symptom struct {
	ID         string
	Present    bool
	Confidence float64
	Phrase     string // the phrase of the knowledge base it was known by
}

// Reading is a number given, with the check it belongs to, "" when the words
// do not tell.
type Reading struct {
	Check string
	reading.Quantity
}

// Tool is a tool spoken of.
type Tool struct {
	ID   string
	Have bool
}

// Thresholds of confidence. Danger is believed sooner: to miss it costs more.
const (
	believe       = 0.45
	believeDanger = 0.2
	believeAbsent = 0.35
	wonder        = 0.12 // below believe, but worth asking back
	wonderGap     = 0.1  // as likely as each other
	fetch         = 96   // phrases laid against each clause
	keywordCover  = 0.6  // of what a danger's phrase says, when only its keyword is there
	exactClauses  = 3    // clauses that may make up a phrase word for word
	maxClauses    = 64   // clauses looked up in the index
	lookWords     = 24   // words of a clause looked up
)

// Match reads one owner message.
func (x *Index) Match(message string) Said {
	said, _ := x.match(message)
	return said
}

// finding is one reading of a clause as a symptom.
type finding struct {
	fit
	symptom int
	present bool
	conf    float64
	why     string // why it does not count, "" when it does
}

func (x *Index) match(message string) (Said, []finding) {
	t := x.lex.read(message)
	var said Said
	said.Kit = x.kitIn(t)
	said.Tools = x.toolsIn(t)
	said.Readings = x.readingsIn(cut(message, MaxRunes), t)
	found := x.findings(t, -1)
	off := x.offTopicIn(t, found)
	kept := x.choose(t, found, off)
	for i := range kept {
		f := &kept[i]
		s := x.symptoms[f.symptom]
		said.Symptoms = append(said.Symptoms, Symptom{s.ID, f.present, round(f.conf), x.phrases[f.phrase].text})
		if s.Danger != "" && f.present {
			said.Danger = append(said.Danger, s.ID)
		}
	}
	said.Offtopic = x.isOfftopic(t, &said, kept, off)
	if !said.Offtopic {
		said.Unclear = x.unclear(t, found, kept)
	}
	return said, found
}

func round(v float64) float64 { return float64(int(v*1000+0.5)) / 1000 }

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
		lay := func(pi int, exact bool) {
			if pi == except {
				return
			}
			if f, ok := x.align(pi, t, k, &r, used); ok {
				if fd, ok := x.judge(f, evidence, exact); ok {
					out = keepBest(out, first, fd)
				}
			}
		}
		for _, pi := range hits {
			lay(pi, false)
		}
		for last := k + 1; last <= len(t.clauses) && last <= k+exactClauses; last++ {
			for _, pi := range x.exact[t.plainRun(k, last)] {
				lay(pi, true)
			}
		}
	}
	return out
}

// judge scores a fit. A keyword alone tells of nothing but danger.
func (x *Index) judge(f fit, evidence []belonging, exact bool) (finding, bool) {
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
		}
		fd.conf = score(&f, fd.present)
	}
	fd.fit = f
	if exact && f.same {
		// Said in so many words; the longer, the surer.
		fd.conf = max(fd.conf, 0.99+0.009*min(f.heft, 10)/10)
	}
	return fd, true
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

// choose settles which findings stand. A word explains one symptom; the surest
// finding takes it first.
func (x *Index) choose(t *text, found []finding, off offtopic) []finding {
	order := make([]int, 0, len(found))
	for i := range found {
		f := &found[i]
		if f.symptom < 0 {
			continue
		}
		f.why = x.objection(t, f, off)
		if f.why == "" {
			order = append(order, i)
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(found[b].conf, found[a].conf), cmp.Compare(found[a].phrase, found[b].phrase))
	})
	explained := make([]int, len(t.tokens)) // by the kept finding of that number, from 1
	var kept []finding
	for _, i := range order {
		f := &found[i]
		var fresh, all float64
		for _, h := range f.found {
			all += h.weight
			if n := explained[h.token]; n == 0 || x.sayTogether(&kept[n-1], f) {
				fresh += h.weight
			}
		}
		if fresh < 0.5*all {
			f.why = "its words are explained by a surer one"
			continue
		}
		if why := x.clashes(kept, f); why != "" {
			f.why = why
			continue
		}
		kept = append(kept, *f)
		for _, h := range f.found {
			// What only leads up to the matter is left for others to tell.
			if explained[h.token] == 0 && !x.phrases[f.phrase].terms[h.term].aside {
				explained[h.token] = len(kept)
			}
		}
	}
	return kept
}

// objection says why a finding does not count, "" when it does.
func (x *Index) objection(t *text, f *finding, off offtopic) string {
	c := t.clauses[f.clause]
	s := x.symptoms[f.symptom]
	p := &x.phrases[f.phrase]
	need := believe
	if s.Danger != "" && f.present {
		need = believeDanger
	} else if !f.present {
		need = believeAbsent
	}
	well := !f.present || x.healthy[f.symptom]
	switch {
	case f.conf < need:
		return "not sure enough"
	case c.foreign && !p.foreign:
		return "said of another machine"
	case c.hypothetical && !p.asks:
		return "asked or feared, not told"
	case c.gone && !p.past && s.Danger == "":
		return "was so, is no longer"
	case p.past && !x.pastIn(t, f):
		return "the phrase is about the past"
	case c.past && !p.past && well:
		return "was well before"
	case off.command && well:
		return "part of an order to the bot"
	}
	return ""
}

// pastIn reports whether one of the clauses in which words were found is past.
func (x *Index) pastIn(t *text, f *finding) bool {
	for _, h := range f.found {
		if c := t.clauses[t.tokens[h.token].seg]; c.past || c.gone {
			return true
		}
	}
	return false
}

// clashes: one symptom is told once, and present before absent; a symptom
// that excludes one already kept needs words of its own clause.
func (x *Index) clashes(kept []finding, f *finding) string {
	for i := range kept {
		k := &kept[i]
		if k.symptom == f.symptom {
			return "told already"
		}
		if f.present && k.present && k.clause == f.clause && x.excludes(k.symptom, f.symptom) {
			return "cannot be together with a surer one"
		}
	}
	return ""
}

// sayTogether: the same words may say that one symptom is there and another is
// not ("the screen is fine": normal, and not dark), where the knowledge base
// says that they exclude each other.
func (x *Index) sayTogether(a, b *finding) bool {
	return a.present != b.present && x.excludes(a.symptom, b.symptom)
}

func (x *Index) excludes(a, b int) bool {
	return slices.Contains(x.symptoms[a].Excludes, x.symptoms[b].ID) || slices.Contains(x.symptoms[b].Excludes, x.symptoms[a].ID)
}

// unclear finds a clause of which nothing was understood for sure, and for
// which two or three symptoms are as likely as each other.
func (x *Index) unclear(t *text, found, kept []finding) []string {
	for k := range t.clauses {
		c := t.clauses[k]
		if c.foreign || c.hypothetical || c.gone || slices.ContainsFunc(kept, func(f finding) bool { return f.clause == k }) {
			continue
		}
		var likely []finding
		for _, f := range found {
			if f.clause == k && f.symptom >= 0 && f.present && f.conf >= wonder && f.why == "not sure enough" {
				likely = append(likely, f)
			}
		}
		slices.SortStableFunc(likely, func(a, b finding) int {
			return cmp.Or(cmp.Compare(b.conf, a.conf), cmp.Compare(a.symptom, b.symptom))
		})
		n := 0
		for n < len(likely) && n < 4 && likely[n].conf >= likely[0].conf-wonderGap {
			n++
		}
		if n == 2 || n == 3 {
			ids := make([]string, n)
			for i := range ids {
				ids[i] = x.symptoms[likely[i].symptom].ID
			}
			return ids
		}
	}
	return nil
}

// Reason is one line of why a message was understood as it was.
type Reason struct {
	Symptom string
	Present bool
	Score   float64
	Phrase  string   // the phrase it was laid against
	Words   []string // the words of the message that fitted
	Clause  string   // the clause
	Against string   // why it does not count, "" when it does
}

// Explain says which phrases were found in a message, how well they fitted and
// why some of them do not count; the surest first.
func (x *Index) Explain(message string) []Reason {
	t := x.lex.read(message)
	_, found := x.match(message)
	var out []Reason
	for i := range found {
		f := &found[i]
		if f.conf < 0.05 {
			continue
		}
		r := Reason{Present: f.present, Score: round(f.conf), Phrase: x.phrases[f.phrase].text, Against: f.why}
		switch f.symptom {
		case offTopic:
			r.Symptom = "off topic"
		default:
			r.Symptom = x.symptoms[f.symptom].ID
		}
		for _, h := range f.found {
			r.Words = append(r.Words, t.tokens[h.token].text)
		}
		c := t.clauses[f.clause]
		var words []string
		for j := c.from; j < c.to; j++ {
			words = append(words, t.tokens[j].text)
		}
		r.Clause = strings.Join(words, " ")
		out = append(out, r)
	}
	slices.SortStableFunc(out, func(a, b Reason) int { return cmp.Compare(b.Score, a.Score) })
	return out
}
