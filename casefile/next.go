package casefile

import (
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
)

// twinShare: a twin this likely, measured against its stronger sibling, is
// proposed to be parted from it; the talk names twins from the same share.
const twinShare = 0.25

// next proposes a step to a person who has every tool and may open every cover.
func (b *builder) next() Next {
	n := Next{Causes: []string{}, Lines: []string{}}
	switch {
	case len(b.st.Dangers) > 0 || b.st.Reason == conversation.ReasonDanger:
		n.Kind, n.Says = "danger", say("next-danger")
		return n
	case b.settled():
		n.Kind, n.Says = "none", say("next-none-"+b.st.Reason)
		return n
	case len(b.st.Answers) == 0 && !b.anyPresent():
		n.Kind, n.Says = "ask", say("next-ask")
		return n
	case b.a == nil:
		n.Kind, n.Says = "look-over", say("next-no-rules")
		return n
	case len(b.a.Odd) > 0:
		c := b.kb.Check(b.a.Odd[0])
		n.Kind, n.Says = "repeat", say("next-repeat", "check", c.Name)
		b.addCheck(&n, c)
		return n
	case b.st.Reason == conversation.ReasonTwins && b.partTwins(&n):
		return n
	}
	if r := b.openRemedy(); r != nil {
		b.addRemedy(&n, r)
		n.Says = say("next-open-remedy", "remedy", r.Name)
		return n
	}
	s := b.a.Situation
	s.Cannot, s.Lacking = map[string]bool{}, map[string]bool{}
	c := b.a.Belief.Next(s)
	switch {
	case c.Check != nil:
		n.Kind, n.Says = "check", say("next-check", "check", c.Check.Name)
		b.addCheck(&n, c.Check)
	case c.Remedy != nil && b.partTwins(&n):
	case c.Remedy != nil:
		b.addRemedy(&n, c.Remedy)
		n.Says = say("next-remedy", "remedy", c.Remedy.Name, "percent", percent(c.Chance))
	case c.Fine:
		n.Kind, n.Says = "none", say("next-none-"+conversation.ReasonFine)
	case b.partTwins(&n):
	case b.mostTelling() != nil:
		check := b.mostTelling()
		n.Kind, n.Says = "check", say("next-telling", "check", check.Name)
		b.addCheck(&n, check)
	default:
		n.Kind, n.Says = "look-over", say("next-look-over")
		if list := b.a.Belief.Suspects(leastSuspect); len(list) > 0 {
			n.Causes = append(n.Causes, list[0].Causes[0].ID)
			n.Says = say("next-look-over-at", "cause", list[0].Causes[0].Name)
		}
	}
	return n
}

// mostTelling is the check that tells most for its time, for a person who
// cannot hand over to anybody else; nil when none tells anything.
func (b *builder) mostTelling() *kb.Check {
	var best *kb.Check
	most := 0.0
	for _, t := range b.telling() {
		minutes := t.check.Minutes + t.check.Risk
		for _, id := range t.check.Access {
			if o := b.kb.Opening(id); o != nil && !b.st.Opened[id] {
				minutes += o.Minutes
			}
		}
		if rate := t.bits / max(minutes, 1); b.allowed(t.check) && rate > most {
			best, most = t.check, rate
		}
	}
	return best
}

// allowed says whether all that must come before a check has come out so.
func (b *builder) allowed(c *kb.Check) bool {
	for _, id := range c.First {
		if b.a.Model.Index(id) >= 0 && !b.answered(id) {
			return false
		}
	}
	for _, need := range c.Needs {
		if got, done := b.a.Situation.Answered[need.Check]; !done || !slices.Contains(need.Outcomes, got) {
			return false
		}
	}
	return true
}

func (b *builder) anyPresent() bool {
	for _, s := range b.st.Symptoms {
		if s.Present {
			return true
		}
	}
	return false
}

// openRemedy is a remedy that was named and not carried out yet, where the
// talk stopped at it.
func (b *builder) openRemedy() *kb.Remedy {
	if b.st.Phase != conversation.Naming && b.st.Reason != conversation.ReasonCannotMend {
		return nil
	}
	if n := len(b.st.Attempts); n > 0 && !b.st.Attempts[n-1].Done {
		return b.kb.Remedy(b.st.Attempts[n-1].Remedy)
	}
	return nil
}

// addCheck writes a check out: cautions first, then where and what.
func (b *builder) addCheck(n *Next, c *kb.Check) {
	n.Check = c.ID
	n.Lines = append(n.Lines, b.cautionLines(c.Cautions)...)
	for _, id := range c.Access {
		if o := b.kb.Opening(id); o != nil && !b.st.Opened[id] {
			n.Lines = append(n.Lines, strings.TrimSpace(say("next-open", "name", o.Name, "how", o.How)))
		}
	}
	if c.Red != nil && c.Black != nil {
		n.Lines = append(n.Lines, say("next-probes", "red", b.place(c.Red), "black", b.place(c.Black)))
		if c.Side != "" {
			n.Lines = append(n.Lines, say("next-side", "side", c.Side))
		}
	}
	if c.Meter != "" {
		n.Lines = append(n.Lines, say("next-meter", "setting", c.Meter))
	}
	if c.Kind == "try" {
		n.Lines = append(n.Lines, c.How...)
	}
	n.Lines = append(n.Lines, c.Asks)
}

func (b *builder) addRemedy(n *Next, r *kb.Remedy) {
	n.Kind, n.Remedy = "remedy", r.ID
	for i, p := range b.a.Belief.Causes() {
		if c := b.a.Model.Causes[i]; c.Remedy == r.ID && p >= leastSuspect {
			n.Causes = append(n.Causes, c.ID)
		}
	}
	n.Lines = append(n.Lines, b.cautionLines(r.Cautions)...)
	n.Lines = append(n.Lines, r.Steps...)
	if r.Verify != "" {
		n.Lines = append(n.Lines, say("next-verify", "text", r.Verify))
	}
}

// cautionLines are the cautions due on this kit; in doubt one is said.
func (b *builder) cautionLines(ids []string) []string {
	var lines []string
	for _, id := range ids {
		c := b.kb.Caution(id)
		if c == nil || !b.due(c) {
			continue
		}
		for _, t := range c.Text {
			lines = append(lines, say("next-caution", "text", t))
		}
	}
	return lines
}

func (b *builder) due(c *kb.Caution) bool {
	conditional := false
	for _, d := range c.Due {
		if d.When == "" {
			continue
		}
		conditional = true
		if ok, err := b.scope.Holds(d.When, 0); err != nil || ok {
			return true
		}
	}
	return !conditional
}

// partTwins proposes what parts the strongest suspect from causes that no
// check of an owner tells from it; false when it has no such twin.
func (b *builder) partTwins(n *Next) bool {
	list := b.a.Belief.Suspects(leastSuspect)
	if len(list) == 0 {
		return false
	}
	first := list[0].Causes[0]
	p := b.a.Belief.Causes()
	least := twinShare * p[b.a.Model.Cause(first.ID)]
	names, lines := []string{first.Name}, []string{}
	causes := []string{first.ID}
	for i, c := range b.a.Model.Causes {
		parted, twins := b.twins(first, c)
		if !twins || p[i] < least || c.Remedy == first.Remedy {
			continue
		}
		names, causes = append(names, c.Name), append(causes, c.ID)
		if parted != "" && !slices.Contains(lines, parted) {
			lines = append(lines, parted)
		}
	}
	if len(causes) < 2 {
		return false
	}
	n.Kind, n.Causes, n.Lines = "part-twins", causes, lines
	n.Says = say("next-twins", "causes", or(names))
	return true
}

// twins says whether two causes are twins, whichever of them says so.
func (b *builder) twins(x, y *kb.Cause) (partedBy string, ok bool) {
	for _, t := range x.Twins {
		if t.Cause == y.ID {
			return t.PartedBy, true
		}
	}
	for _, t := range y.Twins {
		if t.Cause == x.ID {
			return t.PartedBy, true
		}
	}
	return "", false
}
