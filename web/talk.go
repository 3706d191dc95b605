package web

import (
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
)

// step is one message of the owner with what was asked and what came of it; or
// what the workshop said, when Owner is false.
type step struct {
	Owner  bool
	Asked  string // the question it answers; "" for the complaint
	Answer string
	Heard  []line
}

// line is one line said to the owner.
type line struct {
	Text    string
	Caution bool
}

// question is what waits for the owner's answer.
type question struct {
	Cautions []string
	Before   []string // what to do, before the numbered steps
	Steps    []string
	After    []string
	Asks     string
	Kind     string // look, try, measure or talk
	Unit     string
	Units    []string
	Options  []conversation.TurnOption
	Check    *kb.Check
	Remedy   *kb.Remedy
	Again    bool
	Figure   bool // a number is wanted
	Picture  bool
}

// shownSteps is how many of the last steps are open; those before are folded, so
// that the question is near.
const shownSteps = 2

// Earlier are the steps that are folded.
func (t talk) Earlier() []step { return t.Steps[:max(len(t.Steps)-shownSteps, 0)] }

// Latest are the steps that are open.
func (t talk) Latest() []step { return t.Steps[max(len(t.Steps)-shownSteps, 0):] }

// talk is a conversation as its page shows it.
type talk struct {
	Steps []step
	Now   *question // nil when nothing is asked
	State *conversation.State
}

// fold reads a talk off its events.
func (s *Server) fold(events []conversation.Event) talk {
	t := talk{State: conversation.NewState()}
	var (
		answer *step
		asked  string
		before *conversation.PendingAsk
		put    bool // a question, in this turn
	)
	for _, e := range events {
		t.State.Apply(e)
		switch e.Kind {
		case conversation.OwnerSaid:
			if answer != nil { // nothing was said to the one before: it is for the person who has the case
				t.Steps = append(t.Steps, *answer)
			}
			put = false
			answer = &step{Owner: true, Asked: asked, Answer: plain(e.Text, mostWords)}
		case conversation.Asked:
			put = true
		case conversation.BotSaid:
			if answer == nil && !put { // a word from a person; what was asked stands
				t.Steps = append(t.Steps, step{Heard: s.in(t.State).said(e.Lines)})
				if s.c.Engine.Offered(t.State) == nil {
					t.Now, asked, before = nil, "", nil
				}
				continue
			}
			p := s.in(t.State).split(t.State, e.Lines)
			if answer == nil {
				answer = &step{}
			}
			put = false
			answer.Heard = p.heard
			if len(p.heard) > 0 || answer.Owner {
				t.Steps = append(t.Steps, *answer)
			}
			answer = nil
			t.Now = s.in(t.State).question(t.State, t.Now, before, p)
			asked, before = "", nil
			if t.Now != nil {
				asked, before = t.Now.Asks, t.State.Pending
			}
		}
	}
	if answer != nil { // nothing was said to it
		t.Steps = append(t.Steps, *answer)
	}
	return t
}

// spoken is the talk in the language of one owner.
type spoken struct {
	engine *conversation.Engine
	kb     *kb.KB
}

func (s *Server) in(st *conversation.State) spoken {
	e := s.c.Engine.In(st.Language)
	return spoken{e, e.KB()}
}

// parts is what was said in one turn: what was understood, then what belongs to
// the question.
type parts struct {
	heard    []line
	cautions []string
	before   []string
	steps    []string
	after    []string
	asks     string
}

// split parts the lines of a turn. The bot says one text to everybody; here
// answers are buttons and need no numbers, and cautions have a place of their
// own.
func (s spoken) split(st *conversation.State, lines []string) parts {
	p := parts{}
	ask := s.engine.Offered(st)
	if ask == nil {
		p.heard = s.said(lines)
		return p
	}
	check, remedy := s.asked(st)
	end := questionAt(lines, check, len(ask.Options) > 0 && st.Pending.Kind != conversation.AskCured)
	if end < len(lines) {
		p.asks = lines[end]
	}
	begin := end
	for i, l := range lines[:end] {
		if s.instructs(l, check, remedy) {
			begin = i
			break
		}
	}
	p.heard = s.said(lines[:begin])
	for _, l := range lines[begin:end] {
		if text, is := s.caution(l); is {
			p.cautions = append(p.cautions, text)
			continue
		}
		n, text, numbered := strings.Cut(l, ". ")
		switch {
		case numbered && isNumber(n):
			p.steps = append(p.steps, text)
		case len(p.steps) > 0:
			p.after = append(p.after, l)
		case remedy == nil || !strings.Contains(l, remedy.Name): // the remedy is the heading
			p.before = append(p.before, l)
		}
	}
	return p
}

// asked is the check or the remedy that the pending question is about.
func (s spoken) asked(st *conversation.State) (*kb.Check, *kb.Remedy) {
	if st.Pending == nil {
		return nil, nil
	}
	switch st.Pending.Kind {
	case conversation.AskCheck:
		return s.kb.Check(st.Pending.ID), nil
	case conversation.AskCured:
		return nil, s.kb.Remedy(st.Pending.ID)
	}
	return nil, nil
}

// questionAt finds the line that asks: the check's own words, or what stands
// before the first answer on offer, or the last line.
func questionAt(lines []string, check *kb.Check, options bool) int {
	if check != nil {
		if i := slices.Index(lines, check.Asks); i >= 0 {
			return i
		}
		return len(lines)
	}
	if options {
		for i := range lines {
			if i+1 < len(lines) && strings.HasPrefix(lines[i+1], "1. ") {
				return i
			}
		}
	}
	return max(len(lines)-1, 0)
}

// instructs says whether a line is something to do before answering.
func (s spoken) instructs(l string, check *kb.Check, remedy *kb.Remedy) bool {
	if _, is := s.caution(l); is {
		return true
	}
	if remedy != nil {
		return strings.Contains(l, remedy.Name) && !strings.Contains(l, "%")
	}
	if check == nil {
		return false
	}
	var set []string
	for _, id := range check.State {
		if w := s.kb.About.States[id]; w != "" {
			set = append(set, w)
		}
	}
	if w := strings.Join(set, ", "); w != "" && strings.Contains(l, w) {
		return true
	}
	for _, id := range check.Access {
		if o := s.kb.Opening(id); o != nil && strings.Contains(l, o.How) {
			return true
		}
	}
	if check.Meter != "" && strings.Contains(l, check.Meter) {
		return true
	}
	for _, p := range []*kb.Probe{check.Red, check.Black} {
		if p != nil && p.Place != "" && strings.Contains(l, p.Place) {
			return true
		}
	}
	if check.Red != nil && s.engine.SaysProbes(l) {
		return true
	}
	n, text, numbered := strings.Cut(l, ". ")
	return numbered && isNumber(n) && slices.Contains(check.How, text)
}

func isNumber(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

// caution says whether a line is a caution of the knowledge base, and which.
func (s spoken) caution(l string) (string, bool) {
	for _, c := range s.kb.Cautions {
		for _, text := range c.Text {
			if strings.HasSuffix(l, text) {
				return text, true
			}
		}
	}
	return "", false
}

// said leaves out drawings in characters: the page has the picture.
func (s spoken) said(lines []string) []line {
	var list []line
	for _, l := range lines {
		if strings.ContainsFunc(l, func(r rune) bool { return r >= 0x2500 && r <= 0x25ff }) || strings.TrimSpace(l) == "" {
			continue
		}
		text, is := s.caution(l)
		if !is {
			text = l
		}
		list = append(list, line{plain(text, mostWords), is})
	}
	return list
}

// question brings what is asked up to date. When the owner only asked why or
// how, the instructions of before stand.
func (s spoken) question(st *conversation.State, old *question, before *conversation.PendingAsk, p parts) *question {
	ask := s.engine.Offered(st)
	if ask == nil {
		return nil
	}
	q := &question{Asks: p.asks, Kind: ask.Kind, Unit: ask.Unit, Options: ask.Options, Again: ask.Again, Cautions: p.cautions, Before: p.before, Steps: p.steps, After: p.after}
	q.Check, q.Remedy = s.asked(st)
	q.Figure = ask.Unit != ""
	q.Units = unitsOf(ask.Unit)
	if q.Asks == "" && q.Check != nil {
		q.Asks = q.Check.Asks
	}
	if kit := s.kb.Kit(st.Kit); q.Check != nil && kit != nil {
		q.Picture = drawable(kit, q.Check)
	}
	if old == nil || before == nil || st.Pending.Kind != before.Kind || st.Pending.ID != before.ID {
		return q
	}
	if len(q.Before)+len(q.Steps)+len(q.After) == 0 {
		q.Before, q.Steps, q.After = old.Before, old.Steps, old.After
	}
	if q.Asks == "" {
		q.Asks = old.Asks
	}
	for _, c := range old.Cautions {
		if !slices.Contains(q.Cautions, c) {
			q.Cautions = append(q.Cautions, c)
		}
	}
	return q
}

// unitsOf are the units on offer for a figure, the asked one first.
func unitsOf(unit string) []string {
	switch unit {
	case "V":
		return []string{"V", "mV"}
	case "A":
		return []string{"A", "mA"}
	case "Ω":
		return []string{"Ω", "kΩ", "MΩ"}
	case "Hz":
		return []string{"Hz", "kHz"}
	case "":
		return nil
	}
	return []string{unit}
}
