package rules

import (
	"fmt"
	"slices"

	"triagebot/kb"
)

// Present and Absent are the outcomes of a symptom.
const (
	Present = "present"
	Absent  = "absent"
)

// Observation is something that can be known about a bike: a symptom, which is
// present or absent, or a check, with its windows or options.
type Observation struct {
	ID       string
	Outcomes []string
	Healthy  []bool
	Check    *kb.Check   // nil for a symptom
	Symptom  *kb.Symptom // nil for a check
}

// Outcome returns the place of an outcome, or -1.
func (o *Observation) Outcome(id string) int {
	for i, s := range o.Outcomes {
		if s == id {
			return i
		}
	}
	return -1
}

// Exactly is the evidence that this outcome was seen beyond doubt; sure below
// one leaves the rest to the other outcomes in equal parts.
func (o *Observation) Exactly(outcome int, sure float64) []float64 {
	e := make([]float64, len(o.Outcomes))
	rest := (1 - sure) / float64(max(1, len(e)-1))
	for i := range e {
		e[i] = rest
	}
	e[outcome] = sure
	return e
}

// Except is the evidence that this outcome was ruled out.
func (o *Observation) Except(outcome int, sure float64) []float64 {
	e := o.Exactly(outcome, 1-sure)
	return e
}

// Model is a knowledge base made ready for one kit: for each observation and
// each cause, what the cause makes it show, with what follows from the wiring
// worked out. Read-only; safe for concurrent use.
type Model struct {
	KB     *kb.KB
	Kit    *kb.Kit
	Causes []*kb.Cause // those this kit can have; one that comes in forms stands once for each, in a row
	Obs    []*Observation

	scope  *Scope
	obs    map[string]int
	cause  map[string]int
	forms  []*kb.Form // per cause; nil where it comes in one way
	prior  []float64  // per cause; sums to one over single causes
	start  []float64  // per hypothesis, in the order of Belief.x, before any evidence
	shows  [][]shown  // [observation][cause]
	leak   [][]float64
	unlist [][]float64
	twins  [][]*kb.Cause // sets that no check parts, with different remedies
	base   [][]float64   // [observation][outcome]: how often it comes, before anything is known
}

// shown is what one cause makes one observation show.
type shown struct {
	healthy float64   // probability that this cause leaves it healthy
	dist    []float64 // per outcome; zero at the healthy ones
	state   LineState // of the line at the observation; worse hides better
}

// NewModel prepares the knowledge base for a kit. Figures the owner was asked
// for are in asked.
func NewModel(k *kb.KB, kit *kb.Kit, asked map[string]float64) (*Model, error) {
	scope, err := NewScope(k, kit, asked)
	if err != nil {
		return nil, fmt.Errorf("preparing kit %q: %w", kit.ID, err)
	}
	m := &Model{KB: k, Kit: kit, scope: scope, obs: map[string]int{}, cause: map[string]int{}}
	total := 0.0
	add := func(c *kb.Cause, f *kb.Form, p float64) {
		m.Causes, m.forms, m.prior = append(m.Causes, c), append(m.forms, f), append(m.prior, p)
		total += p
	}
	for _, c := range k.Causes {
		if !kit.Has(c.Parts) {
			continue
		}
		p := c.Prior
		if f, ok := kit.Priors[c.ID]; ok {
			p *= f
		}
		m.cause[c.ID] = len(m.Causes)
		shares := 0.0
		for _, f := range c.Forms {
			shares += f.Share
		}
		for i := range c.Forms {
			add(c, &c.Forms[i], p*c.Forms[i].Share/shares)
		}
		if len(c.Forms) == 0 {
			add(c, nil, p)
		}
	}
	for i := range m.prior {
		m.prior[i] /= total
	}
	for _, s := range k.Symptoms {
		if kit.Has(s.Parts) {
			m.observe(&Observation{ID: s.ID, Outcomes: []string{Present, Absent}, Healthy: []bool{false, true}, Symptom: s})
		}
	}
	for _, c := range k.Checks {
		if kit.Has(c.Parts) && c.Kind != "talk" {
			m.observe(newCheckObservation(c))
		}
	}
	m.start = m.priors()
	m.fill()
	m.twins = m.twinSets()
	before := NewBelief(m)
	for obs := range m.Obs {
		m.base = append(m.base, before.Expect(obs))
	}
	return m, nil
}

// twinSets joins the causes that are twins of one another, directly or through
// a third, where they do not share one remedy.
func (m *Model) twinSets() [][]*kb.Cause {
	set := make([]int, len(m.Causes))
	for i := range set {
		set[i] = i
	}
	for i, c := range m.Causes {
		for _, t := range c.Twins {
			j, ok := m.cause[t.Cause]
			if !ok {
				continue
			}
			from, to := max(set[i], set[j]), min(set[i], set[j])
			for k := range set {
				if set[k] == from {
					set[k] = to
				}
			}
		}
	}
	var sets [][]*kb.Cause
	for first := range set {
		var causes []*kb.Cause
		different := false
		for i, c := range m.Causes {
			if set[i] == first && !slices.Contains(causes, c) {
				causes = append(causes, c)
				different = different || c.Remedy != causes[0].Remedy
			}
		}
		if different {
			sets = append(sets, causes)
		}
	}
	return sets
}

func newCheckObservation(c *kb.Check) *Observation {
	o := &Observation{ID: c.ID, Check: c}
	for _, w := range c.Windows {
		o.Outcomes = append(o.Outcomes, w.ID)
		o.Healthy = append(o.Healthy, w.Healthy)
	}
	for _, p := range c.Options {
		o.Outcomes = append(o.Outcomes, p.ID)
		o.Healthy = append(o.Healthy, p.Healthy)
	}
	return o
}

func (m *Model) observe(o *Observation) {
	m.obs[o.ID] = len(m.Obs)
	m.Obs = append(m.Obs, o)
}

// Scope evaluates this kit's limits.
func (m *Model) Scope() *Scope { return m.scope }

// Index returns the place of a symptom or check in Obs, or -1 when this kit
// does not have it.
func (m *Model) Index(id string) int {
	if i, ok := m.obs[id]; ok {
		return i
	}
	return -1
}

// Cause returns the place of a cause in Causes, or -1.
func (m *Model) Cause(id string) int {
	if i, ok := m.cause[id]; ok {
		return i
	}
	return -1
}

// unlistedHealthy is how often a check is healthy on a bike whose fault the
// rules do not know. Such a fault leaves most checks alone; what it does show,
// it shows without the pattern of any cause. common practice, no source.
const unlistedHealthy = 0.8

// unlistedPresent is how often such a fault makes an owner speak of any one
// symptom: a complaint names two or three out of some fifty. common practice,
// no source.
const unlistedPresent = 0.06

// floorShare is the part of the slip that may turn what a cause shows into
// anything at all, so that one misread look never rules a cause out for good.
const floorShare = 0.5

func (m *Model) fill() {
	slip := m.KB.About.Belief.Slip
	wires := newWiring(m.Kit.Line)
	says := make([]map[string]*kb.Show, len(m.Causes))
	for i, c := range m.Causes {
		says[i] = map[string]*kb.Show{}
		for j := range c.Shows {
			says[i][c.Shows[j].Of] = &c.Shows[j]
		}
		if f := m.forms[i]; f != nil {
			for j := range f.Shows {
				says[i][f.Shows[j].Of] = &f.Shows[j]
			}
		}
	}
	for _, o := range m.Obs {
		leak := leakOf(o, slip)
		row := make([]shown, len(m.Causes))
		for i, c := range m.Causes {
			line := c.Line
			if f := m.forms[i]; f != nil && f.Line != nil {
				line = *f.Line
			}
			row[i] = m.show(o, wires, line, says[i][o.ID])
			row[i].blur(o, floorShare*slip)
		}
		m.leak = append(m.leak, leak)
		m.shows = append(m.shows, row)
		m.unlist = append(m.unlist, unlistedOf(o, leak))
	}
}

// show works out one cell: the cause's own word goes before what the line says.
func (m *Model) show(o *Observation, wires wiring, line kb.CauseLine, said *kb.Show) shown {
	s := shown{healthy: 1, dist: make([]float64, len(o.Outcomes))}
	var reads *kb.LineReads
	if o.Check != nil {
		reads = o.Check.Line
	} else {
		reads = o.Symptom.Line
	}
	if reads != nil {
		if state, ok := wires.reads(reads, line); ok {
			if outcomes, named := reads.Reads[state.String()]; named && state != Live {
				s.state = state
				s.set(o, outcomes)
			}
		}
	}
	switch {
	case said == nil:
	case o.Symptom != nil:
		s.set(o, map[string]float64{Present: said.Present})
	default:
		s.set(o, said.Outcomes)
	}
	return s
}

func (s *shown) set(o *Observation, outcomes map[string]float64) {
	s.healthy = 1
	for i, id := range o.Outcomes {
		s.dist[i] = 0
		if !o.Healthy[i] {
			s.dist[i] = outcomes[id]
			s.healthy -= outcomes[id]
		}
	}
	s.healthy = max(0, s.healthy)
}

// blur lets a share of anything happen.
func (s *shown) blur(o *Observation, share float64) {
	each := share / float64(len(o.Outcomes))
	s.healthy *= 1 - share
	for i := range s.dist {
		s.dist[i] *= 1 - share
		if o.Healthy[i] {
			s.healthy += each
		} else {
			s.dist[i] += each
		}
	}
}

// leakOf is what an observation shows on a bike with nothing wrong.
func leakOf(o *Observation, slip float64) []float64 {
	if o.Symptom != nil {
		return []float64{o.Symptom.Rate, 1 - o.Symptom.Rate}
	}
	return spread(o, 1-slip)
}

// spread shares a mass over the healthy outcomes, and the rest over the others.
func spread(o *Observation, healthy float64) []float64 {
	n := 0
	for _, h := range o.Healthy {
		if h {
			n++
		}
	}
	d := make([]float64, len(o.Outcomes))
	for i, h := range o.Healthy {
		switch {
		case n == 0 || n == len(d):
			d[i] = 1 / float64(len(d))
		case h:
			d[i] = healthy / float64(n)
		default:
			d[i] = (1 - healthy) / float64(len(d)-n)
		}
	}
	return d
}

func unlistedOf(o *Observation, leak []float64) []float64 {
	if o.Symptom != nil {
		p := max(unlistedPresent, leak[0])
		return []float64{p, 1 - p}
	}
	return spread(o, unlistedHealthy)
}

// Prior is the share of a cause, in this form, of all single causes on this kit.
func (m *Model) Prior(cause int) float64 { return m.prior[cause] }

// First says whether a cause stands here for the first time, and not in a further form.
func (m *Model) First(cause int) bool { return cause == 0 || m.Causes[cause] != m.Causes[cause-1] }

// Likelihood is the probability that a bike with this cause, in this form, alone
// shows an outcome.
func (m *Model) Likelihood(obs, outcome, cause int) float64 {
	s := &m.shows[obs][cause]
	return s.healthy*m.leak[obs][outcome] + s.dist[outcome]
}
