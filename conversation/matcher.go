package conversation

import "triagebot/reading"

// Matcher reads what an owner's message says of the bike, apart from what it
// may answer.
type Matcher interface {
	Match(text string) Heard
}

// Heard is what a message was heard to say.
type Heard struct {
	Kit      string
	Danger   []string // danger symptoms that are there now
	Symptoms []HeardSymptom
	Readings []HeardReading
	Tools    []HeardTool
	Seen     []HeardSight
	Offtopic bool
	Unclear  []string // symptoms that fit equally well; to be asked back
}

// HeardSymptom is a symptom said to be there or not to be there.
type HeardSymptom struct {
	ID         string
	Present    bool
	Confidence float64
}

// HeardReading is a figure with the check it belongs to.
type HeardReading struct {
	Check    string
	Quantity reading.Quantity
}

// HeardSight is what a look or a try would show, told in passing.
type HeardSight struct {
	Check, Option string
	Confidence    float64
}

// HeardTool is a tool the owner has or lacks.
type HeardTool struct {
	ID  string
	Has bool
}
