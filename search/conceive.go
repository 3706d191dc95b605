package search

// stretch is where words of a kind stand in a message.
type stretch struct {
	from, to int
	denied   bool // otherwise than when said alone
}

// How surely a concept is meant: the more it takes, the surer.
const (
	conceptBase = 0.90
	conceptMore = 0.015 // for each element
	conceptWord = 0.003 // for each word
	conceptTop  = 0.985
	// A phrase that stands there word for word is as good as a pattern of as many elements.
	conceptWithin = 0.012 // for each word of the phrase
	conceptLone   = 0.90  // one word, with nothing to bear it out
)

// conceive finds the concepts in a message.
func (x *Index) conceive(t *text, figures *figures) ([]finding, []sighting) {
	at := x.stretches(t)
	var out []finding
	m := conceiving{x: x, t: t, at: at, figures: figures, figure: noFigure}
	for kind := range at {
		if len(at[kind]) == 0 {
			continue
		}
		for _, i := range x.concepts.use[kind] {
			c := &x.concepts.list[i]
			if c.check == "" {
				out = m.find(c, out)
				continue
			}
			for n := range figures.list {
				m.figure = n
				m.find(c, nil)
			}
			m.figure = noFigure
		}
	}
	return out, m.sights
}

// stretches finds the words of each kind.
func (x *Index) stretches(t *text) [][]stretch {
	at := make([][]stretch, x.concepts.kinds)
	for i := range t.tokens {
		if t.tokens[i].void {
			continue
		}
	runs:
		for _, run := range x.concepts.runs[t.tokens[i].stem] {
			n := len(run.stems)
			if i+n > len(t.tokens) {
				continue
			}
			s := stretch{from: i, to: i + n}
			turned := false
			for j := range n {
				tok := &t.tokens[i+j]
				if tok.stem != run.stems[j] || run.exact[j] != "" && tok.text != run.exact[j] || tok.void || j > 0 && tok.before == stop {
					continue runs
				}
				// A denial that the words bring with them is part of them.
				s.denied = s.denied || tok.denied != run.denied[j]
				// "Everything works except the horn" repeats the verb turned round.
				turned = turned || tok.term == workTerm && tok.text[0] != '=' && x.lex.g.poles[tok.text].no != tok.no
			}
			s.denied = s.denied != turned
			for _, m := range run.kinds {
				s := s
				if n == 1 && m.named && x.lex.preposition(t, i) {
					continue
				}
				if m.denied {
					if !s.denied {
						continue
					}
					s.denied = false // it is as the pattern has it
				}
				at[m.kind] = append(at[m.kind], s)
			}
		}
	}
	return at
}

// conceiving is the search for concepts in one message.
type conceiving struct {
	x       *Index
	t       *text
	at      [][]stretch
	taken   [16]stretch
	figures *figures
	figure  int // the one of which a pattern may speak
	sights  []sighting
}

// mine reports whether words may be element i of a pattern that speaks of a
// figure: its number, or words that are not another's.
func (m *conceiving) mine(c *concept, i int, s stretch) bool {
	if m.figure == noFigure {
		return true
	}
	f := &m.figures.list[m.figure]
	if i == c.head {
		return s.from == f.token && f.Value >= c.least && f.Value <= c.most
	}
	return m.figures.reachable(m.t, m.figure, s.from)
}

// claim gives a figure to the check of a pattern; of two patterns the longer has it,
// of two as long as each other neither.
func (m *conceiving) claim(c *concept) {
	f := &m.figures.list[m.figure]
	if len(c.elements) == f.terms && c.check != f.check {
		f.torn = true
	}
	if len(c.elements) <= f.terms {
		return
	}
	f.check, f.terms, f.torn = c.check, len(c.elements), false
	from, to := f.token, f.token+1
	for _, s := range m.taken[:len(c.elements)] {
		if m.figures.groups[s.from] == m.figure {
			from, to = min(from, s.from), max(to, s.to)
		}
	}
	m.figures.spend(m.figure, from, to)
}

// find adds a finding for each place where all of a concept stands; of the
// places that begin with the same word the nearest.
func (m *conceiving) find(c *concept, out []finding) []finding {
	if len(c.elements) > len(m.taken) {
		return out
	}
	for i := range c.elements {
		if len(m.at[c.elements[i].kind]) == 0 {
			return out
		}
	}
	for _, s := range m.at[c.elements[0].kind] {
		if c.elements[0].denied && !s.denied || !m.mine(c, 0, s) {
			continue
		}
		m.taken[0] = s
		if !m.rest(c, 1) || m.lacks(c) {
			continue
		}
		switch {
		case c.check != "":
			m.claim(c)
		case c.sight > 0:
			m.sighted(c)
		default:
			out = keepSurest(out, m.finding(c))
		}
	}
	return out
}

// rest finds the elements from i on, each as near to the one before as can be.
func (m *conceiving) rest(c *concept, i int) bool {
	if i == len(c.elements) {
		return true
	}
	e := &c.elements[i]
	before := m.taken[i-1]
	tried := map[int]bool(nil)
	for {
		best, gap := -1, 1<<30
		for j, s := range m.at[e.kind] {
			if tried[j] || e.denied && !s.denied || !m.linked(c, e.link, before, s) || !m.mine(c, i, s) {
				continue
			}
			d := s.from - before.to
			if d < 0 {
				d = before.from - s.to + 2 // what follows goes before what precedes
			}
			if d < gap || d == gap && s.to-s.from > m.at[e.kind][best].to-m.at[e.kind][best].from {
				best, gap = j, d
			}
		}
		if best < 0 {
			return false
		}
		m.taken[i] = m.at[e.kind][best]
		if m.rest(c, i+1) {
			return true
		}
		if tried == nil {
			tried = map[int]bool{}
		}
		tried[best] = true
	}
}

func (m *conceiving) finding(c *concept) finding {
	head := m.taken[c.head]
	turned := (head.denied || m.missing(c) || !c.present && !c.denies && m.deniedBeside(c)) && !c.fixed
	f := finding{symptom: c.symptom, present: c.present != turned, concept: true}
	f.phrase, f.clause, f.same = c.phrase, m.t.tokens[head.from].seg, !turned
	words := 0
	for i := range c.elements {
		s := m.taken[i]
		words += s.to - s.from
		for j := s.from; j < s.to; j++ {
			f.found = append(f.found, hit{token: j, weight: 1 / float64(s.to-s.from)})
		}
	}
	f.conf = min(conceptTop, conceptBase+conceptMore*float64(len(c.elements))+conceptWord*float64(words))
	if words == 1 {
		f.conf = conceptLone
	}
	return f
}

// deniedBeside reports whether the verb of a concept is denied beside its head:
// "the P never goes away".
func (m *conceiving) deniedBeside(c *concept) bool {
	for i := range c.elements {
		s := m.taken[i]
		if i != c.head && s.denied && !c.elements[i].denied && !m.t.tokens[s.from].light && !m.ofPart(s) {
			return true
		}
	}
	return false
}

// missing reports whether what a concept speaks of is said not to be there at
// all: "no brake sign on the display".
func (m *conceiving) missing(c *concept) bool {
	for i := range c.elements {
		s := m.taken[i]
		if i != c.head && s.denied && !c.elements[i].denied && m.t.tokens[s.from].lacking && m.ofPart(s) {
			return true
		}
	}
	return false
}

// keepSurest keeps of the findings of one symptom, sign and clause the surest,
// and of two as sure as each other the one that explains more words.
func keepSurest(out []finding, f finding) []finding {
	for i := range out {
		o := &out[i]
		if o.symptom == f.symptom && o.present == f.present && o.clause == f.clause {
			if f.conf > o.conf || f.conf == o.conf && len(f.found) > len(o.found) {
				f, *o = *o, f
			}
			o.also = append(append(o.also, f.also...), f.found...)
			return out
		}
	}
	return append(out, f)
}
