package search

import (
	"regexp"
	"strings"
	"triagebot/reading"
)

// Said is what a message was understood as. Empty fields mean that nothing was
// said of it.
type Said struct {
	Kit      string    // id of the kit named
	Danger   []string  // ids of danger symptoms present, also in Symptoms
	Symptoms []Symptom // surest first; only what is said, not what follows by excludes and implies
	Readings []Reading // numbers given, in the order of the message
	Tools    []Tool    // tools the owner says to have or to lack
	Seen     []Sight   // what looks and tries show, said in passing
	Offtopic bool      // nothing in it is about the matter
	// Unclear names two or three symptoms that one clause may mean equally
	// well; none of them is in Symptoms.
	Unclear []string
}

// Symptom is one observation told, with how surely it was meant.
type Symptom struct {
	ID         string
	Present    bool
	Confidence float64 // how often such a reading was right
	// Score is what it was chosen by. It is higher than Confidence: a talk tells
	// the owner what was understood, and what nobody puts right is surer.
	Score  float64
	Phrase string // the phrase of the knowledge base it was known by
}

// Reading is a number given, with the check it belongs to, "" when the words
// do not tell.
type Reading struct {
	Check string
	reading.Quantity
}

// Tool is a tool spoken of.
type Tool struct {
	ID   string
	Have bool
}

// Thresholds of confidence; patterns are above all of them. Danger is believed
// sooner: to miss it costs more.
// What is well is believed sooner too: to take it wrongly costs one question.
const (
	believe       = 0.8
	believeDanger = 0.7
	believeAbsent = 0.35
	resort        = 0.7  // enough where nothing else is understood
	wonder        = 0.12 // below believe, but worth asking back
	wonderGap     = 0.1  // as likely as each other
)

// Match reads one owner message.
func (x *Index) Match(message string) Said {
	said, _, _ := x.match(message, -1)
	return said
}

// exponents are figures such as 1e400: no code on a display, and no figure that
// an owner reads off a meter.
var exponents = regexp.MustCompile(`(?i)\b\d[\d.,]*e[+-]?\d{2,}\b`)

func blank(s string) string { return strings.Repeat(" ", len(s)) }

func (x *Index) match(message string, except int) (Said, []finding, []sighting) {
	t := x.lex.read(exponents.ReplaceAllStringFunc(message, blank))
	var said Said
	said.Kit = x.kitIn(t)
	said.Tools = x.toolsIn(t)
	figures := x.figuresIn(cut(message, MaxRunes), t, said.Kit)
	var found []finding
	var seen []sighting
	if !x.without[Patterns] {
		found, seen = x.conceive(t, figures)
	}
	said.Seen = x.sightsIn(t, seen)
	said.Readings = x.readingsIn(t, figures)
	if !x.without[Phrases] {
		found = append(found, x.findings(t, except)...)
	}
	off := x.offTopicIn(t, found)
	kept := x.choose(t, found, off, figures)
	for i := range kept {
		f := &kept[i]
		s := x.symptoms[f.symptom]
		said.Symptoms = append(said.Symptoms, Symptom{s.ID, f.present, round(calibrated(f.conf)), round(f.conf), x.phrases[f.phrase].text})
		if s.Danger != "" && f.present {
			said.Danger = append(said.Danger, s.ID)
		}
	}
	said.Offtopic = x.isOfftopic(t, &said, kept, off)
	if !said.Offtopic {
		said.Unclear = x.unclear(t, found, kept)
	}
	return said, found, seen
}

func round(v float64) float64 { return float64(int(v*1000+0.5)) / 1000 }
