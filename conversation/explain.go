package conversation

import (
	"triagebot/kb"
	"triagebot/probe"
)

// leastMentioned: an answer less likely than this is not worth a line.
const leastMentioned = 0.03

// notable: a suspect that an answer makes stronger by less is nothing new.
const notable = 0.03

// why says what a pending check is for and what each answer would mean.
func (t *step) why() error {
	p := t.st.Pending
	if p == nil {
		t.say("nothing-asked")
		return t.decide()
	}
	switch p.Kind {
	case AskCheck:
		return t.whyCheck(t.e.kb.Check(p.ID))
	case AskKit, AskFigure:
		t.say("why-kit")
	case AskCured:
		return t.whyRemedy(t.e.kb.Remedy(p.ID))
	case AskComplaint:
		t.say("why-complaint")
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
	t.whatIf(a, c)
	t.ask(&PendingAsk{Kind: AskCheck, ID: c.ID, Again: t.st.Pending.Again}, c.Asks)
	t.sayOptions(c)
	return nil
}

// whatIf says what each likely answer would point to.
func (t *step) whatIf(a *Assessment, c *kb.Check) {
	obs := a.Model.Index(c.ID)
	now := a.Belief.Suspects(0)
	if obs < 0 || len(now) == 0 {
		return
	}
	o := a.Model.Obs[obs]
	for i, p := range a.Belief.Expect(obs) {
		after := a.Belief.Clone()
		if p < leastMentioned || after.Observe(obs, o.Exactly(i, 1)) != nil {
			continue
		}
		then := after.Suspects(0)
		if then[0].Causes[0] == now[0].Causes[0] && then[0].Probability < now[0].Probability+notable {
			t.say("why-outcome-none", "outcome", outcomeName(c, o.Outcomes[i]))
			continue
		}
		t.say("why-outcome", "outcome", outcomeName(c, o.Outcomes[i]), "suspect", then[0].Causes[0].Name)
	}
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
		return t.inFull()
	}
	c := t.e.kb.Check(p.ID)
	t.warnDue(c.Cautions)
	for i, line := range c.How {
		t.say("step", "n", itoa(i+1), "text", line)
	}
	kit := t.e.kb.Kit(t.st.Kit)
	t.lines = append(t.lines, probe.In(t.e.kb.Language).Text(kit, c)...)
	if caveat := probe.In(t.e.kb.Language).Caveat(t.e.kb, kit, c); caveat != "" {
		t.lines = append(t.lines, caveat)
	}
	if c.Meter != "" {
		t.say("meter", "setting", c.MeterSaid())
	}
	t.ask(&PendingAsk{Kind: AskCheck, ID: c.ID, Again: p.Again}, c.Asks)
	t.sayOptions(c)
	return nil
}
