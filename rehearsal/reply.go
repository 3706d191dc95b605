package rehearsal

import (
	"strconv"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
)

func replace(text, what, by string) string { return strings.ReplaceAll(text, what, by) }

// How often an owner asks back before doing a check, and puts a misreading
// right once it is seen. Assumptions, no source.
const (
	asksBack     = 0.04
	putsRight    = 0.5
	leavesToShop = 0.15 // a remedy that is a workshop's, and no workshop near
)

// reply answers what the bot waits for.
func (t *talking) reply() (string, error) {
	p := t.st.Pending
	if p == nil {
		return t.complain(), nil
	}
	switch p.Kind {
	case conversation.AskCheck:
		if c := t.r.kb.Check(p.ID); c != nil {
			return t.replyCheck(c)
		}
	case conversation.AskKit:
		l, n := t.again("kit")
		if n > 0 {
			return strconv.Itoa(t.kitNumber()), nil
		}
		return l.of(t.o.words.KitAnswer[t.Kit]), nil
	case conversation.AskFigure:
		l, _ := t.again("figure")
		volts := strconv.FormatFloat(t.o.bike.Label(), 'f', -1, 64)
		return l.of([]string{volts, volts + "V", "it says " + volts + " V"}), nil
	case conversation.AskWhich:
		return t.replyWhich(p), nil
	case conversation.AskCured:
		return t.replyCured(p.ID)
	}
	return t.complain(), nil
}

// again is the stream for a question, and how often it was answered before.
func (t *talking) again(question string) (lots, int) {
	n := t.o.tries[question]
	t.o.tries[question]++
	return t.o.lots(question + " " + strconv.Itoa(n)), n
}

// complain says what is wrong once more, in other words.
func (t *talking) complain() string {
	l, n := t.again("complaint")
	if len(t.o.told) == 0 {
		return l.of(t.o.words.Vague)
	}
	return t.o.typed(l, t.o.wording(l, t.o.told[n%len(t.o.told)]))
}

// kitNumber is the place of the owner's kit in the list that is offered; an
// owner of an unlisted kit takes the last one, "I do not know".
func (t *talking) kitNumber() int {
	n := 0
	for _, k := range t.r.kb.Kits {
		if k.ID == t.r.kb.About.Generic {
			continue
		}
		n++
		if k.ID == t.Kit {
			return n
		}
	}
	return n + 1
}

func (t *talking) replyWhich(p *conversation.PendingAsk) string {
	l, _ := t.again("which")
	there, err := t.o.bike.Symptoms()
	if err == nil {
		for i, id := range p.Options {
			if there[id] {
				return strconv.Itoa(i + 1)
			}
		}
	}
	return l.of(t.o.words.Neither)
}

func (t *talking) replyCheck(c *kb.Check) (string, error) {
	l, n := t.again(c.ID)
	if t.owes != nil {
		owed := t.owes
		t.owes = nil
		t.o.misread--
		t.expects = &expected{check: owed.check.ID, shown: owed.shown}
		return replace(l.of(t.o.words.Corrects), "{answer}", t.inWords(l, owed.check, owed.shown)), nil
	}
	if why := t.o.hinders(c); why != "" {
		t.expects = &expected{check: c.ID, cannot: true}
		return l.of(t.o.words.Cannot[why]), nil
	}
	if !t.helped[c.ID] && l.chance(asksBack) {
		t.helped[c.ID] = true
		return l.of([][]string{t.o.words.How, t.o.words.Why}[l.IntN(2)]), nil
	}
	s, err := t.o.perform(c)
	if err != nil {
		return "", err
	}
	if n == 0 || t.st.Pending.Again {
		t.pay(c)
	}
	if l.chance(t.o.misreads) {
		wrong := misreading(l, c, s)
		t.o.misread++
		if l.chance(putsRight) {
			t.owes = &owed{c, s}
		}
		s = wrong
	}
	t.expects = &expected{check: c.ID, shown: s}
	return t.answer(l, c, s, n > 0 && !t.helped[c.ID]), nil
}

// pay lets the time of a check pass, with that of covers opened for it.
func (t *talking) pay(c *kb.Check) {
	t.spend(c.Minutes)
	for _, id := range c.Access {
		if a := t.r.kb.Opening(id); a != nil && !t.opened[id] {
			t.opened[id] = true
			t.spend(a.Minutes)
		}
	}
}

func (t *talking) answer(l lots, c *kb.Check, s shown, again bool) string {
	if s.reading != nil {
		return t.o.figure(l, *s.reading)
	}
	var offered []conversation.TurnOption
	for _, o := range c.OptionsOn(t.r.kb.Kit(t.st.Kit)) {
		offered = append(offered, conversation.TurnOption{ID: o.ID, Label: o.Label})
	}
	return t.o.option(l, c, s.option, offered, again)
}

// inWords is an answer to a question that no longer waits: a number would be
// taken for an answer to the one that does.
func (t *talking) inWords(l lots, c *kb.Check, s shown) string {
	if o := c.Option(s.option); o != nil {
		return o.Label
	}
	return t.answer(l, c, s, false)
}

func (t *talking) replyCured(remedy string) (string, error) {
	l, n := t.again("cured " + remedy)
	r := t.r.kb.Remedy(remedy)
	if r == nil {
		return l.of(t.o.words.NotCured), nil
	}
	if n == 0 && (r.By == "workshop" || r.By == "specialist") && l.chance(leavesToShop) {
		return l.of(t.o.words.CannotMend), nil
	}
	had, err := t.o.mend(remedy)
	if err != nil {
		return "", err
	}
	if !had && n == 0 {
		t.spend(r.Minutes + r.Wrong)
	}
	if r.Again != "" {
		return l.of(t.o.words.MeasuredAgain), nil
	}
	works, err := t.r.works(t.o)
	switch {
	case err != nil:
		return "", err
	case works:
		return l.of(t.o.words.Cured), nil
	case had:
		return l.of(t.o.words.Partly), nil
	}
	return l.of(t.o.words.NotCured), nil
}
