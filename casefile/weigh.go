package casefile

import (
	"cmp"
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
// The weight of a piece of evidence for a cause is the factor by which it moved
// the odds of that cause when it came in: how many times likelier the evidence
// is with the cause than without it. So the weights of a cause, multiplied,
// lead from its odds at first to its odds in the end. [rules.Belief.Weight]
// compares with everything believed, the cause included, and so cannot say of a
// strong suspect that anything speaks for it.
type weighing struct {
	*builder
	model    *rules.Model
	evidence []conversation.Evidence // in the order of the talk
	weights  [][]float64             // per piece of evidence and cause
	prior    []float64               // per cause, before anything was known
	highest  []float64               // per cause, the highest it ever had
}

func (b *builder) newWeighing() *weighing {
	w := &weighing{builder: b, model: b.a.Model, evidence: slices.Clone(b.a.Evidence)}
	// As the talk went: within a round, what was said unasked, then the answers.
	slices.SortStableFunc(w.evidence, func(x, y conversation.Evidence) int {
		return cmp.Or(cmp.Compare(x.Round, y.Round), cmp.Compare(turnOf(x), turnOf(y)))
	})
	belief := rules.NewBelief(w.model)
	w.prior = belief.Causes()
	w.highest = slices.Clone(w.prior)
	round := 0
	for _, ev := range w.evidence {
		for ; round < ev.Round; round++ {
			w.mend(belief, round)
		}
		before, weights := belief.Causes(), make([]float64, len(w.prior))
		w.note(belief.Observe(w.model.Index(ev.Observation.ID), ev.Soft))
		for i, p := range belief.Causes() {
			weights[i] = odds(p) / odds(before[i])
			w.highest[i] = max(w.highest[i], p)
		}
		w.weights = append(w.weights, weights)
	}
	return w
}

// odds keeps away from nought and endless: beyond, rounding would speak.
func odds(p float64) float64 {
	const least = 1e-12
	return max(p, least) / max(1-p, least)
}

func turnOf(ev conversation.Evidence) int {
	if ev.Answer == nil {
		return -1
	}
	return ev.Answer.Turn
}

// carriedOut lists the remedies that were carried out and left a fault; the
// i-th closed round i.
func (b *builder) carriedOut() []string {
	var list []string
	for _, t := range b.st.Attempts {
		if t.Spent() {
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

// strongest lists the evidence that speaks most strongly on one side of a
// cause, at least by the ratio given.
func (w *weighing) strongest(cause int, against bool, least float64, most int) []Evidence {
	type weighed struct {
		evidence int
		strength float64
	}
	var all []weighed
	for i := range w.evidence {
		strength := w.weights[i][cause]
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
		e := w.inWords(w.evidence[x.evidence])
		weight := w.weights[x.evidence][cause]
		e.Weight, e.Words = digits(weight), weightWords(weight)
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
	list := []RuledOut{}
	for i, p := range w.a.Belief.Causes() {
		if p >= ruledBelow || w.highest[i] < onceSuspect {
			continue
		}
		c := w.model.Causes[i]
		list = append(list, RuledOut{
			Cause: causeOf(c), Prior: digits(w.prior[i]), Highest: digits(w.highest[i]), Probability: digits(p),
			By: w.ruledBy(i),
		})
	}
	slices.SortStableFunc(list, func(x, y RuledOut) int { return cmp.Compare(y.Highest, x.Highest) })
	return list
}

func (w *weighing) ruledBy(cause int) []Evidence {
	list := []Evidence{}
	remedy := w.model.Causes[cause].Remedy
	if slices.Contains(w.carriedOut(), remedy) {
		name, form, words := remedy, "remedied", say("speaks-remedy")
		if r := w.kb.Remedy(remedy); r != nil {
			name = r.Name
			if r.Again != "" {
				form, words = "remedied-again", say("speaks-mended")
			}
		}
		list = append(list, Evidence{Kind: "remedy", Of: []string{remedy}, Says: say(form, "remedy", name), Words: words})
	}
	if found := w.strongest(cause, true, plain, 2-len(list)); len(found) > 0 || len(list) > 0 {
		return append(list, found...)
	}
	return w.strongest(cause, true, slight, 1)
}
