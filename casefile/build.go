package casefile

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
	"time"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// Version is that of the case's form; see the field v of the schema.
const Version = 1

// builder is the work of one case.
type builder struct {
	kb      *kb.KB
	kit     *kb.Kit // the owner's; nil when it is not known
	st      *conversation.State
	a       *conversation.Assessment // nil when the rules could not be worked out
	scope   *rules.Scope             // nil likewise
	counted map[*conversation.Answer]bool
	wrong   error // the first thing that could not be worked out
}

// Build writes the case of a talk as it stands. An error means that the rules
// could not be worked out in part; the case is good all the same, holds all
// that the owner said, and says in Incomplete what is missing.
func Build(e *conversation.Engine, st *conversation.State) (*Case, error) {
	b := &builder{kb: e.KB(), st: st, counted: map[*conversation.Answer]bool{}}
	b.kit = b.kb.Kit(st.Kit)
	a, err := e.Assess(st)
	b.note(err)
	if err == nil {
		b.a = a
		b.scope = a.Model.Scope().With(b.known())
		for _, ev := range a.Evidence {
			if ev.Answer != nil {
				b.counted[ev.Answer] = true
			}
		}
	}
	c := &Case{
		V: Version, KB: KB{b.kb.About.Name, b.kb.Version},
		Opened: stamp(st.Started), Last: stamp(st.Last),
		Ended: b.ended(), Complaint: texts(st.Complaint), Kit: b.kitOf(),
		History: []string{}, Symptoms: b.symptoms(), Dangers: b.dangers(),
		Readings: b.readings(), Looks: b.looks(),
		Suspects: []Suspect{}, RuledOut: []RuledOut{}, NotDone: b.notDone(), Lacking: b.lacking(),
		Remedies: b.remedies(), Cautions: b.cautions(), Next: b.next(), Transcript: b.transcript(),
	}
	for _, s := range c.Symptoms {
		if s.Family == "history" && s.State == rules.Present {
			c.History = append(c.History, s.ID)
		}
	}
	if b.a != nil {
		c.Unlisted, c.NothingWrong = digits(b.a.Belief.Unlisted()), digits(b.a.Belief.NothingWrong())
		if len(b.a.Evidence) > 0 {
			w := b.newWeighing()
			c.Suspects, c.RuledOut = w.suspects(), w.ruledOut()
		}
	}
	if b.wrong == nil {
		return c, nil
	}
	c.Incomplete = text(b.wrong.Error())
	return c, fmt.Errorf("building the case: %w", b.wrong)
}

// stamp is a time as it can be written and read back.
func stamp(t time.Time) time.Time { return t.Round(0).UTC() }

func (b *builder) note(err error) {
	if b.wrong == nil {
		b.wrong = err
	}
}

// ended uses the names that a turn uses.
func (b *builder) ended() Ended {
	e := Ended{State: "asking", Reason: b.st.Reason, Why: say("why-asking")}
	switch b.st.Phase {
	case conversation.Naming:
		e.State, e.Why = "named", say("why-named")
	case conversation.Over:
		e.State = "handed-over"
	case conversation.Stopped:
		e.State = "stopped"
	case conversation.Done:
		e.State = "named"
		if e.Reason == conversation.ReasonLeft || e.Reason == conversation.ReasonSilent {
			e.State = "stopped"
		}
	}
	if e.Reason != "" && b.st.Phase.Ended() {
		e.Why = sayOr("why-"+e.Reason, e.Reason)
	}
	return e
}

func (b *builder) kitOf() Kit {
	k := Kit{ID: b.st.Kit, Name: say("kit-unknown"), Figures: []Figure{}}
	if b.a != nil {
		k.JudgedAs = b.a.Model.Kit.ID
	}
	left := maps.Clone(b.st.Figures)
	if b.kit != nil {
		k.Name, k.Summary = b.kit.Name, b.kit.Summary
		for _, a := range b.kit.Ask {
			if v, ok := left[a.Figure]; ok {
				k.Figures = append(k.Figures, Figure{a.Figure, a.Question, digits(v), a.Unit})
				delete(left, a.Figure)
			}
		}
	} else if b.st.Kit != "" {
		k.Name = b.st.Kit // of another knowledge base; better than nothing
	}
	for _, name := range slices.Sorted(maps.Keys(left)) {
		k.Figures = append(k.Figures, Figure{Name: name, Value: digits(left[name])})
	}
	return k
}

// symptoms lists the owner's last word on each. A symptom that is the same as
// an option the owner chose was said by choosing it.
func (b *builder) symptoms() []Symptom {
	list := []Symptom{}
	for _, id := range b.st.SymptomIDs() {
		w := b.st.Symptoms[id]
		s := Symptom{ID: id, Name: id, State: rules.Absent, Confidence: digits(w.Sure), From: "own-words", Round: w.Round}
		if w.Present {
			s.State = rules.Present
		}
		if k := b.kb.Symptom(id); k != nil {
			s.Name, s.Family = k.Name, k.Family
		}
		s.Says = b.symptomSays(id, w.Present)
		if c, o := b.kb.SameAs(id); c != nil && w.Present {
			for _, ans := range b.st.Answers {
				if ans.Check == c.ID && ans.Option == o.ID && ans.Round == w.Round {
					s.From, s.Check, s.Given = "answer", c.ID, text(ans.Given)
				}
			}
		}
		list = append(list, s)
	}
	return list
}

func (b *builder) symptomSays(id string, present bool) string {
	s := b.kb.Symptom(id)
	switch {
	case s == nil && present:
		return id
	case s == nil:
		return say("not-so", "what", id)
	case present:
		return s.Say
	case s.Denied != "":
		return s.Denied
	}
	return say("not-so", "what", s.Name)
}

func (b *builder) dangers() []Danger {
	list := []Danger{}
	for _, id := range b.st.Dangers {
		d := Danger{ID: id, Says: say("danger-unnamed"), Do: []string{}}
		if s := b.kb.Symptom(id); s != nil {
			d.Says = s.Say
			if c := b.kb.Caution(s.Danger); c != nil {
				d.Caution, d.Do = c.ID, append(d.Do, c.Text...)
			}
		} else if id != "" {
			d.Says = id
		}
		list = append(list, d)
	}
	return list
}

func (b *builder) cautions() []Caution {
	list := []Caution{}
	for _, w := range b.st.Warned {
		c := Caution{ID: w.Caution, Text: []string{}, Turn: w.Turn}
		if k := b.kb.Caution(w.Caution); k != nil {
			c.Text = append(c.Text, k.Text...)
		}
		list = append(list, c)
	}
	return list
}

// remedies lists what was named, and what came of it.
func (b *builder) remedies() []Remedy {
	list := []Remedy{}
	for _, t := range b.st.Attempts {
		r := Remedy{ID: t.Remedy, Name: t.Remedy, Turn: t.Turn}
		k := b.kb.Remedy(t.Remedy)
		if k != nil {
			r.Name, r.By = k.Name, k.By
		}
		switch {
		case t.Done && t.Cured:
			r.Result = "cured"
		case t.Done && k != nil && k.Again != "":
			r.Result = "done" // it mends the measuring, so nobody was asked whether it cured
		case t.Done:
			r.Result = "not-cured"
		default:
			r.Result = "open"
		}
		r.Says = say("remedy-" + r.Result)
		list = append(list, r)
	}
	return list
}

func (b *builder) lacking() []string {
	list := []string{}
	for tool, lacking := range b.st.Lacking {
		if lacking {
			list = append(list, tool)
		}
	}
	slices.Sort(list)
	return list
}

func (b *builder) transcript() []Line {
	list := make([]Line, len(b.st.Transcript))
	for i, l := range b.st.Transcript {
		list[i] = Line{Who: "bot", Text: text(l.Text), Time: stamp(l.Time)}
		if l.Owner {
			list[i].Who = "owner"
		}
	}
	return list
}

// checksInOrder lists what a map of checks holds: those of the knowledge base
// in its order, then any others by name.
func (b *builder) checksInOrder(m map[string]string) []string {
	place := map[string]int{}
	for i, c := range b.kb.Checks {
		place[c.ID] = i + 1
	}
	return slices.SortedFunc(maps.Keys(m), func(x, y string) int {
		px, py := place[x], place[y]
		if (px == 0) != (py == 0) {
			return cmp.Compare(py, px)
		}
		return cmp.Or(cmp.Compare(px, py), strings.Compare(x, y))
	})
}
