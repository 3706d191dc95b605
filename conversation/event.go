package conversation

import (
	"time"

	"triagebot/rules"
)

// EventKind says what happened.
type EventKind string

const (
	OwnerSaid   EventKind = "owner-said"  // Text: the message as it came
	BotSaid     EventKind = "bot-said"    // Lines
	KitKnown    EventKind = "kit"         // ID: kit
	FigureKnown EventKind = "figure"      // ID: figure, Value
	Noticed     EventKind = "symptom"     // ID: symptom, Yes: present, Sure
	Read        EventKind = "reading"     // ID: check, Reading, Text: as given
	Seen        EventKind = "answer"      // ID: check, Outcome: option, Sure
	OddAsked    EventKind = "odd"         // ID: check: asked to measure once more
	CannotDo    EventKind = "cannot"      // ID: check, Text: the owner's words
	ToolLacking EventKind = "lacking"     // ID: tool
	ToolAtHand  EventKind = "tool"        // ID: tool
	Opened      EventKind = "opened"      // ID: access
	Warned      EventKind = "caution"     // ID: caution
	Asked       EventKind = "asked"       // Question
	Named       EventKind = "named"       // ID: remedy, Sure: chance that it is the right one
	Remedied    EventKind = "remedied"    // ID: remedy, Yes: cured
	Danger      EventKind = "danger"      // ID: symptom
	HandedOver  EventKind = "handed-over" // ID: reason
	Missed      EventKind = "missed"      // not understood
	Understood  EventKind = "understood"  // something was; the count of misses starts anew
	Closed      EventKind = "closed"      // the fault is gone, or the talk is laid aside; ID: reason
	Nudged      EventKind = "nudged"      // the owner was silent and was asked whether to go on
	Dropped     EventKind = "dropped"     // the pending question waits no more
)

// Event is one thing that happened in a talk. Which fields it carries is said
// beside its kind.
type Event struct {
	Kind     EventKind   `json:"kind"`
	Time     time.Time   `json:"time"`
	ID       string      `json:"id,omitempty"`
	Text     string      `json:"text,omitempty"`
	Lines    []string    `json:"lines,omitempty"`
	Yes      bool        `json:"yes,omitempty"`
	Sure     float64     `json:"sure,omitempty"`
	Value    float64     `json:"value,omitempty"`
	Outcome  string      `json:"outcome,omitempty"`
	Reading  *Measured   `json:"reading,omitempty"`
	Question *PendingAsk `json:"question,omitempty"`
}

// Measured is a reading as given. JSON knows no infinity, so overload is said apart.
type Measured struct {
	Value    float64 `json:"value"`
	Overload bool    `json:"overload,omitempty"`
	Unit     string  `json:"unit"`
	Decimals int     `json:"decimals"`
	Spread   float64 `json:"spread,omitempty"`
}

// Reading is it for the judge.
func (m Measured) Reading() rules.Reading {
	r := rules.Reading{Value: m.Value, Unit: m.Unit, Decimals: m.Decimals, Spread: m.Spread}
	if m.Overload {
		r.Value = overload
	}
	return r
}

// AskKind says what a question is about.
type AskKind string

const (
	AskCheck     AskKind = "check"
	AskComplaint AskKind = "complaint" // what is wrong?
	AskWhich     AskKind = "which"     // which of these symptoms do you mean?
	AskKit       AskKind = "kit"
	AskFigure    AskKind = "figure"
	AskCured     AskKind = "cured" // did the remedy help?
)

// PendingAsk is the one question that waits for an answer.
type PendingAsk struct {
	Kind    AskKind  `json:"kind"`
	ID      string   `json:"id,omitempty"`      // check, figure or remedy
	Options []string `json:"options,omitempty"` // ids, where they are not the check's own
	Again   bool     `json:"again,omitempty"`   // an odd reading, asked once more
	Set     string   `json:"set,omitempty"`     // the state asked for, in words
	Person  bool     `json:"person,omitempty"`  // a person who has the case wants to know it
	Then    string   `json:"then,omitempty"`    // the check that the person named, when this one comes before it
}

// Handover reasons.
const (
	ReasonPerson        = "asked-for-a-person"
	ReasonUnexplained   = "nothing-explains-it"
	ReasonOdd           = "odd-reading-stands"
	ReasonNoCheck       = "no-check-left"
	ReasonLittleGain    = "little-to-gain" // checks are left, but would cost more than they settle
	ReasonMisunderstood = "misunderstood"
	ReasonTwins         = "cannot-be-told-apart"
	ReasonCannotMend    = "owner-cannot-mend"
	ReasonDanger        = "danger"
	ReasonCured         = "cured"
	ReasonFine          = "nothing-wrong"
	ReasonLeft          = "owner-stopped"
	ReasonSilent        = "owner-silent"
	ReasonPersonClosed  = "closed-by-a-person"
	ReasonReopened      = "taken-up-again"
)
