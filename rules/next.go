package rules

import (
	"cmp"
	"math"
	"slices"

	"triagebot/kb"
)

// Situation is what limits the choice of the next check.
type Situation struct {
	Answered map[string]string // check -> outcome; need not be asked again
	Cannot   map[string]bool   // checks this owner cannot do
	Lacking  map[string]bool   // tools
	AtHand   map[string]bool   // tools the owner is known to have
	Opened   map[string]bool   // access already paid for
	Shut     map[string]bool   // access of a check that the owner could not do
	Tried    map[string]bool   // remedies carried out without a cure
}

// cannotWithTools is how often an owner who has all the tools still cannot do a
// check. common practice, no source.
const cannotWithTools = 0.1

// cannotBehind is how often an owner who could not do one check behind a cover
// cannot do another behind it. common practice, no source.
const cannotBehind = 0.7

// cannot is the chance that the owner cannot do a check.
func (s Situation) cannot(c *kb.Check) float64 {
	if slices.ContainsFunc(c.Access, func(id string) bool { return s.Shut[id] && !s.Opened[id] }) {
		return max(c.Cannot, cannotBehind)
	}
	if len(c.Tools) == 0 || slices.ContainsFunc(c.Tools, func(t string) bool { return !s.AtHand[t] }) {
		return c.Cannot
	}
	return min(c.Cannot, cannotWithTools)
}

// Choice is the next step: exactly one of Check, Remedy, Fine and HandOver holds.
type Choice struct {
	// Twins are the causes that a hand-over names together, because no check
	// parts them and each has a remedy of its own.
	Twins    []*kb.Cause
	Check    *kb.Check
	Remedy   *kb.Remedy
	Fine     bool // nothing is wrong
	HandOver bool
	// Chance is the probability that the remedy is the right one.
	Chance float64
	// Cost is the expected cost in minutes from here to the end.
	Cost float64
	// Left is how many checks the owner could still do that tell anything.
	Left int
}

// The chooser looks at the likeliest hypotheses only: beyond these the answers
// would hardly move the plan, and its time grows with their number.
const (
	hypothesesKept = 56
	massKept       = 0.995
	leastKept      = 1e-5
)

// dearRemedy is the loss, in minutes, from which a remedy is named only when
// it is sure enough: below it, trying is cheaper than asking.
const dearRemedy = 20

// hypothesis is one row of the decision.
type hypothesis struct {
	p    float64
	i, j int // causes; -1 where there is none
}

// nothingWrong and unlistedFault mark the two hypotheses without a cause.
const (
	nothingWrong  = -1
	unlistedFault = -2
)

// beforeGivingUp is the budget of a second look before a hunt is given to a
// person: a plan that was not looked into far enough seems dearer than it is.
// Over 1,500 hunts drawn from the built-in knowledge base it makes them some 5 %
// cheaper; a larger budget for every choice does not.
const beforeGivingUp = 200_000

// Next chooses the next step by expected cost to the right remedy.
func (b *Belief) Next(s Situation) Choice {
	d := b.decision(s)
	a := Choose(&d.problem, DefaultBudget)
	if a.Kind == HandOver && !a.Exact {
		a = Choose(&d.problem, beforeGivingUp)
	}
	c := Choice{Cost: a.Cost, Left: len(d.checks)}
	switch a.Kind {
	case AskCheck:
		c.Check = b.firstUnmet(d.checks[a.Index], s)
	case TryRemedy:
		end := d.ends[a.Index]
		c.Remedy, c.Fine, c.Twins = end.remedy, end.fine, end.twins
		c.HandOver = len(end.twins) > 0
		for h, cures := range d.problem.Remedies[a.Index].Cures {
			if cures {
				c.Chance += d.problem.Prob[h]
			}
		}
	default:
		c.HandOver = true
	}
	return c
}

// decision is the numbers of one choice, with what they stand for.
type decision struct {
	problem Problem
	checks  []*kb.Check
	ends    []end // what each of problem.Remedies stands for
}

// end is a way the hunt may end: a remedy, the word that nothing is wrong, or a
// hand-over that names twins.
type end struct {
	remedy *kb.Remedy
	fine   bool
	twins  []*kb.Cause
}

func (b *Belief) decision(s Situation) decision {
	m := b.m
	hyps := b.likeliest()
	d := decision{problem: Problem{HandOver: m.KB.About.Cost.HandOver}}
	for _, h := range hyps {
		d.problem.Prob = append(d.problem.Prob, h.p)
	}
	access := newAccessCosts(m.KB, s)
	var table likeTable
	for _, o := range m.Obs {
		c := o.Check
		if c == nil || !b.available(c, s) || !b.needsLikely(&table, c, s, hyps) {
			continue
		}
		like := table.fill(b, m.obs[c.ID], hyps)
		if !parts(like, d.problem.Prob) {
			continue
		}
		cost := asking + c.Minutes + c.Risk
		if cannot := s.cannot(c); cannot < oftenCannot {
			cost += askedInVain * cannot / (1 - cannot)
			like = slices.Clone(like)
			table.release()
		} else {
			cost = (1-cannot)*cost + cannot*askedInVain
			like = orCannot(like, cannot)
		}
		d.checks = append(d.checks, c)
		d.problem.Checks = append(d.problem.Checks, ProblemCheck{Like: like, Cost: cost, Opens: access.of(c, b, s)})
	}
	d.problem.Access = access.cost
	b.addRemedies(&d, hyps, s)
	return d
}

// asking is what a question costs, in minutes, beside the doing: it is read, and
// answered. common practice, no source.
const asking = 2

// askedInVain is lost, in minutes, with a check that the owner cannot do: it is
// read, weighed and refused. common practice, no source.
//
// Of two checks that tell the same, the better one to ask first is then the one
// with the smaller minutes + askedInVain * cannot/(1-cannot), by the usual
// exchange argument; so that is what a check costs. From oftenCannot on the plan
// also has to say what comes after a "can't", so it becomes an outcome.
const (
	askedInVain = 2
	oftenCannot = 0.3
)

// orCannot adds the outcome "can't", which tells nothing.
func orCannot(like [][]float64, cannot float64) [][]float64 {
	wide := len(like[0]) + 1
	out := rowsOf(make([]float64, len(like)*wide), wide, nil)
	for h, row := range like {
		for k, p := range row {
			out[h][k] = (1 - cannot) * p
		}
		out[h][wide-1] = cannot
	}
	return out
}

// likeliest takes the strongest hypotheses and scales them to one. A pair of
// which one cause was mended is the other cause alone.
func (b *Belief) likeliest() []hypothesis {
	single := make([]float64, len(b.m.Causes))
	for i := range single {
		single[i] = b.x.P(firstSingle + i)
	}
	var top strongest
	b.eachPair(func(at, i, j int) {
		switch p := b.x.P(at); {
		case b.fixed[i] && b.fixed[j]:
		case b.fixed[i]:
			single[j] += p
		case b.fixed[j]:
			single[i] += p
		default:
			top.add(hypothesis{p, i, j})
		}
	})
	for i, p := range single {
		top.add(hypothesis{p, i, -1})
	}
	top.add(hypothesis{b.x.P(1), unlistedFault, -1})
	top.add(hypothesis{b.x.P(0), nothingWrong, -1})
	kept, mass := 0, 0.0
	for kept < len(top) && mass < massKept {
		mass += top[kept].p
		kept++
	}
	top = top[:kept]
	for i := range top {
		top[i].p /= mass
	}
	return top
}

// strongest holds the likeliest hypotheses seen so far, the likeliest first;
// of equals, the last one added.
type strongest []hypothesis

func (s *strongest) add(h hypothesis) {
	if h.p <= leastKept || len(*s) == hypothesesKept && h.p < (*s)[hypothesesKept-1].p {
		return
	}
	if *s == nil {
		*s = make([]hypothesis, 0, hypothesesKept)
	}
	at, _ := slices.BinarySearchFunc(*s, h.p, func(x hypothesis, p float64) int { return cmp.Compare(p, x.p) })
	if len(*s) == hypothesesKept {
		*s = (*s)[:hypothesesKept-1]
	}
	*s = slices.Insert(*s, at, h)
}

// available says whether the owner can be asked this now.
func (b *Belief) available(c *kb.Check, s Situation) bool {
	if _, done := s.Answered[c.ID]; done || s.Cannot[c.ID] {
		return false
	}
	for _, t := range c.Tools {
		if s.Lacking[t] {
			return false
		}
	}
	for _, id := range c.First {
		if s.Cannot[id] {
			return false
		}
		if _, done := s.Answered[id]; done || b.m.Index(id) < 0 {
			continue
		}
		if f := b.m.KB.Check(id); f != nil && !b.available(f, s) {
			return false
		}
	}
	for _, n := range c.Needs {
		if got, done := s.Answered[n.Check]; done {
			if !slices.Contains(n.Outcomes, got) {
				return false
			}
		} else if before := b.m.KB.Check(n.Check); before == nil || b.m.Index(n.Check) < 0 || !b.available(before, s) {
			return false
		}
	}
	return true
}

// needsLikely says whether a check that must wait for an earlier one's outcome
// is likelier than not to come up: the plan may count on it then.
func (b *Belief) needsLikely(table *likeTable, c *kb.Check, s Situation, hyps []hypothesis) bool {
	for _, n := range c.Needs {
		if _, done := s.Answered[n.Check]; done {
			continue
		}
		obs := b.m.Index(n.Check)
		p := 0.0
		for h, row := range table.fill(b, obs, hyps) {
			for _, id := range n.Outcomes {
				if o := b.m.Obs[obs].Outcome(id); o >= 0 {
					p += hyps[h].p * row[o]
				}
			}
		}
		if p < 0.5 {
			return false
		}
	}
	return true
}

// firstUnmet is the check itself, or what has to be asked before it.
func (b *Belief) firstUnmet(c *kb.Check, s Situation) *kb.Check {
	for range len(b.m.KB.Checks) {
		before := ""
		for _, id := range c.First {
			if _, done := s.Answered[id]; !done && b.m.Index(id) >= 0 {
				before = id
				break
			}
		}
		if before == "" {
			for _, n := range c.Needs {
				if _, done := s.Answered[n.Check]; !done {
					before = n.Check
					break
				}
			}
		}
		if before == "" {
			return c
		}
		c = b.m.KB.Check(before)
	}
	return c
}

// likeTable is room for the likelihood of each outcome of a check under each
// hypothesis. Most checks tell nothing at a given point, so that one room serves
// many of them; release leaves what was filled last to its user.
type likeTable struct {
	flat, soft []float64
	rows       [][]float64
}

func (t *likeTable) release() { t.flat = nil }

// fill gives a row for each hypothesis; it is good until the next fill.
func (t *likeTable) fill(b *Belief, obs int, hyps []hypothesis) [][]float64 {
	wide := len(b.m.Obs[obs].Outcomes)
	if need := len(hyps) * wide; cap(t.flat) < need {
		t.flat = make([]float64, need)
	} else {
		t.flat = t.flat[:need]
	}
	t.soft = slices.Grow(t.soft[:0], wide)[:wide]
	t.rows = rowsOf(t.flat, wide, t.rows)
	for k := range wide {
		clear(t.soft)
		t.soft[k] = 1
		healthy := b.likelihoods(obs, t.soft)
		for h, y := range hyps {
			switch {
			case y.i == nothingWrong:
				t.rows[h][k] = healthy
			case y.i == unlistedFault:
				t.rows[h][k] = b.m.unlist[obs][k]
			case y.j < 0:
				t.rows[h][k] = b.single[y.i]
			default:
				t.rows[h][k] = b.pairLikelihood(y.i, y.j, healthy)
			}
		}
	}
	return t.rows
}

// rowsOf cuts a table into its rows, in the room of rows if it is large enough.
func rowsOf(flat []float64, wide int, rows [][]float64) [][]float64 {
	n := len(flat) / wide
	rows = slices.Grow(rows[:0], n)[:n]
	for h := range rows {
		rows[h] = flat[h*wide : (h+1)*wide : (h+1)*wide]
	}
	return rows
}

// parts says whether the answer could move the belief at all.
func parts(like [][]float64, prob []float64) bool {
	const least = 0.01
	for k := range like[0] {
		lo, hi := math.Inf(1), 0.0
		for h, row := range like {
			if prob[h] < 1e-3 {
				continue
			}
			lo, hi = min(lo, row[k]), max(hi, row[k])
		}
		if hi-lo > least {
			return true
		}
	}
	return false
}

// triedInVain is lost, in minutes of an owner's patience, with every remedy that
// was not it, however cheap. common practice, no source.
const triedInVain = 10

// narrowedShare: a person who is handed the right twins needs some six tenths
// of the time of one who is handed a riddle. common practice, no source.
const narrowedShare = 0.6

// addRemedies adds the ways to end. The right remedy is carried out sooner or
// later, by whomever: its minutes are lost only where it was the wrong one.
func (b *Belief) addRemedies(d *decision, hyps []hypothesis, s Situation) {
	about := b.m.KB.About.Cost
	narrowed := narrowedShare * about.HandOver
	// From probability Sure on, naming a dear remedy beats handing over.
	dear := about.HandOver * about.Sure / (1 - about.Sure)
	add := func(e end, cost, wrong float64, cures func(h hypothesis) bool) {
		list, any := make([]bool, len(hyps)), false
		for h := range hyps {
			list[h] = cures(hyps[h])
			any = any || list[h]
		}
		if any {
			d.ends = append(d.ends, e)
			d.problem.Remedies = append(d.problem.Remedies, ProblemRemedy{Cures: list, Cost: cost, Wrong: wrong})
		}
	}
	mends := func(r string) func(h hypothesis) bool {
		return func(h hypothesis) bool {
			return h.i >= 0 && (b.m.Causes[h.i].Remedy == r || h.j >= 0 && b.m.Causes[h.j].Remedy == r)
		}
	}
	for _, r := range b.m.KB.Remedies {
		if s.Tried[r.ID] {
			continue
		}
		wrong := r.Wrong + r.Minutes + triedInVain
		if r.Wrong >= dearRemedy {
			wrong = max(wrong, dear)
		}
		add(end{remedy: r}, 0, wrong, mends(r.ID))
	}
	for _, twins := range b.m.twins {
		add(end{twins: twins}, narrowed, 0, func(h hypothesis) bool {
			return h.i >= 0 && (slices.Contains(twins, b.m.Causes[h.i]) || h.j >= 0 && slices.Contains(twins, b.m.Causes[h.j]))
		})
	}
	add(end{fine: true}, 0, dear, func(h hypothesis) bool { return h.i == nothingWrong })
}

// accessCosts numbers what is opened, or done first, once for several checks.
type accessCosts struct {
	kb    *kb.KB
	place map[string]int
	cost  []float64
}

func newAccessCosts(k *kb.KB, s Situation) *accessCosts {
	return &accessCosts{kb: k, place: map[string]int{}}
}

// of returns the bits of what a check needs opened or done first.
func (a *accessCosts) of(c *kb.Check, b *Belief, s Situation) uint64 {
	var bits uint64
	for _, id := range c.Access {
		if o := a.kb.Opening(id); o != nil && !s.Opened[id] {
			bits |= a.bit(id, o.Minutes)
		}
	}
	before := slices.Clone(c.First)
	for _, n := range c.Needs {
		before = append(before, n.Check)
	}
	for _, id := range before {
		if _, done := s.Answered[id]; !done && b.m.Index(id) >= 0 {
			bits |= a.bit("first:"+id, a.kb.Check(id).Minutes)
		}
	}
	return bits
}

// bit gives each thing a place; beyond 64 things the rest share the last one.
func (a *accessCosts) bit(id string, minutes float64) uint64 {
	i, ok := a.place[id]
	if !ok {
		i = min(len(a.cost), 63)
		a.place[id] = i
		if i == len(a.cost) {
			a.cost = append(a.cost, minutes)
		}
	}
	return 1 << i
}
