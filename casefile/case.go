package casefile

import "time"

// Case is what a person takes over. Lists are never nil, so that they are
// lists in JSON too; the meaning of each field is told in case.schema.json.
type Case struct {
	V            int        `json:"v"`
	KB           KB         `json:"kb"`
	Opened       time.Time  `json:"opened,omitzero"`
	Last         time.Time  `json:"last,omitzero"`
	Ended        Ended      `json:"ended"`
	Complaint    []string   `json:"complaint"`
	Kit          Kit        `json:"kit"`
	History      []string   `json:"history"`
	Symptoms     []Symptom  `json:"symptoms"`
	Dangers      []Danger   `json:"dangers"`
	Readings     []Reading  `json:"readings"`
	Looks        []Look     `json:"looks"`
	Suspects     []Suspect  `json:"suspects"`
	RuledOut     []RuledOut `json:"ruled_out"`
	Unlisted     float64    `json:"unlisted"`
	NothingWrong float64    `json:"nothing_wrong"`
	NotDone      []NotDone  `json:"not_done"`
	Lacking      []string   `json:"lacking"`
	Remedies     []Remedy   `json:"remedies"`
	Cautions     []Caution  `json:"cautions"`
	Next         Next       `json:"next"`
	Transcript   []Line     `json:"transcript"`
	Incomplete   string     `json:"incomplete,omitempty"`
}

// KB names the rules by which the case was judged.
type KB struct {
	Name    string `json:"name"`
	Version string `json:"version"`
}

// Ended says where the talk stands and why.
type Ended struct {
	State  string `json:"state"` // asking, named, handed-over or stopped
	Reason string `json:"reason"`
	Why    string `json:"why"`
}

// Kit is what the owner has.
type Kit struct {
	ID       string   `json:"id"` // "" when it is not known
	Name     string   `json:"name"`
	Summary  string   `json:"summary"`
	JudgedAs string   `json:"judged_as"`
	Figures  []Figure `json:"figures"`
}

// Figure is a number only the owner knew.
type Figure struct {
	Name     string  `json:"name"`
	Question string  `json:"question"`
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
}

// Symptom is the owner's last word on something noticed.
type Symptom struct {
	ID         string  `json:"id"`
	Name       string  `json:"name"`
	Family     string  `json:"family"`
	State      string  `json:"state"` // present or absent
	Says       string  `json:"says"`
	Confidence float64 `json:"confidence"`
	Healthy    bool    `json:"healthy,omitempty"` // as it should be: no trouble, though it was said
	From       string  `json:"from"`              // own-words, or answer
	Check      string  `json:"check,omitempty"`
	Given      string  `json:"given,omitempty"`
	Round      int     `json:"round"`
}

// Danger is what stopped the measuring.
type Danger struct {
	ID      string   `json:"id"` // "" when no symptom names it
	Says    string   `json:"says"`
	Caution string   `json:"caution"`
	Do      []string `json:"do"`
}

// Reading is a figure with the place it was measured at and how it was judged.
type Reading struct {
	Check       string         `json:"check"`
	Name        string         `json:"name"`
	Red         string         `json:"red"`
	Black       string         `json:"black"`
	Side        string         `json:"side"`
	Value       *float64       `json:"value"` // null for overload
	Overload    bool           `json:"overload"`
	Unit        string         `json:"unit"`
	Shown       string         `json:"shown"`
	Given       string         `json:"given"`
	Uncertainty float64        `json:"uncertainty"`
	Window      string         `json:"window"`
	WindowName  string         `json:"window_name"`
	Means       string         `json:"means"`
	Probability float64        `json:"probability"`
	Windows     []WindowChance `json:"windows"`
	Close       bool           `json:"close"`
	Odd         bool           `json:"odd"`
	OddReason   string         `json:"odd_reason"`
	Counted     bool           `json:"counted"`
	Turn        int            `json:"turn"`
	Round       int            `json:"round"`
	Replaced    string         `json:"replaced,omitempty"` // of an earlier figure: corrected, or odd
	Earlier     []Reading      `json:"earlier"`
}

// WindowChance is how likely a reading lies in one window.
type WindowChance struct {
	ID          string  `json:"id"`
	Name        string  `json:"name"`
	Probability float64 `json:"probability"`
}

// Look is the answer to a look or a try.
type Look struct {
	Check      string  `json:"check"`
	Name       string  `json:"name"`
	Kind       string  `json:"kind"` // look or try
	Option     string  `json:"option"`
	Label      string  `json:"label"`
	Means      string  `json:"means"`
	Healthy    bool    `json:"healthy"`
	Given      string  `json:"given"`
	Confidence float64 `json:"confidence"`
	Counted    bool    `json:"counted"`
	Turn       int     `json:"turn"`
	Round      int     `json:"round"`
	Earlier    []Look  `json:"earlier"`
}

// Suspect is a cause, or two at once, that is still possible.
type Suspect struct {
	Causes      []Cause    `json:"causes"`
	Probability float64    `json:"probability"`
	Remedy      string     `json:"remedy"`
	RemedyName  string     `json:"remedy_name"`
	By          string     `json:"by"`
	For         []Evidence `json:"for"`
	Against     []Evidence `json:"against"`
}

// Cause is one thing that may be wrong.
type Cause struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Part string `json:"part"`
}

// Evidence is one thing known, with how strongly it speaks.
type Evidence struct {
	Kind   string   `json:"kind"` // said, look, try, measure or remedy
	Of     []string `json:"of"`
	Says   string   `json:"says"`
	Weight float64  `json:"weight,omitempty"` // absent for a remedy
	Words  string   `json:"words"`
}

// RuledOut is a cause that was a suspect and is none any more.
type RuledOut struct {
	Cause       Cause      `json:"cause"`
	Prior       float64    `json:"prior"`
	Highest     float64    `json:"highest"`
	Probability float64    `json:"probability"`
	By          []Evidence `json:"by"`
}

// NotDone is a check that was left out although it would have helped.
type NotDone struct {
	Check  string   `json:"check"`
	Name   string   `json:"name"`
	Why    string   `json:"why"` // cannot, tool, needs, cover, again, odd or not-reached
	Says   string   `json:"says"`
	Given  string   `json:"given,omitempty"`
	Tools  []string `json:"tools"`
	Needs  []string `json:"needs"`
	Covers []string `json:"covers"`
}

// Remedy is a remedy that was named, and what came of it.
type Remedy struct {
	ID     string `json:"id"`
	Name   string `json:"name"`
	By     string `json:"by"`
	Result string `json:"result"` // cured, not-cured, done or open
	Says   string `json:"says"`
	Turn   int    `json:"turn"`
}

// Caution is a caution that was said.
type Caution struct {
	ID   string   `json:"id"`
	Text []string `json:"text"`
	Turn int      `json:"turn"`
}

// Next is the step proposed to the person.
type Next struct {
	Kind   string   `json:"kind"` // danger, none, ask, repeat, part-twins, check, remedy or look-over
	Check  string   `json:"check,omitempty"`
	Remedy string   `json:"remedy,omitempty"`
	Causes []string `json:"causes"`
	Says   string   `json:"says"`
	Lines  []string `json:"lines"`
}

// Line is one line of the transcript.
type Line struct {
	Who  string    `json:"who"` // owner or bot
	Text string    `json:"text"`
	Time time.Time `json:"time,omitzero"`
}
