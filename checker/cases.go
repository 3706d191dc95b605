package checker

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"triagebot/kb"
	"triagebot/reading"
	"triagebot/rules"
)

// surely is how far a case's symptoms and answers are believed: as an owner
// is, who slips now and then.
const surely = 0.97

func sortedKeys[T any](m map[string]T) []string { return slices.Sorted(maps.Keys(m)) }

// cases runs the second half of the rule authors' cases: from symptoms and
// readings to the leading suspect and the next check.
func (c *checker) cases() {
	for _, t := range c.Cases {
		i := slices.IndexFunc(c.models, func(m *rules.Model) bool { return m.Kit.ID == t.Kit })
		if i < 0 || t.Suspect == "" && t.Next == "" && len(t.Readings) == 0 {
			continue
		}
		r := &run{checker: c, test: t, m: c.models[i], b: rules.NewBelief(c.models[i]), answered: map[string]string{}}
		if r.readings() {
			r.symptoms()
			r.suspect()
			r.next()
		}
	}
}

// run is one case under way.
type run struct {
	*checker
	test     *kb.Case
	m        *rules.Model
	b        *rules.Belief
	answered map[string]string
}

func (r *run) fail(cure string, path []string, text string, args ...any) {
	r.error(r.At(append([]string{"cases", r.test.Name}, path...)...), "case", cure, "case %q: %s", r.test.Name, fmt.Sprintf(text, args...))
}

// readings puts in what was measured and looked at. Limits may refer to other
// readings, so all are known before any is judged.
func (r *run) readings() bool {
	given, known, ok := map[string]rules.Reading{}, map[string]rules.Known{}, true
	for _, id := range sortedKeys(r.test.Readings) {
		check := r.Check(id)
		if r.m.Index(id) < 0 {
			r.fail("choose another kit or check", []string{"readings", id}, "kit %q cannot have check %q", r.m.Kit.ID, id)
			ok = false
			continue
		}
		if check.Kind != "measure" {
			continue
		}
		y, err := figure(r.test.Readings[id], check.Unit)
		if err != nil {
			r.fail("write it like 4.98 "+check.Unit, []string{"readings", id}, "reading of %q: %s", id, err)
			ok = false
			continue
		}
		given[id] = y
		if !math.IsInf(y.Value, 0) {
			known[id] = rules.Known{Value: y.Value, U: rules.Uncertainty(r.About.Meters[check.Unit], y)}
		}
	}
	scope := r.m.Scope().With(known)
	for _, id := range sortedKeys(r.test.Readings) {
		if r.m.Index(id) < 0 {
			continue
		}
		obs := r.m.Index(id)
		o := r.m.Obs[obs]
		y, measured := given[id]
		if !measured {
			if i := o.Outcome(r.test.Readings[id]); i >= 0 {
				r.observe(obs, o.Exactly(i, surely), r.test.Readings[id])
			}
			continue
		}
		j, err := scope.Judge(o.Check, y)
		switch {
		case err != nil:
			r.fail("mend the limit", []string{"readings", id}, "%s", err)
			ok = false
		case j.Odd:
			why := strings.TrimSuffix(cmp.Or(j.OddReason, "it is outside of possible"), ".")
			r.fail("give a reading that is possible", []string{"readings", id}, "the reading of %q is odd: %s", id, why)
			ok = false
		default:
			r.observe(obs, j.Soft(), j.Window)
		}
	}
	return ok
}

// figure reads a case's figure. A unit may be left out, but not be another one.
func figure(text, unit string) (rules.Reading, error) {
	if strings.TrimSpace(text) == "OL" {
		return rules.Reading{Value: math.Inf(1), Unit: unit, Decimals: -1}, nil
	}
	q := reading.FindFor(text, unit)
	switch {
	case len(q) != 1 || q[0].Overload:
		return rules.Reading{}, fmt.Errorf("%q is not one figure", text)
	case q[0].Unit != "" && q[0].Unit != unit:
		return rules.Reading{}, fmt.Errorf("%q is in %s, but the check reads %s", text, q[0].Unit, unit)
	}
	return rules.Reading{Value: q[0].Value, Unit: unit, Decimals: q[0].Decimals, Spread: (q[0].High - q[0].Low) / 2}, nil
}

func (r *run) observe(obs int, soft []float64, outcome string) {
	if err := r.b.Observe(obs, soft); err != nil {
		r.fail("look at the case's readings", nil, "%s: %s", r.m.Obs[obs].ID, err)
		return
	}
	if r.m.Obs[obs].Check != nil {
		r.answered[r.m.Obs[obs].ID] = outcome
	}
}

// symptoms puts in what the owner said, with what follows from it; what counts
// through a check counts there, and once.
func (r *run) symptoms() {
	said := map[string]bool{}
	maps.Copy(said, r.test.Symptoms)
	for _, id := range sortedKeys(r.test.Symptoms) {
		if !r.test.Symptoms[id] {
			continue
		}
		for _, other := range r.Symptom(id).Implies {
			if _, given := said[other]; !given {
				said[other] = true
			}
		}
		for _, other := range r.Symptom(id).Excludes {
			if _, given := said[other]; !given {
				said[other] = false
			}
		}
	}
	for _, id := range sortedKeys(said) {
		if check, option := r.SameAs(id); check != nil {
			r.option(check, option, said[id])
			continue
		}
		obs := r.m.Index(id)
		if obs < 0 {
			continue
		}
		outcome := rules.Absent
		if said[id] {
			outcome = rules.Present
		}
		r.observe(obs, r.m.Obs[obs].Exactly(r.m.Obs[obs].Outcome(outcome), surely), outcome)
	}
}

func (r *run) option(check *kb.Check, option *kb.Option, present bool) {
	obs := r.m.Index(check.ID)
	if _, done := r.answered[check.ID]; done || obs < 0 {
		return
	}
	o := r.m.Obs[obs]
	if i := o.Outcome(option.ID); present {
		r.observe(obs, o.Exactly(i, surely), option.ID)
	} else if err := r.b.Observe(obs, o.Except(i, surely)); err != nil {
		r.fail("look at the case's symptoms", nil, "%s: %s", check.ID, err)
	}
}

// suspect compares the leading suspect with the one expected.
func (r *run) suspect() {
	if r.test.Suspect == "" {
		return
	}
	leader, most := "", 0.0
	chance := map[string]float64{"unlisted": r.b.Unlisted(), "nothing-wrong": r.b.NothingWrong()}
	for _, s := range r.b.Suspects(0) {
		if len(s.Causes) == 1 {
			chance[s.Causes[0].ID] = s.Probability
		}
	}
	for _, id := range sortedKeys(chance) {
		if chance[id] > most {
			leader, most = id, chance[id]
		}
	}
	if leader != r.test.Suspect {
		r.fail("look at the shows of both, or change the case", []string{"suspect"},
			"expected suspect %q, which has %.0f %%, got %q with %.0f %%", r.test.Suspect, 100*chance[r.test.Suspect], leader, 100*most)
	}
}

// next compares the next step with the check expected.
func (r *run) next() {
	if r.test.Next == "" {
		return
	}
	step := r.b.Next(rules.Situation{Answered: r.answered})
	got := "a hand-over"
	switch {
	case step.Check != nil:
		got = fmt.Sprintf("check %q", step.Check.ID)
	case step.Remedy != nil:
		got = fmt.Sprintf("remedy %q", step.Remedy.ID)
	case step.Fine:
		got = "that nothing is wrong"
	}
	if step.Check == nil || step.Check.ID != r.test.Next {
		r.fail("look at the minutes and shows of both, or change the case", []string{"next"}, "expected check %q next, got %s", r.test.Next, got)
	}
}
