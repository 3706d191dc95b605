package rehearsal

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// understood holds what a message meant against what was entered.
func (t *talking) understood(events []conversation.Event) {
	want := t.expects
	t.expects = nil
	if want == nil {
		return
	}
	for _, e := range events {
		switch e.Kind {
		case conversation.Danger:
			return // more pressing
		case conversation.CannotDo, conversation.ToolLacking:
			if !want.cannot {
				t.Misheard = append(t.Misheard, want.check+" taken for cannot")
			}
			return
		case conversation.Seen, conversation.Read:
			if e.ID != want.check {
				continue
			}
			if want.cannot || !want.shown.same(e) {
				t.Misheard = append(t.Misheard, fmt.Sprintf("%s: %q taken for %s", e.ID, e.Text, entered(e)))
			}
			return
		}
	}
	t.NotHeard = append(t.NotHeard, fmt.Sprintf("%s: %q", want.check, events[0].Text))
}

// entered is what an event put down.
func entered(e conversation.Event) string {
	if e.Reading != nil {
		return conversation.FormatValue(*e.Reading)
	}
	return e.Outcome
}

// same says whether an event holds what was shown.
func (s shown) same(e conversation.Event) bool {
	if s.reading == nil {
		return e.Outcome == s.option
	}
	if e.Reading == nil || e.Reading.Overload != s.reading.Overload {
		return false
	}
	// An owner leaves out the last place now and then.
	off := 0.6 * math.Pow(10, 1-float64(s.reading.Decimals))
	return s.reading.Overload || math.Abs(e.Reading.Value-s.reading.Value) <= off
}

// watch takes in one thing the bot did.
func (t *talking) watch(e conversation.Event, warned []string) {
	switch e.Kind {
	case conversation.Asked:
		t.watchAsked(e.Question, warned)
	case conversation.Named:
		t.watchNamed(e, warned)
	case conversation.Remedied:
		clear(t.asked) // what was measured before may have changed
	case conversation.Danger:
		if s := t.r.kb.Symptom(e.ID); s != nil && !slices.Contains(warned, s.Danger) {
			t.Unwarned = append(t.Unwarned, e.ID+": "+s.Danger)
		}
		t.end = conversation.ReasonDanger
	case conversation.HandedOver, conversation.Closed:
		t.end = e.ID
	}
}

// watchAsked counts a question, and holds it against what was asked before and
// what must be said before a hand moves.
func (t *talking) watchAsked(q *conversation.PendingAsk, warned []string) {
	key := string(q.Kind) + " " + q.ID
	switch q.Kind {
	case conversation.AskComplaint, conversation.AskCured, conversation.AskWhich:
		return
	case conversation.AskCheck:
		// A question that waits for its answer is not warned of anew when "why?"
		// comes between.
		if t.waits == nil || t.waits.ID != q.ID || t.waits.Again != q.Again {
			t.unwarned(q.ID, t.r.due(t.model, q.ID), warned)
		}
	}
	_, cannot := t.st.Cannot[q.ID]
	switch {
	case q.Again: // an odd figure is asked for once more
	case !t.asked[key]:
		if !t.settled && q.Kind == conversation.AskCheck {
			t.checks++
		}
	case q.Kind == conversation.AskCheck && (cannot || t.answeredThisRound(q.ID)):
		t.Twice = append(t.Twice, q.ID)
	case q.Kind == conversation.AskKit && t.st.Kit != "":
		t.Twice = append(t.Twice, key)
	}
	t.asked[key] = true
}

// unwarned notes the cautions that are due before something and were not said.
func (t *talking) unwarned(before string, due, warned []string) {
	for _, c := range due {
		if !slices.Contains(warned, c) {
			t.Unwarned = append(t.Unwarned, before+": "+c)
		}
	}
}

// answeredThisRound: what was answered before a remedy may be asked anew.
func (t *talking) answeredThisRound(check string) bool {
	a, ok := t.st.Answer(check)
	return ok && a.Round == t.st.Round
}

// due are the cautions that the knowledge base holds due for a check on this
// bike, worked out from what the check does and not from its own list.
func (r *Rehearsal) due(m *rules.Model, check string) []string {
	c := r.kb.Check(check)
	if c == nil {
		return nil
	}
	var out []string
	for _, x := range r.kb.Cautions {
		if slices.ContainsFunc(x.Due, func(d kb.Due) bool { return holds(m, d, c) }) {
			out = append(out, x.ID)
		}
	}
	return out
}

func holds(m *rules.Model, d kb.Due, c *kb.Check) bool {
	if d.When != "" {
		if ok, err := m.Scope().Holds(d.When, 0); err == nil && !ok {
			return false
		}
	}
	return anyOf(d.State, c.State) && anyOf(d.Tools, c.Tools) && (len(d.Units) == 0 || slices.Contains(d.Units, c.Unit))
}

// anyOf says whether one of the wanted is there; nothing wanted is always met.
func anyOf(wanted, there []string) bool {
	return len(wanted) == 0 || slices.ContainsFunc(wanted, func(w string) bool { return slices.Contains(there, w) })
}

// dearFrom is the loss, in minutes, from which a remedy is a part bought and
// not a try, whatever it is called.
const dearFrom = 20

// watchNamed judges a remedy at the moment it is named.
func (t *talking) watchNamed(e conversation.Event, warned []string) {
	r := t.r.kb.Remedy(e.ID)
	if r == nil {
		return
	}
	var due []string
	for _, id := range r.Cautions {
		if c := t.r.kb.Caution(id); c != nil && t.spoken(c) {
			due = append(due, id)
		}
	}
	t.unwarned(r.ID, due, warned)
	right := slices.ContainsFunc(t.o.bike.Faults(), func(c string) bool { return t.o.mendedBy(r.ID, c) })
	asSure := e.Sure >= t.r.kb.About.Cost.Sure || r.Wrong >= dearFrom
	switch {
	case right && asSure && t.Apart:
		t.WrongNamed = append(t.WrongNamed, r.ID+" (a guess)")
	case right:
		t.found(r.ID, asSure)
	case r.Again != "":
		// To measure once more is no part; it is what a technician asks too.
		t.Tries = append(t.Tries, r.ID)
	case asSure:
		t.WrongNamed = append(t.WrongNamed, r.ID)
	default:
		t.Tries = append(t.Tries, r.ID)
	}
}

// found settles the counts once the last fault has its remedy.
func (t *talking) found(remedy string, asSure bool) {
	left := 0
	for _, c := range t.o.bike.Faults() {
		if !t.o.mendedBy(remedy, c) {
			left++
		}
	}
	if t.How = "tried " + remedy; asSure {
		t.How = "named " + remedy
	}
	if left == 0 {
		t.settle()
	}
}

func (t *talking) settle() {
	if t.settled {
		return
	}
	t.settled = true
	t.Questions, t.Messages, t.Minutes = t.checks, t.said, t.minutes
}

// spoken says whether a caution is due on this bike at all.
func (t *talking) spoken(c *kb.Caution) bool {
	conditional := false
	for _, d := range c.Due {
		if d.When == "" {
			continue
		}
		conditional = true
		if ok, err := t.model.Scope().Holds(d.When, 0); err != nil || ok {
			return true
		}
	}
	return !conditional
}

// compareOpening holds what was told at the start against what was noticed.
func (t *talking) compareOpening() {
	there, err := t.o.bike.Symptoms()
	if err != nil {
		return
	}
	for _, id := range t.o.told {
		if s, ok := t.st.Symptoms[id]; !ok || !s.Present {
			t.Missed = append(t.Missed, id)
		}
	}
	for _, id := range t.st.SymptomIDs() {
		s := t.st.Symptoms[id]
		if is, decided := there[id]; decided && is != s.Present {
			t.Invented = append(t.Invented, strings.TrimSpace(map[bool]string{true: "", false: "no "}[s.Present]+id))
		}
	}
}
