package casefile

import (
	"cmp"
	"math"
	"slices"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// Which causes are listed. A volunteer reads half a dozen suspects at most, and
// a cause that was never likelier than a few in a hundred was none.
const (
	leastSuspect = 0.02
	mostSuspects = 6
	mostEvidence = 3
	ruledBelow   = 0.01
	onceSuspect  = 0.02
)

// weighing takes the belief apart into the evidence for and against each cause.
//
// The weight of a piece of evidence for a cause is its probability if that
// cause is the one, over its probability before anything was known; so it does
// not depend on the order of the questions. Measured against what is believed
// in the end, all that led to a sure suspect would seem to weigh nothing.
type weighing struct {
	*builder
	model  *rules.Model
	expect []float64      // per piece of evidence: its probability before anything was known
	mended map[string]int // remedy carried out without a cure -> the round after it
}

func (b *builder) newWeighing() *weighing {
	w := &weighing{builder: b, model: b.a.Model, mended: map[string]int{}}
	before := rules.NewBelief(w.model)
	round := 0
	for _, ev := range b.a.Evidence {
		for ; round < ev.Round; round++ {
			w.mend(before, round)
		}
		w.expect = append(w.expect, dot(ev.Soft, before.Expect(w.model.Index(ev.Observation.ID))))
	}
	for i, id := range b.carriedOut() {
		if _, known := w.mended[id]; !known {
			w.mended[id] = i + 1
		}
	}
	return w
}

// carriedOut lists the remedies that were carried out and did not cure it; the
// i-th closed round i.
func (b *builder) carriedOut() []string {
	var list []string
	for _, t := range b.st.Attempts {
		if t.Done && !t.Cured {
			list = append(list, t.Remedy)
		}
	}
	return list
}

// mend takes in the remedy that closed a round.
func (w *weighing) mend(belief *rules.Belief, round int) {
	done := w.carriedOut()
	if round >= len(done) {
		return
	}
	var causes []int
	for i, c := range w.model.Causes {
		if c.Remedy == done[round] {
			causes = append(causes, i)
		}
	}
	w.note(belief.Remedied(causes))
}

func dot(a, b []float64) float64 {
	s := 0.0
	for i, x := range a {
		s += x * b[i]
	}
	return s
}

// weight is how strongly a piece of evidence speaks for a cause. On what came
// after its remedy a cause has no say.
func (w *weighing) weight(evidence, cause int) float64 {
	ev := w.a.Evidence[evidence]
	if after, done := w.mended[w.model.Causes[cause].Remedy]; done && ev.Round >= after {
		return 1
	}
	if w.expect[evidence] == 0 {
		return 1
	}
	obs, likelihood := w.model.Index(ev.Observation.ID), 0.0
	for o, p := range ev.Soft {
		likelihood += p * w.model.Likelihood(obs, o, cause)
	}
	return likelihood / w.expect[evidence]
}

// strongest lists the evidence that speaks most strongly on one side of a
// cause, at least by the ratio given.
func (w *weighing) strongest(cause int, against bool, least float64, most int) []Evidence {
	type weighed struct {
		evidence int
		strength float64
	}
	var all []weighed
	for i := range w.a.Evidence {
		strength := w.weight(i, cause)
		if against {
			strength = 1 / strength
		}
		if strength >= least {
			all = append(all, weighed{i, strength})
		}
	}
	slices.SortStableFunc(all, func(x, y weighed) int { return cmp.Compare(y.strength, x.strength) })
	list := []Evidence{}
	for _, x := range all[:min(most, len(all))] {
		e := w.evidence(w.a.Evidence[x.evidence])
		weight := w.weight(x.evidence, cause)
		// A floor in the rules keeps weights above nought; a hand-made rule may not.
		e.Weight, e.Words = digits(max(weight, 1e-9)), weightWords(max(weight, 1e-9))
		list = append(list, e)
	}
	return list
}

// suspects lists what is left, strongest first. The evidence of two causes at
// once is that of its parts, which follow it.
func (w *weighing) suspects() []Suspect {
	list := []Suspect{}
	for _, s := range w.a.Belief.Suspects(leastSuspect) {
		if len(list) == mostSuspects {
			break
		}
		x := Suspect{Probability: digits(s.Probability), For: []Evidence{}, Against: []Evidence{}}
		for _, c := range s.Causes {
			x.Causes = append(x.Causes, causeOf(c))
		}
		first := s.Causes[0]
		x.Remedy, x.RemedyName = first.Remedy, first.Remedy
		if r := w.kb.Remedy(first.Remedy); r != nil {
			x.RemedyName, x.By = r.Name, r.By
		}
		if len(s.Causes) == 1 {
			cause := w.model.Cause(first.ID)
			x.For = w.strongest(cause, false, slight, mostEvidence)
			x.Against = w.strongest(cause, true, slight, mostEvidence)
		}
		list = append(list, x)
	}
	return list
}

func causeOf(c *kb.Cause) Cause { return Cause{c.ID, c.Name, c.Part} }

// ruledOut lists the causes that were suspects and are none any more, the
// likeliest once first, each with what spoke most strongly against it.
func (w *weighing) ruledOut() []RuledOut {
	prior, highest := w.shares()
	list := []RuledOut{}
	for i, p := range w.a.Belief.Causes() {
		if p >= ruledBelow || highest[i] < onceSuspect {
			continue
		}
		c := w.model.Causes[i]
		list = append(list, RuledOut{
			Cause: causeOf(c), Prior: digits(prior[i]), Highest: digits(highest[i]), Probability: digits(p),
			By: w.ruledBy(i),
		})
	}
	slices.SortStableFunc(list, func(x, y RuledOut) int { return cmp.Compare(y.Highest, x.Highest) })
	return list
}

func (w *weighing) ruledBy(cause int) []Evidence {
	list := []Evidence{}
	remedy := w.model.Causes[cause].Remedy
	if _, done := w.mended[remedy]; done {
		name := remedy
		if r := w.kb.Remedy(remedy); r != nil {
			name = r.Name
		}
		list = append(list, Evidence{Kind: "remedy", Of: []string{remedy}, Says: say("remedied", "remedy", name), Words: say("speaks-remedy")})
	}
	if found := w.strongest(cause, true, plain, 2-len(list)); len(found) > 0 || len(list) > 0 {
		return append(list, found...)
	}
	return w.strongest(cause, true, slight, 1)
}

// shares is each cause's probability before anything was known, and the
// highest it had while the answers came in.
func (w *weighing) shares() (prior, highest []float64) {
	belief := rules.NewBelief(w.model)
	prior = belief.Causes()
	highest = slices.Clone(prior)
	order := slices.Clone(w.a.Evidence)
	// As the talk went: within a round, what was said unasked, then the answers.
	slices.SortStableFunc(order, func(x, y conversation.Evidence) int {
		return cmp.Or(cmp.Compare(x.Round, y.Round), cmp.Compare(turnOf(x), turnOf(y)))
	})
	round := 0
	for _, ev := range order {
		for ; round < ev.Round; round++ {
			w.mend(belief, round)
		}
		if belief.Observe(w.model.Index(ev.Observation.ID), ev.Soft) != nil {
			continue
		}
		for i, p := range belief.Causes() {
			highest[i] = math.Max(highest[i], p)
		}
	}
	return prior, highest
}

func turnOf(ev conversation.Evidence) int {
	if ev.Answer == nil {
		return -1
	}
	return ev.Answer.Turn
}
