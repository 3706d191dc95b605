package conversation

import (
	"slices"
	"strings"

	"triagebot/kb"
	"triagebot/reading"
)

// Ids of the answers to the questions that no check asks.
const (
	optionUnknown  = "unknown"
	optionNeither  = "neither"
	optionCured    = "cured"
	optionNotCured = "not-cured"
	optionCannot   = "cannot"
)

// option is an answer on offer.
type option struct {
	ID, Label string
	phrases   []string
}

// options lists the answers on offer to a pending question.
func (e *Engine) options(st *State, p *PendingAsk) []option {
	var list []option
	switch p.Kind {
	case AskCheck:
		if c := e.kb.Check(p.ID); c != nil {
			for _, o := range c.OptionsOn(e.kb.Kit(st.Kit)) {
				list = append(list, option{o.ID, o.Label, o.Phrases})
			}
		}
	case AskKit:
		for _, k := range e.kb.Kits {
			if k.ID != e.kb.About.Generic {
				list = append(list, option{k.ID, k.Name, k.Words})
			}
		}
		if e.kb.Kit(e.kb.About.Generic) != nil {
			list = append(list, option{optionUnknown, e.words.say("kit-unknown"), []string{"no idea", "another one", "none of these", "something else"}})
		}
	case AskWhich:
		for _, id := range p.Options {
			if s := e.kb.Symptom(id); s != nil {
				list = append(list, option{id, s.Say, append(slices.Clone(s.Phrases), s.Name)})
			}
		}
		list = append(list, option{optionNeither, e.words.say("which-none"), []string{"none", "none of them", "something else"}})
	case AskCured:
		list = e.curedOptions(p.ID)
	}
	return list
}

func (e *Engine) curedOptions(remedy string) []option {
	return []option{
		{optionCured, e.words.say("cured"), nil},
		{optionNotCured, e.words.say("not-cured"), nil},
		{optionCannot, e.words.say("cannot-mend"), nil},
	}
}

func (t *step) answerKit(reply Reply, msg string) error {
	if t.st.Kit != "" {
		return nil // named in this very message
	}
	if k := t.e.kb.Kit(reply.Choice); k != nil {
		t.emit(Event{Kind: KitKnown, ID: k.ID})
		t.say("understood-kit", "kit", k.Name)
		return nil
	}
	switch {
	case reply.Choice == optionUnknown, reply.Intent == IntentUnsure, reply.Intent == IntentCannot, reply.Intent == IntentNo,
		t.st.Misses > 0, t.namesFigure(msg):
		t.kitAnswer = msg
		t.emit(Event{Kind: KitKnown, ID: t.e.kb.About.Generic})
		t.say("kit-taken-generic")
	}
	return nil
}

func (t *step) answerFigure(p *PendingAsk, reply Reply) (bool, error) {
	a := t.e.figure(t.st, p.ID)
	if a == nil {
		return false, nil
	}
	switch {
	case len(reply.Values) > 0 && !reply.Values[0].Overload:
		v := reply.Values[0]
		if (v.Value < a.From || v.Value > a.To) && !p.Again {
			t.say("odd", "value", FormatValue(measured(v.Quantity, a.Unit, false)), "reason", "")
			t.ask(&PendingAsk{Kind: AskFigure, ID: p.ID, Again: true}, a.Question)
			return true, nil
		}
		if v.Value < a.From || v.Value > a.To {
			v.Value = a.Default
		}
		t.taken = append(t.taken, takenReading{p.ID, measured(v.Quantity, a.Unit, false)})
		t.emit(Event{Kind: FigureKnown, ID: p.ID, Value: v.Value})
	case answers(reply.Intent) || t.st.Misses > 0:
		t.emit(Event{Kind: FigureKnown, ID: p.ID, Value: a.Default})
		t.say("figure-default", "value", FormatValue(Measured{Value: a.Default, Unit: a.Unit, Decimals: -1}))
	}
	return false, nil
}

// figureTold finds a figure that the owner named before it was asked for: "a
// 52 V bike from the internet". What was read off a meter is not it.
func (t *step) figureTold(a *kb.Ask) (float64, bool) {
	for _, said := range append(slices.Clip(t.st.Complaint), t.kitAnswer) {
		for _, q := range reading.Find(said) {
			read := slices.ContainsFunc(t.st.Answers, func(x Answer) bool { return x.Reading != nil && x.Reading.Value == q.Value })
			if answersFigure(a, q) && !read {
				return q.Value, true
			}
		}
	}
	return 0, false
}

func answersFigure(a *kb.Ask, q reading.Quantity) bool {
	return q.Unit == a.Unit && q.Decimals == 0 && !q.Ranged() && a.From <= q.Value && q.Value <= a.To
}

// namesFigure says whether a message answers what the generic kit would ask:
// who names the voltage instead of the kit knows no more of the kit.
func (t *step) namesFigure(msg string) bool {
	generic := t.e.kb.Kit(t.e.kb.About.Generic)
	return generic != nil && slices.ContainsFunc(reading.Find(msg), func(q reading.Quantity) bool {
		return slices.ContainsFunc(generic.Ask, func(a kb.Ask) bool { return answersFigure(&a, q) })
	})
}

func (t *step) answerCured(p *PendingAsk, reply Reply) (bool, error) {
	r := t.e.kb.Remedy(p.ID)
	again := r != nil && r.Again != ""
	choice := reply.Choice
	if choice == "" {
		switch reply.Intent {
		case IntentYes:
			choice = optionCured
		case IntentNo:
			choice = optionNotCured
		case IntentCannot:
			choice = optionCannot
		case IntentDone:
			if !again {
				t.say("ask-cured")
				return true, nil
			}
			choice = optionNotCured
		}
	}
	switch {
	case again && (choice == optionCured || choice == optionNotCured):
		t.emit(Event{Kind: Remedied, ID: p.ID})
		t.say("done-again")
	case choice == optionCured:
		t.emit(Event{Kind: Remedied, ID: p.ID, Yes: true})
		t.emit(Event{Kind: Closed, ID: ReasonCured})
		t.say("cured-done")
		return true, nil
	case choice == optionNotCured:
		t.emit(Event{Kind: Remedied, ID: p.ID})
		t.say("not-cured-on")
	case choice == optionCannot:
		t.handOver(ReasonCannotMend)
		return true, nil
	}
	return false, nil
}

func (t *step) answerWhich(reply Reply) {
	if s := t.e.kb.Symptom(reply.Choice); s != nil {
		t.emit(Event{Kind: Noticed, ID: s.ID, Yes: true, Sure: 0.95})
		t.say("understood", "list", s.Say)
	} else if reply.Choice == optionNeither || reply.Intent == IntentNo {
		t.emit(Event{Kind: Understood})
		t.emit(Event{Kind: Asked, Question: &PendingAsk{Kind: AskComplaint}})
	}
}

// which asks back between symptoms that fit equally well.
func (t *step) which(ids []string) {
	p := &PendingAsk{Kind: AskWhich, Options: ids}
	lines := []string{t.e.sentence("which")}
	for i, o := range t.e.options(t.st, p) {
		lines = append(lines, t.e.words.say("which-option", "n", itoa(i+1), "text", o.Label))
	}
	t.ask(p, strings.Join(lines, "\n"))
}

// ask puts the one question of this turn.
func (t *step) ask(p *PendingAsk, text string) {
	if old := t.st.Pending; old != nil && old.Kind == p.Kind && old.ID == p.ID {
		p.Person, p.Then = old.Person, old.Then // the same again
	}
	t.emit(Event{Kind: Asked, Question: p})
	t.lines = append(t.lines, strings.Split(text, "\n")...)
}

// repeat says the pending question again.
func (t *step) repeat() error {
	p := t.st.Pending
	if p == nil {
		return t.decide()
	}
	switch p.Kind {
	case AskCheck:
		t.askCheck(t.e.kb.Check(p.ID), p.Again)
	case AskKit:
		t.askKit()
	case AskFigure:
		t.askFigure(t.e.figure(t.st, p.ID))
	case AskWhich:
		t.which(p.Options)
	case AskCured:
		t.sayCured(t.e.kb.Remedy(p.ID))
	default:
		t.say("tell-more")
	}
	return nil
}

func (t *step) askKit() {
	p := &PendingAsk{Kind: AskKit}
	lines := []string{t.e.sentence("which-kit")}
	for i, o := range t.e.options(t.st, p) {
		lines = append(lines, t.e.words.say("which-option", "n", itoa(i+1), "text", o.Label))
	}
	t.ask(p, strings.Join(lines, "\n"))
}

func (t *step) askFigure(a *kb.Ask) {
	if a != nil {
		t.ask(&PendingAsk{Kind: AskFigure, ID: a.Figure}, a.Question)
	}
}
