package conversation

import (
	"cmp"
	"slices"

	"triagebot/kb"
	"triagebot/rules"
)

// What speaks for a remedy: so many pieces of evidence at most, each of which
// raised the odds at least by this factor.
const (
	mostReasons = 3
	leastRaised = 1.5
)

// whyRemedy says what speaks for the cause that a remedy mends.
func (t *step) whyRemedy(r *kb.Remedy) error {
	a, err := t.assess()
	if err != nil {
		return err
	}
	reasons := t.reasons(a, r)
	if len(reasons) > 0 {
		t.say("why-named")
	}
	for _, what := range reasons {
		t.say("why-evidence", "what", what)
	}
	if len(reasons) == 0 {
		t.say("why-cured")
	}
	return t.repeat()
}

// reasons lists what raised the odds of a remedy most, in the order of the talk
// within each round: the factor is that by which each piece moved them.
func (t *step) reasons(a *Assessment, r *kb.Remedy) []string {
	type reason struct {
		what   string
		raised float64
	}
	var list []reason
	mends := causesOf(a.Model, r.ID)
	odds := func(b *rules.Belief) float64 {
		p, sum := b.Causes(), 0.0
		for _, i := range mends {
			sum += p[i]
		}
		return sum / max(1-sum, 1e-12)
	}
	b := rules.NewBelief(a.Model)
	for _, ev := range a.Evidence {
		before := odds(b)
		if b.Observe(a.Model.Index(ev.Observation.ID), ev.Soft) != nil || ev.Round != t.st.Round {
			continue
		}
		if raised := odds(b) / max(before, 1e-12); raised >= leastRaised {
			list = append(list, reason{t.inWords(ev), raised})
		}
	}
	slices.SortStableFunc(list, func(x, y reason) int { return cmp.Compare(y.raised, x.raised) })
	var out []string
	for _, x := range list[:min(mostReasons, len(list))] {
		out = append(out, x.what)
	}
	return out
}

// inWords says a piece of evidence as the owner gave it.
func (t *step) inWords(ev Evidence) string {
	c := ev.Observation.Check
	switch {
	case ev.Answer != nil && ev.Answer.Reading != nil:
		return t.e.format(*ev.Answer.Reading) + ", " + c.Name
	case ev.Answer != nil:
		return outcomeName(c, ev.Outcome)
	}
	id := ev.Symptom
	if id == "" {
		id = ev.Observation.ID
	}
	s := t.e.kb.Symptom(id)
	switch {
	case s == nil && c != nil:
		return outcomeName(c, ev.Outcome)
	case s == nil:
		return id
	case !t.st.Symptoms[id].Present && s.Denied != "":
		return s.Denied
	}
	return s.Say
}
