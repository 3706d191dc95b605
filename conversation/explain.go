package conversation

import (
	"triagebot/kb"
)

// leastMentioned: an answer less likely than this is not worth a line.
const leastMentioned = 0.03

// why says what a pending check is for and what each answer would mean.
func (t *step) why() error {
	p := t.st.Pending
	if p == nil {
		t.say("nothing-asked")
		return nil
	}
	switch p.Kind {
	case AskCheck:
		return t.whyCheck(t.e.kb.Check(p.ID))
	case AskKit, AskFigure:
		t.say("why-kit")
	case AskCured:
		t.say("why-cured")
	default:
		t.say("why-none")
	}
	return t.repeat()
}

func (t *step) whyCheck(c *kb.Check) error {
	a, err := t.assess()
	if err != nil {
		return err
	}
	if c.Why == "" {
		t.say("why-none")
	} else {
		t.lines = append(t.lines, c.Why)
	}
	obs := a.Model.Index(c.ID)
	if obs >= 0 {
		o := a.Model.Obs[obs]
		leading := ""
		if list := a.Belief.Suspects(0); len(list) > 0 {
			leading = list[0].Causes[0].ID
		}
		for i, p := range a.Belief.Expect(obs) {
			if p < leastMentioned {
				continue
			}
			after := a.Belief.Clone()
			if after.Observe(obs, o.Exactly(i, 1)) != nil {
				continue
			}
			list := after.Suspects(0)
			if len(list) == 0 || list[0].Causes[0].ID == leading && list[0].Probability < a.Belief.Suspects(0)[0].Probability {
				t.say("why-outcome-none", "outcome", outcomeName(c, o.Outcomes[i]))
				continue
			}
			t.say("why-outcome", "outcome", outcomeName(c, o.Outcomes[i]), "suspect", list[0].Causes[0].Name)
		}
	}
	t.ask(&PendingAsk{Kind: AskCheck, ID: c.ID, Again: t.st.Pending.Again}, c.Asks)
	t.sayOptions(c)
	return nil
}

// outcomeName is what people call an outcome of a check.
func outcomeName(c *kb.Check, id string) string {
	for _, w := range c.Windows {
		if w.ID == id {
			return w.Name
		}
	}
	for _, o := range c.Options {
		if o.ID == id {
			return o.Label
		}
	}
	return id
}

// how explains a pending check step by step, with the plug drawn.
func (t *step) how() error {
	p := t.st.Pending
	if p == nil || p.Kind != AskCheck {
		return t.repeat()
	}
	c := t.e.kb.Check(p.ID)
	for _, id := range c.Cautions {
		if t.applies(id) {
			t.warn(id)
		}
	}
	for i, line := range c.How {
		t.say("step", "n", itoa(i+1), "text", line)
	}
	t.lines = append(t.lines, t.e.faces(t.st.Kit, c)...)
	if c.Meter != "" {
		t.say("meter", "setting", c.Meter)
	}
	t.ask(&PendingAsk{Kind: AskCheck, ID: c.ID, Again: p.Again}, c.Asks)
	t.sayOptions(c)
	return nil
}
