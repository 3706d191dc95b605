package conversation

import (
	"math"
	"strings"

	"triagebot/reading"
)

// Question is what is pending, as far as reading a reply needs to know it.
type Question struct {
	Check   string
	Kind    string // look, try, measure, talk or yesno
	Unit    string // of a measure
	Asked   string // the words of the question
	Options []Choice
}

// Choice is one answer that was offered.
type Choice struct {
	ID      string
	Label   string   // as offered
	Phrases []string // other ways to say it
}

// Intent is what an owner's message wants of the talk.
type Intent string

// The intents a reply can have.
const (
	IntentReading Intent = "reading" // figures
	IntentChoice  Intent = "choice"  // one of the options
	IntentDone    Intent = "done"    // did what was asked
	IntentYes     Intent = "yes"     //
	IntentNo      Intent = "no"      //
	IntentCannot  Intent = "cannot"  // no meter, out of reach, does not want to
	IntentUnsure  Intent = "unsure"  // does not know, or two options fit alike
	IntentWhy     Intent = "why"     // what is it for
	IntentHow     Intent = "how"     // how or where to do it
	IntentBack    Intent = "back"    // corrects an earlier answer
	IntentRepeat  Intent = "repeat"  // say it again
	IntentPerson  Intent = "person"  // wants a human
	IntentStop    Intent = "stop"    // enough
	IntentDanger  Intent = "danger"  // something is dangerous now
	IntentNewInfo Intent = "newinfo" // adds a fact that was not asked for
	IntentOther   Intent = "other"   // chatter, or not understood
)

// Value is one figure of a reply with the place or state it was read in.
type Value struct {
	reading.Quantity
	Place   string // "rest", "closed", "open", "full" ...; "" when not said
	Assumed bool   // no unit was said; Unit is the one asked for
}

// Reply is what an owner's message says to the pending question.
type Reply struct {
	Intent     Intent
	Values     []Value
	Choice     string  // ID of an option
	Confidence float64 // 0..1
	Approx     bool    // a figure is given as about
	Doubt      bool    // the owner is not sure of the answer
	WrongUnit  bool    // no figure has the unit asked for
}

// limits of what is read: the rest of a longer message adds nothing to an
// answer, and the work stays bounded.
const longestReply = 4000

// Reader reads replies. It is safe for concurrent use.
type Reader struct {
	cues *cueBook
}

// NewReader returns a Reader with the embedded cues.
func NewReader() (*Reader, error) {
	cues, err := loadCues(cueFile, "en")
	if err != nil {
		return nil, err
	}
	return &Reader{cues: cues}, nil
}

// Read reads what text says to q. It never fails: what it cannot make out has
// the intent other.
func (r *Reader) Read(q Question, text string) Reply {
	text = clip(text, longestReply)
	m := r.hear(q, text)
	reply := m.answer()
	reply.Doubt = reply.Doubt || m.has("doubt") && (reply.Intent == IntentReading || reply.Intent == IntentChoice || reply.Intent == IntentYes || reply.Intent == IntentNo || reply.Intent == IntentBack)
	for _, v := range reply.Values {
		reply.Approx = reply.Approx || v.Approx
	}
	reply.Confidence = math.Max(0, math.Min(1, reply.Confidence))
	if reply.Doubt {
		reply.Confidence *= 0.8
	}
	return reply
}

// answer decides what a message is. The order is the point: danger before all
// else; a correction before a plain figure; a figure before what is said around
// it; an option by its words before a bare yes or no; chatter last.
func (m *message) answer() Reply {
	if m.danger() {
		return Reply{Intent: IntentDanger, Confidence: 0.9}
	}
	if len(m.words) == 0 {
		return Reply{Intent: IntentOther, Confidence: 0.9}
	}
	if r, ok := m.exact(); ok && m.q.Kind != "yesno" {
		return r
	}
	values := m.values()
	figure := len(values) > 0 && m.wantsFigure()
	if m.has("back") && !m.asks() {
		return m.corrects(values)
	}
	if r, ok := m.plain("newinfo-sure", "person", "repeat"); ok && !figure {
		return r
	}
	if c, ok := m.numbered(); ok {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.9}
	}
	if r, ok := m.plain("lacks"); ok && !figure {
		return r
	}
	if r, ok := m.question(values); ok {
		return r
	}
	if figure {
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.95}, values)
	}
	if r, ok := m.plain("stop"); ok && len(m.words) <= 14 {
		return r
	}
	if v, ok := m.spokenFigure(); ok {
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.7}, []Value{v})
	}
	for _, try := range []func() (Reply, bool){
		m.surely,
		func() (Reply, bool) { return m.plain("newinfo", "cannot") },
		m.stuck,
		m.chosen,
		func() (Reply, bool) { return m.plain("unsure") },
		m.done,
		m.reassures,
		m.yesOrNo,
	} {
		if r, ok := try(); ok {
			return r
		}
	}
	switch {
	case len(values) > 0 && m.q.Kind == "talk" && len(m.q.Options) == 0:
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.6}, values)
	case m.mark && len(m.words) > 1:
		return Reply{Intent: IntentHow, Confidence: 0.5}
	}
	return Reply{Intent: IntentOther, Confidence: 0.4}
}

// corrects reads an answer that takes the place of an earlier one.
func (m *message) corrects(values []Value) Reply {
	r := m.reading(Reply{Intent: IntentBack, Confidence: 0.9}, m.corrected(values))
	if c, ok := m.chosen(); ok && len(values) == 0 && c.Intent == IntentChoice {
		r.Choice = c.Choice
	}
	return r
}

// stuck reads "the cover won't open", which is a finding of a look but bars a
// measurement.
func (m *message) stuck() (Reply, bool) {
	if len(m.q.Options) > 0 || m.q.Kind == "yesno" {
		return Reply{}, false
	}
	return m.plain("stuck")
}

// done reads that something was carried out. Where the owner was only told to do
// something, a yes or words of what was told say so too.
func (m *message) done() (Reply, bool) {
	told := m.q.Kind == "talk" && len(m.q.Options) == 0 && m.q.Asked != ""
	switch {
	case m.q.Kind == "yesno" && m.has("cured"): // "sorted" answers whether the fault is gone
		return Reply{}, false
	case m.has("done"):
		return Reply{Intent: IntentDone, Confidence: 0.85}, true
	case !told || m.has("no"):
		return Reply{}, false
	case m.has("yes") || m.has("agrees"):
		return Reply{Intent: IntentDone, Confidence: 0.8}, true
	case m.echoes():
		return Reply{Intent: IntentDone, Confidence: 0.6}, true
	}
	return Reply{}, false
}

// plain gives the first of the named intents whose cues are in the message.
func (m *message) plain(names ...string) (Reply, bool) {
	for _, n := range names {
		if m.has(n) {
			name, _, _ := strings.Cut(n, "-")
			if name == "lacks" || name == "stuck" {
				name = "cannot"
			}
			return Reply{Intent: Intent(name), Confidence: 0.85}, true
		}
	}
	return Reply{}, false
}

// question reads how, where and why. A figure given along with one is the
// answer; the question then is by the way.
func (m *message) question(values []Value) (Reply, bool) {
	for _, n := range []string{"why", "how"} {
		at, ok := m.first(n)
		if !ok {
			continue
		}
		if len(values) > 0 && m.wantsFigure() && values[0].Start < m.words[at].start {
			continue
		}
		return Reply{Intent: Intent(n), Confidence: 0.85}, true
	}
	if len(values) == 0 && m.mark && m.has("begins-asking") {
		return Reply{Intent: IntentHow, Confidence: 0.7}, true
	}
	return Reply{}, false
}

// asks reports whether the message as a whole is a question.
func (m *message) asks() bool {
	_, why := m.first("why")
	return why
}

func (m *message) wantsFigure() bool { return m.q.Kind == "measure" || m.q.Unit != "" }
