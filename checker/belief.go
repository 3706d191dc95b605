package checker

import (
	"fmt"
	"math"
	"slices"

	"triagebot/kb"
	"triagebot/rules"
)

// leads is the probability from which a cause is taken to show in what an
// owner says: below it, most owners with that fault say something else.
const leads = 0.2

// alike is the difference in probability up to which two causes show the same
// at a check. The slips of any owner are of this size.
const alike = 0.05

// reach reports causes that nothing an owner says leads to. A remedy that has
// a check asked again mends the measuring, whose faults show in no symptom.
func (c *checker) reach() {
	for _, m := range c.models {
		for i, cause := range m.Causes {
			if c.Remedy(cause.Remedy).Again != "" || slices.ContainsFunc(m.Obs, func(o *rules.Observation) bool { return complaint(m, o, i) }) {
				continue
			}
			c.onKit(m.Kit, kb.Diagnostic{
				Pos: cause.Pos, Severity: kb.Error, Check: "no-symptom",
				Text: fmt.Sprintf("no symptom leads to cause %q", cause.ID),
				Cure: fmt.Sprintf("give under shows what its owner notices, with at least %v", leads),
			})
		}
	}
}

// complaint says whether an observation is a complaint that the cause makes
// likely, and likelier than it is without any cause. What the past was like
// is no complaint.
func complaint(m *rules.Model, o *rules.Observation, cause int) bool {
	obs := m.Index(o.ID)
	if o.Symptom != nil {
		p := m.Likelihood(obs, o.Outcome(rules.Present), cause)
		return o.Symptom.Family != "history" && p >= leads && p > 2*o.Symptom.Rate
	}
	for i, option := range o.Check.Options {
		if option.Symptom != "" && !option.Healthy && m.Likelihood(obs, i, cause) >= leads {
			return true
		}
	}
	return false
}

// differs is the greatest difference between what two causes show at an
// observation.
func differs(m *rules.Model, obs, a, b int) float64 {
	d := 0.0
	for o := range m.Obs[obs].Outcomes {
		d = math.Max(d, math.Abs(m.Likelihood(obs, o, a)-m.Likelihood(obs, o, b)))
	}
	return d
}

// apart reports causes with different remedies that no check tells from each
// other, unless they are declared as twins.
func (c *checker) apart() {
	for _, m := range c.models {
		for i, a := range m.Causes {
			for j := i + 1; j < len(m.Causes); j++ {
				b := m.Causes[j]
				if a.Remedy == b.Remedy || twins(a, b) || c.told(m, i, j) {
					continue
				}
				c.onKit(m.Kit, kb.Diagnostic{
					Pos: b.Pos, Severity: kb.Error, Check: "not-apart",
					Text: fmt.Sprintf("no check tells cause %q from %q at %s, and their remedies differ", b.ID, a.ID, a.Pos),
					Cure: "let a check show them differently, give them one remedy, or declare them as twins",
				})
			}
		}
	}
}

func (c *checker) told(m *rules.Model, i, j int) bool {
	for obs, o := range m.Obs {
		if o.Check != nil && differs(m, obs, i, j) > alike {
			return true
		}
	}
	return false
}

func twins(a, b *kb.Cause) bool {
	names := func(x, y *kb.Cause) bool {
		return slices.ContainsFunc(x.Twins, func(t kb.Twin) bool { return t.Cause == y.ID })
	}
	return names(a, b) || names(b, a)
}

// idle reports checks and symptoms that no cause makes look different on any
// kit. A check that others wait for is asked for its own sake.
func (c *checker) idle() {
	awaited := map[string]bool{}
	for _, check := range c.Checks {
		for _, id := range check.First {
			awaited[id] = true
		}
		for _, n := range check.Needs {
			awaited[n.Check] = true
		}
	}
	moves, had := map[string]bool{}, map[string]bool{}
	for _, m := range c.models {
		for obs, o := range m.Obs {
			had[o.ID] = true
			for i := 1; i < len(m.Causes) && !moves[o.ID]; i++ {
				moves[o.ID] = differs(m, obs, 0, i) > alike
			}
		}
	}
	for _, check := range c.Checks {
		if had[check.ID] && !moves[check.ID] && !awaited[check.ID] {
			c.warn(check.Pos, "idle", "let a cause show in it, or take it away", "check %q never changes what is suspected: no cause shows in it", check.ID)
		}
	}
	for _, s := range c.Symptoms {
		same, _ := c.SameAs(s.ID)
		if had[s.ID] && !moves[s.ID] && same == nil && s.Danger == "" && !bringsAlong(c.KB, s, moves) {
			c.warn(s.Pos, "idle", "let a cause show in it, or take it away", "symptom %q never changes what is suspected: no cause shows in it", s.ID)
		}
	}
}

// bringsAlong says whether a symptom settles another one that counts.
func bringsAlong(k *kb.KB, s *kb.Symptom, moves map[string]bool) bool {
	for _, id := range append(slices.Clone(s.Implies), s.Excludes...) {
		if same, _ := k.SameAs(id); moves[id] || same != nil {
			return true
		}
	}
	return false
}
