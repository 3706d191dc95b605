package conversation

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"time"
)

var overload = math.Inf(1)

// Phase is where a talk stands.
type Phase string

const (
	Opening Phase = "opening"
	Asking  Phase = "asking"
	Naming  Phase = "named" // a remedy is named; whether it helped is open
	Done    Phase = "closed"
	Over    Phase = "handed-over"
	Stopped Phase = "stopped"
)

// Ended says whether the hunt is over.
func (p Phase) Ended() bool { return p == Done || p == Over || p == Stopped }

// State is what the events so far add up to.
type State struct {
	Turn       int
	Phase      Phase
	Reason     string // why the hunt ended
	Complaint  []string
	Kit        string
	Figures    map[string]float64
	Symptoms   map[string]Symptom // the last word on each
	Answers    []Answer           // in the order given; a later one on the same check and round replaces the earlier in place
	Replaced   []Answer           // what was corrected
	Round      int                // grows with each remedy carried out
	Attempts   []Attempt
	OddAsked   map[string]bool
	Cannot     map[string]string // check -> the owner's words
	Lacking    map[string]bool
	AtHand     map[string]bool
	Opened     map[string]bool
	Warned     []Warning
	Dangers    []string
	Pending    *PendingAsk
	LastAsked  string // check, for "go back"
	Set        string // the state last asked for, in words
	Misses     int
	Nudged     bool // since the owner last said something
	Transcript []Line
	Started    time.Time
	Last       time.Time
	leftFrom   Phase // where the owner laid the talk aside
}

// Symptom is the owner's word on a symptom.
type Symptom struct {
	Present bool
	Sure    float64
	Round   int
	Order   int
}

// Answer is a reading or a choice.
type Answer struct {
	Check   string
	Option  string    // of a look or try
	Reading *Measured // of a measure
	Sure    float64
	Given   string // in the owner's words
	Round   int
	Turn    int
}

// Attempt is a remedy that was named.
type Attempt struct {
	Remedy string
	Chance float64 // that it was the right one, when it was named
	Done   bool    // carried out
	Cured  bool
	Turn   int
}

// Warning is a caution that was said.
type Warning struct {
	Caution string
	Turn    int
}

// Line is one line of the transcript.
type Line struct {
	Owner bool
	Text  string
	Time  time.Time
}

// NewState is the state before anything happened.
func NewState() *State {
	return &State{
		Phase: Opening, Figures: map[string]float64{}, Symptoms: map[string]Symptom{}, OddAsked: map[string]bool{},
		Cannot: map[string]string{}, Lacking: map[string]bool{}, AtHand: map[string]bool{}, Opened: map[string]bool{},
	}
}

// Replay folds events into a state.
func Replay(events []Event) *State {
	s := NewState()
	for _, e := range events {
		s.Apply(e)
	}
	return s
}

// Apply takes one event in.
func (s *State) Apply(e Event) {
	if s.Started.IsZero() {
		s.Started = e.Time
	}
	s.Last = e.Time
	switch e.Kind {
	case OwnerSaid:
		s.comeBack()
		s.Nudged = false
		s.Turn++
		s.Transcript = append(s.Transcript, Line{Owner: true, Text: e.Text, Time: e.Time})
		if s.Phase == Opening {
			s.Complaint = append(s.Complaint, e.Text)
		}
	case BotSaid:
		for _, l := range e.Lines {
			s.Transcript = append(s.Transcript, Line{Text: l, Time: e.Time})
		}
	case KitKnown:
		s.Kit = e.ID
	case FigureKnown:
		s.Figures[e.ID] = e.Value
	case Noticed:
		s.notice(e)
	case Read, Seen:
		s.answer(Answer{Check: e.ID, Option: e.Outcome, Reading: e.Reading, Sure: e.Sure, Given: e.Text, Round: s.Round, Turn: s.Turn})
		delete(s.Cannot, e.ID)
	case OddAsked:
		s.OddAsked[e.ID] = true
	case CannotDo:
		s.Cannot[e.ID] = e.Text
	case ToolLacking:
		s.Lacking[e.ID] = true
		delete(s.AtHand, e.ID)
	case ToolAtHand:
		s.AtHand[e.ID] = true
		delete(s.Lacking, e.ID)
	case Opened:
		s.Opened[e.ID] = true
	case Warned:
		s.Warned = append(s.Warned, Warning{Caution: e.ID, Turn: s.Turn})
	case Asked:
		s.ask(e.Question)
	case Named:
		s.Phase = Naming
		s.Attempts = append(s.Attempts, Attempt{Remedy: e.ID, Chance: e.Sure, Turn: s.Turn})
	case Remedied:
		s.remedied(e.ID, e.Yes)
	case Danger:
		if !slices.Contains(s.Dangers, e.ID) {
			s.Dangers = append(s.Dangers, e.ID)
		}
		s.end(Stopped, ReasonDanger)
	case HandedOver:
		s.end(Over, e.ID)
	case Closed:
		if laidAside(e.ID) {
			s.leftFrom, s.Phase, s.Reason = s.Phase, Done, e.ID // the question stands
			break
		}
		s.end(Done, e.ID)
	case Missed:
		s.Misses++
	case Understood:
		s.Misses = 0
	case Nudged:
		s.Nudged = true
	case Dropped:
		s.Pending, s.Misses = nil, 0
	}
}

// laidAside says whether a talk that ended for this reason goes on where it was
// as soon as its owner writes.
func laidAside(reason string) bool { return reason == ReasonLeft || reason == ReasonSilent }

// comeBack takes up a talk that was laid aside, where it was.
func (s *State) comeBack() {
	if laidAside(s.Reason) {
		s.Phase, s.Reason = s.leftFrom, ""
	}
}

func (s *State) end(p Phase, reason string) {
	s.Phase, s.Reason, s.Pending = p, reason, nil
}

func (s *State) ask(q *PendingAsk) {
	s.Pending = q
	if s.Phase == Opening && q.Kind != AskComplaint {
		s.Phase = Asking
	}
	if s.Phase == Naming && q.Kind != AskCured {
		s.Phase = Asking
	}
	if s.Phase == Done && !laidAside(s.Reason) && !q.Person { // the fault came back
		s.Phase, s.Reason = Asking, ""
	}
	if q.Kind == AskCheck {
		s.LastAsked = q.ID
		if q.Set != "" {
			s.Set = q.Set
		}
	}
}

// answer keeps one answer a check and round; what it replaces is kept apart, so
// that both figures reach the person who takes over.
func (s *State) answer(a Answer) {
	for i, old := range s.Answers {
		if old.Check == a.Check && old.Round == a.Round {
			s.Replaced = append(s.Replaced, old)
			s.Answers[i] = a
			return
		}
	}
	s.Answers = append(s.Answers, a)
}

func (s *State) remedied(remedy string, cured bool) {
	for i := range s.Attempts {
		if a := &s.Attempts[i]; a.Remedy == remedy && !a.Done {
			a.Done, a.Cured = true, cured
		}
	}
	s.Round++
}

// notice keeps the round in which a symptom was first said to be so: saying it
// again after a remedy is no new evidence.
func (s *State) notice(e Event) {
	round, order := s.Round, len(s.Symptoms)
	if old, ok := s.Symptoms[e.ID]; ok {
		order = old.Order
		if old.Present == e.Yes {
			round = old.Round
		}
	}
	s.Symptoms[e.ID] = Symptom{Present: e.Yes, Sure: e.Sure, Round: round, Order: order}
}

// SymptomIDs lists the symptoms spoken of, in the order they came up.
func (s *State) SymptomIDs() []string {
	return slices.SortedFunc(maps.Keys(s.Symptoms), func(a, b string) int {
		return cmp.Compare(s.Symptoms[a].Order, s.Symptoms[b].Order)
	})
}

// Answer returns the latest answer to a check.
func (s *State) Answer(check string) (Answer, bool) {
	for i := len(s.Answers) - 1; i >= 0; i-- {
		if s.Answers[i].Check == check {
			return s.Answers[i], true
		}
	}
	return Answer{}, false
}

// Clone returns a state that can be changed without touching this one.
func (s *State) Clone() *State {
	c := *s
	c.Complaint, c.Answers, c.Replaced = slices.Clone(s.Complaint), slices.Clone(s.Answers), slices.Clone(s.Replaced)
	c.Attempts, c.Warned, c.Dangers = slices.Clone(s.Attempts), slices.Clone(s.Warned), slices.Clone(s.Dangers)
	c.Transcript = slices.Clone(s.Transcript)
	c.Figures, c.Symptoms = maps.Clone(s.Figures), maps.Clone(s.Symptoms)
	c.OddAsked, c.Cannot, c.Lacking = maps.Clone(s.OddAsked), maps.Clone(s.Cannot), maps.Clone(s.Lacking)
	c.AtHand, c.Opened = maps.Clone(s.AtHand), maps.Clone(s.Opened)
	return &c
}
