package conversation

import (
	"fmt"
	"slices"
	"time"

	"triagebot/kb"
)

// NotNowError says why a check cannot be asked in a talk.
type NotNowError struct {
	Check  string
	Why    string // unknown, kit, danger, tool or before
	Tool   string // that is lacking
	Before string // the check that came out otherwise, or that the owner cannot do
}

func (e *NotNowError) Error() string {
	switch e.Why {
	case "unknown":
		return fmt.Sprintf("there is no check %q", e.Check)
	case "kit":
		return fmt.Sprintf("check %q is none of the owner's kit", e.Check)
	case "danger":
		return fmt.Sprintf("check %q is not asked while a danger is in force; write to the owner yourself", e.Check)
	case "tool":
		return fmt.Sprintf("check %q needs a tool that the owner lacks: %s", e.Check, e.Tool)
	}
	return fmt.Sprintf("check %q waits for %q, which came out otherwise or which the owner cannot do", e.Check, e.Before)
}

// AskNamed puts a check to the owner that a person wants to know, wherever the
// talk stands; what has to come before it is asked first. Events and turn are as
// those of Step, though no message is answered. A check that this owner must not
// be asked now is a [NotNowError].
func (e *Engine) AskNamed(st *State, check string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now}
	c, err := t.firstFor(check)
	if err != nil {
		return nil, Turn{}, err
	}
	t.say("person-asks")
	t.askPerson(c, check)
	t.emit(Event{Kind: BotSaid, Lines: t.lines})
	return t.events, t.turn(), nil
}

// askPerson asks a check, on the way to the one that a person named.
func (t *step) askPerson(c *kb.Check, named string) {
	p := &PendingAsk{Kind: AskCheck, ID: c.ID, Person: true}
	if c.ID != named {
		p.Then = named
	}
	t.emit(Event{Kind: Asked, Question: p})
	t.askCheck(c, false)
}

// firstFor is the check that a person named, or what has to be asked before it.
// It holds a person's question to what holds for the bot's own: none in danger,
// none with a tool that is lacking, none whose precondition is not met.
func (t *step) firstFor(named string) (*kb.Check, error) {
	c := t.e.kb.Check(named)
	if c == nil {
		return nil, &NotNowError{Check: named, Why: "unknown"}
	}
	if len(t.st.Dangers) > 0 || t.st.Phase == Stopped {
		return nil, &NotNowError{Check: named, Why: "danger"}
	}
	a, err := t.assess()
	if err != nil {
		return nil, fmt.Errorf("asking check %q: %w", named, err)
	}
	for range len(t.e.kb.Checks) {
		if a.Model.Index(c.ID) < 0 {
			return nil, &NotNowError{Check: named, Why: "kit"}
		}
		for _, tool := range c.Tools {
			if t.st.Lacking[tool] {
				return nil, &NotNowError{Check: named, Why: "tool", Tool: tool}
			}
		}
		before, ok := t.before(c, a)
		if before == "" {
			return c, nil
		}
		if _, cannot := t.st.Cannot[before]; cannot || !ok {
			return nil, &NotNowError{Check: named, Why: "before", Before: before}
		}
		if c = t.e.kb.Check(before); c == nil {
			break
		}
	}
	return nil, &NotNowError{Check: named, Why: "kit"}
}

// before is the check that has to be asked before another, "" when there is
// none; not ok, when it came out so that the other is not asked.
func (t *step) before(c *kb.Check, a *Assessment) (id string, ok bool) {
	for _, first := range c.First {
		if _, done := t.st.Answer(first); !done && a.Model.Index(first) >= 0 {
			return first, true
		}
	}
	for _, n := range c.Needs {
		if !slices.Contains(n.Outcomes, a.Situation.Answered[n.Check]) {
			_, done := t.st.Answer(n.Check)
			return n.Check, !done
		}
	}
	return "", true
}

// answerPerson enters the reply to a check that a person wants to know. The
// hunt stays ended; what was not understood goes to the person as it is.
func (t *step) answerPerson(reply Reply, msg string) error {
	if done, err := t.beside(reply); done || err != nil {
		return err
	}
	p := *t.st.Pending
	switch reply.Intent {
	case IntentPerson, IntentStop:
		return t.afterEnd(reply)
	case IntentWhy:
		return t.why()
	case IntentHow:
		return t.how()
	case IntentRepeat:
		return t.repeat()
	case IntentBack:
		if !p.Again { // what is taken back goes to the person
			return t.afterEnd(reply)
		}
	}
	missed := t.st.Misses > 0
	done, err := t.take(reply, msg)
	if err != nil {
		return err
	}
	if t.entered(p.ID) {
		return t.answeredPerson(p)
	}
	if !reply.Waits && t.st.Misses == 0 {
		t.emit(Event{Kind: Missed}) // understood or not, it is no answer
	}
	if missed {
		t.passOn()
		return nil
	}
	if !done {
		t.noted = len(t.lines) == 0
		t.say("after-hand-over")
	}
	return nil
}

// entered says whether this turn entered an answer to a check, or that the
// owner cannot give one.
func (t *step) entered(check string) bool {
	c := t.e.kb.Check(check)
	return slices.ContainsFunc(t.events, func(e Event) bool {
		switch e.Kind {
		case Read, Seen, CannotDo:
			return e.ID == check
		case ToolLacking:
			return c != nil && slices.Contains(c.Tools, e.ID)
		}
		return false
	})
}

func (t *step) answeredPerson(p PendingAsk) error {
	if t.again != nil { // asked once more for the digits left out
		t.askCheck(t.again, true)
		return nil
	}
	a, err := t.assess()
	if err != nil {
		return err
	}
	if slices.Contains(a.Odd, p.ID) && !t.st.OddAsked[p.ID] {
		return t.odd(p.ID)
	}
	if p.Then != "" {
		if c, err := t.firstFor(p.Then); err == nil {
			t.askPerson(c, p.Then)
			return nil
		}
	}
	t.emit(Event{Kind: Dropped})
	t.say("person-told")
	return nil
}

func (t *step) passOn() {
	t.lines = nil // what was said of not having understood is of no use to anybody now
	t.emit(Event{Kind: Dropped})
	t.say("person-passed-on")
}

// CloseByPerson ends a talk whose case a person has closed, with the words that
// the owner is told. What the owner writes after it begins anew.
func (e *Engine) CloseByPerson(st *State, say []string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now, lines: say}
	t.emit(Event{Kind: Closed, ID: ReasonPersonClosed})
	t.emit(Event{Kind: BotSaid, Lines: say})
	return t.events, t.turn(), nil
}

// HandOverAgain gives a talk back to people.
func (e *Engine) HandOverAgain(st *State, say []string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now, lines: say}
	t.emit(Event{Kind: HandedOver, ID: ReasonReopened})
	t.emit(Event{Kind: BotSaid, Lines: say})
	return t.events, t.turn(), nil
}

// Nudge asks a silent owner whether to go on, with the question that waits.
func (e *Engine) Nudge(st *State, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now}
	t.emit(Event{Kind: Nudged})
	t.say("nudge")
	t.emit(Event{Kind: BotSaid, Lines: t.lines})
	return t.events, t.turn(), nil
}

// LayAside ends a talk whose owner stays silent, without a word: it goes on
// where it was as soon as the owner writes.
func (e *Engine) LayAside(st *State, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now}
	t.emit(Event{Kind: Closed, ID: ReasonSilent})
	return t.events, t.turn(), nil
}
