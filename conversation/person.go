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
	Before string // the check that has to come out otherwise, or at all, first
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
	return fmt.Sprintf("check %q waits for the answer to %q; ask that first", e.Check, e.Before)
}

// AskNamed puts a check to the owner that a person wants to know, wherever the
// talk stands. Events and turn are as those of Step, though no message is
// answered. A check that this owner must not be asked now is a [NotNowError].
func (e *Engine) AskNamed(st *State, check string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now}
	c := e.kb.Check(check)
	if err := t.notNow(c, check); err != nil {
		return nil, Turn{}, err
	}
	t.say("person-asks")
	t.emit(Event{Kind: Asked, Question: &PendingAsk{Kind: AskCheck, ID: c.ID, Person: true}})
	t.askCheck(c, false)
	t.emit(Event{Kind: BotSaid, Lines: t.lines})
	return t.events, t.turn(), nil
}

// notNow holds a person's question to what holds for the bot's own: no check in
// danger, none with a tool that is lacking, none before what must come first.
func (t *step) notNow(c *kb.Check, id string) error {
	if c == nil {
		return &NotNowError{Check: id, Why: "unknown"}
	}
	if len(t.st.Dangers) > 0 || t.st.Phase == Stopped {
		return &NotNowError{Check: id, Why: "danger"}
	}
	a, err := t.assess()
	if err != nil {
		return fmt.Errorf("asking check %q: %w", id, err)
	}
	if a.Model.Index(id) < 0 {
		return &NotNowError{Check: id, Why: "kit"}
	}
	for _, tool := range c.Tools {
		if t.st.Lacking[tool] {
			return &NotNowError{Check: id, Why: "tool", Tool: tool}
		}
	}
	for _, first := range c.First {
		if _, done := a.Situation.Answered[first]; !done && a.Model.Index(first) >= 0 {
			return &NotNowError{Check: id, Why: "before", Before: first}
		}
	}
	for _, n := range c.Needs {
		if got, done := a.Situation.Answered[n.Check]; !done || !slices.Contains(n.Outcomes, got) {
			return &NotNowError{Check: id, Why: "before", Before: n.Check}
		}
	}
	return nil
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
	if missed {
		t.passOn()
		return nil
	}
	if !done {
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
