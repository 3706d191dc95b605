package conversation

// Turn is what one message led to, as the line protocol shows it.
type Turn struct {
	V          int           `json:"v"`
	Turn       int           `json:"turn"`
	Language   string        `json:"language,omitempty"` // code; none is the base language
	Say        []string      `json:"say"`
	State      string        `json:"state"` // asking, named, handed-over or stopped
	Ask        *TurnAsk      `json:"ask"`
	Understood TurnHeard     `json:"understood"`
	Suspects   []TurnSuspect `json:"suspects"`
	Cautions   []string      `json:"cautions"`
	Case       any           `json:"case"` // filled in by whoever writes cases
	Noted      bool          `json:"-"`    // all it says is that a person reads it; where one is in the talk that goes without saying
}

// TurnAsk is the pending question.
type TurnAsk struct {
	Check   string       `json:"check"` // a check's id, or kit, figure:NAME, which, complaint, cured
	Kind    string       `json:"kind"`  // look, try, measure or talk
	Unit    string       `json:"unit"`
	Options []TurnOption `json:"options"`
	Again   bool         `json:"again,omitempty"`
}

// TurnOption is an answer on offer.
type TurnOption struct {
	ID    string `json:"id"`
	Label string `json:"label"`
}

// TurnHeard is what this message was understood to say.
type TurnHeard struct {
	Intent   string        `json:"intent"`
	Kit      string        `json:"kit,omitempty"`
	Symptoms []TurnSymptom `json:"symptoms,omitempty"`
	Readings []TurnReading `json:"readings,omitempty"`
	Choice   string        `json:"choice,omitempty"`
	Danger   []string      `json:"danger,omitempty"`
	Offtopic bool          `json:"offtopic,omitempty"`
}

// TurnSymptom is a symptom taken from this message.
type TurnSymptom struct {
	ID         string  `json:"id"`
	State      string  `json:"state"` // present or absent
	Confidence float64 `json:"confidence"`
}

// TurnReading is a figure taken from this message; Value is a number or "OL".
type TurnReading struct {
	Check string `json:"check"`
	Value any    `json:"value"`
	Unit  string `json:"unit"`
}

// TurnSuspect is a suspect with the remedy that would mend it.
type TurnSuspect struct {
	Causes      []string `json:"causes"`
	Probability float64  `json:"probability"`
	Remedy      string   `json:"remedy"`
}

// leastShown and mostShown bound the suspects of a turn.
const (
	leastShown = 0.02
	mostShown  = 6
)

func (t *step) turn() Turn {
	out := Turn{
		V: 1, Turn: t.st.Turn, Language: t.e.Language(), Say: t.lines, State: stateName(t.st), Ask: t.e.turnAsk(t.st),
		Understood: t.understood(), Suspects: []TurnSuspect{}, Cautions: t.cautions, Noted: t.noted,
	}
	if out.Say == nil {
		out.Say = []string{}
	}
	if out.Cautions == nil {
		out.Cautions = []string{}
	}
	if !t.anythingKnown() {
		return out
	}
	if a, err := t.assess(); err == nil {
		for i, s := range a.Belief.Suspects(leastShown) {
			if i == mostShown {
				break
			}
			x := TurnSuspect{Probability: s.Probability}
			for _, c := range s.Causes {
				x.Causes = append(x.Causes, c.ID)
			}
			if r := t.e.kb.Remedy(s.Causes[0].Remedy); r != nil {
				x.Remedy = r.Name
			}
			out.Suspects = append(out.Suspects, x)
		}
	}
	return out
}

func stateName(st *State) string {
	switch st.Phase {
	case Naming:
		return "named"
	case Over:
		return "handed-over"
	case Stopped:
		return "stopped"
	case Done:
		if laidAside(st.Reason) {
			return "stopped"
		}
		return "named"
	}
	return "asking"
}

// Offered is the question that waits in a talk with the answers on offer, or nil.
func (e *Engine) Offered(st *State) *TurnAsk { return e.In(st.Language).turnAsk(st) }

func (e *Engine) turnAsk(st *State) *TurnAsk {
	p := st.Pending
	if p == nil || st.Phase.Ended() && !p.Person {
		return nil
	}
	a := &TurnAsk{Check: string(p.Kind), Kind: "talk", Options: []TurnOption{}, Again: p.Again}
	switch p.Kind {
	case AskCheck:
		if c := e.kb.Check(p.ID); c != nil {
			a.Check, a.Kind, a.Unit = c.ID, c.Kind, c.Unit
		}
	case AskFigure:
		a.Check = "figure:" + p.ID
		if f := e.figure(st, p.ID); f != nil {
			a.Unit = f.Unit
		}
	}
	for _, o := range e.options(st, p) {
		a.Options = append(a.Options, TurnOption{o.ID, o.Label})
	}
	return a
}

// understood is read off the events, so that it says what was entered and not
// what was merely heard.
func (t *step) understood() TurnHeard {
	h := TurnHeard{Intent: string(t.intent), Offtopic: t.heard.Offtopic, Danger: t.heard.Danger}
	for _, e := range t.events {
		switch e.Kind {
		case KitKnown:
			h.Kit = e.ID
		case Noticed:
			s := TurnSymptom{e.ID, "absent", e.Sure}
			if e.Yes {
				s.State = "present"
			}
			h.Symptoms = append(h.Symptoms, s)
		case Seen:
			h.Choice = e.Outcome
		case Read:
			r := TurnReading{e.ID, e.Reading.Value, e.Reading.Unit}
			if e.Reading.Overload {
				r.Value = "OL"
			}
			h.Readings = append(h.Readings, r)
		}
	}
	return h
}
