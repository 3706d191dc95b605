package casefile

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
)

// A check not done is worth a line when its answer would have told the person
// at least this much about what is left, in bits.
const (
	leastTold   = 0.05
	mostNotDone = 10
)

// notDone lists what was left out and why: what the owner could not do, then
// the checks that would part what is left, the most telling first.
func (b *builder) notDone() []NotDone {
	list := []NotDone{}
	for _, id := range b.checksInOrder(b.st.Cannot) {
		c := b.kb.Check(id)
		if c == nil {
			c = &kb.Check{ID: id, Name: id}
		}
		n := b.undone(c)
		n.Given = text(b.st.Cannot[id])
		n.Why, n.Says = "cannot", say("not-done-cannot")
		list = append(list, n)
	}
	if b.a == nil || len(b.a.Evidence) == 0 || b.settled() {
		return list
	}
	left := slices.DeleteFunc(b.telling(), func(t told) bool {
		_, cannot := b.st.Cannot[t.check.ID]
		return cannot
	})
	for _, t := range left[:min(mostNotDone, len(left))] {
		list = append(list, b.undone(t.check))
	}
	return list
}

// told is a check with what its answer would tell.
type told struct {
	check *kb.Check
	bits  float64
}

// telling lists the checks not answered that would part what is left, the most
// telling first.
func (b *builder) telling() []told {
	var list []told
	for _, o := range b.a.Model.Obs {
		if o.Check == nil || b.answered(o.ID) {
			continue
		}
		if bits := b.bits(o.ID); bits >= leastTold {
			list = append(list, told{o.Check, bits})
		}
	}
	slices.SortStableFunc(list, func(x, y told) int { return cmp.Compare(y.bits, x.bits) })
	return list
}

// settled says that the talk ended with nothing left to find.
func (b *builder) settled() bool {
	return b.st.Phase == conversation.Done && (b.st.Reason == conversation.ReasonCured || b.st.Reason == conversation.ReasonFine)
}

func (b *builder) answered(check string) bool {
	_, done := b.a.Situation.Answered[check]
	return done
}

// undone says what stood in the way of a check; of several reasons the hardest
// to clear is the one given: a tool, an outcome, a cover.
func (b *builder) undone(c *kb.Check) NotDone {
	n := NotDone{Check: c.ID, Name: c.Name, Tools: []string{}, Needs: []string{}, Covers: []string{}}
	n.Why, n.Says = "not-reached", say("not-done-not-reached")
	if _, before := b.st.Answer(c.ID); before {
		n.Why, n.Says = "again", say("not-done-again")
		if b.a != nil && slices.Contains(b.a.Odd, c.ID) {
			n.Why, n.Says = "odd", say("not-done-odd")
		}
		return n
	}
	for _, id := range c.Access {
		if b.st.Opened[id] {
			continue
		}
		name := id
		if o := b.kb.Opening(id); o != nil {
			name = o.Name
		}
		n.Covers = append(n.Covers, name)
	}
	if len(n.Covers) > 0 {
		n.Why, n.Says = "cover", say("not-done-cover", "covers", strings.Join(n.Covers, ", "))
	}
	for _, need := range c.Needs {
		before := b.kb.Check(need.Check)
		if before == nil || b.a == nil {
			continue
		}
		got, done := b.a.Situation.Answered[need.Check]
		if done && slices.Contains(need.Outcomes, got) {
			continue
		}
		var wanted []string
		for _, o := range need.Outcomes {
			wanted = append(wanted, outcomeName(before, o))
		}
		form := "not-done-needs"
		if done {
			form = "not-done-needs-other"
		}
		n.Needs = append(n.Needs, say(form, "check", before.Name, "wanted", or(wanted), "got", outcomeName(before, got)))
	}
	if len(n.Needs) > 0 {
		n.Why, n.Says = "needs", strings.Join(n.Needs, "; ")
	}
	for _, tool := range b.tools(c) {
		if b.st.Lacking[tool] && !slices.Contains(n.Tools, tool) {
			n.Tools = append(n.Tools, tool)
		}
	}
	if len(n.Tools) > 0 {
		var names []string
		for _, t := range n.Tools {
			names = append(names, strings.ReplaceAll(t, "-", " "))
		}
		n.Why, n.Says = "tool", say("not-done-tool", "tools", strings.Join(names, ", "))
	}
	return n
}

// tools is what a check, and what must be done before it, takes.
func (b *builder) tools(c *kb.Check) []string {
	list := slices.Clone(c.Tools)
	for _, id := range c.First {
		if f := b.kb.Check(id); f != nil {
			list = append(list, f.Tools...)
		}
	}
	return list
}

// outcomeName is what people call an outcome of a check.
func outcomeName(c *kb.Check, id string) string {
	if w := c.Window(id); w != nil {
		return w.Name
	}
	if o := c.Option(id); o != nil {
		return o.Label
	}
	return id
}

// bits is how much the answer to a check would tell about which cause it is:
// the mutual information between its outcome and the causes still suspected.
func (b *builder) bits(check string) float64 {
	m := b.a.Model
	obs := m.Index(check)
	p := b.a.Belief.Causes()
	total := 0.0
	for i := range p {
		if p[i] < leastSuspect {
			p[i] = 0
		}
		total += p[i]
	}
	if total == 0 {
		return 0
	}
	bits := 0.0
	for o := range m.Obs[obs].Outcomes {
		all := 0.0
		for i := range p {
			all += p[i] / total * m.Likelihood(obs, o, i)
		}
		for i := range p {
			if l := m.Likelihood(obs, o, i); p[i] > 0 && l > 0 {
				bits += p[i] / total * l * math.Log2(l/all)
			}
		}
	}
	return bits
}
