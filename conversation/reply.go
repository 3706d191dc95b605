package conversation

import (
	"math"

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
	Healthy bool     // the answer when nothing is wrong
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
	Main       int     // which of Values the question asked for
	Choice     string  // ID of an option
	Confidence float64 // 0..1
	Approx     bool    // a figure is given as about
	Doubt      bool    // the owner is not sure of the answer
	WrongUnit  bool    // no figure has the unit asked for
	Waits      bool    // asks for time: the question stands
	Plea       bool    // of IntentPerson: "can someone help me?", which in a first message only asks to be heard
	Misplaced  bool    // by the owner's own account a figure is from the wrong place or range
	Thanks     bool    // thanks, and nothing else
	About      string  // of a question of the owner's: AboutRisk, AboutTime, AboutCost, AboutWhere, AboutGuess or ""
	Rest       string  // of a correction: the message without what announces it; "" when it only asks to go back
}

// limits of what is read: the rest of a longer message adds nothing to an
// answer, and the work stays bounded.
const longestReply = 2000

// misplacedConfidence is all that a figure from the wrong place is worth.
const misplacedConfidence = 0.3

// Reader reads replies. It is safe for concurrent use.
type Reader struct {
	cues     *cueBook
	examples *exampleBook
}

// NewReader returns a Reader with the embedded cues.
func NewReader() (*Reader, error) {
	cues, err := loadCues(cueFile, "en")
	if err != nil {
		return nil, err
	}
	examples, err := loadExamples(exampleFile, "en", cues)
	if err != nil {
		return nil, err
	}
	return &Reader{cues: cues, examples: examples}, nil
}

// Read reads what text says to q. It never fails: what it cannot make out has
// the intent other.
func (r *Reader) Read(q Question, text string) Reply {
	text = clip(text, longestReply)
	m := r.hear(q, text)
	reply := m.answer()
	reply.Plea = reply.Intent == IntentPerson && m.has("plea")
	reply.Doubt = reply.Doubt || m.has("doubt") && (reply.Intent == IntentReading || reply.Intent == IntentChoice || reply.Intent == IntentYes || reply.Intent == IntentNo || reply.Intent == IntentBack)
	for _, v := range reply.Values {
		reply.Approx = reply.Approx || v.Approx
	}
	if reply.Intent == IntentHow || reply.Intent == IntentWhy || m.mark && reply.Intent != IntentDanger {
		reply.About = m.about()
	}
	if reply.Intent == IntentBack {
		reply.Rest = m.rest()
	}
	reply.Confidence = math.Max(0, math.Min(1, reply.Confidence))
	if reply.Doubt {
		reply.Confidence *= 0.8
	}
	if reply.Misplaced {
		reply.Confidence = min(reply.Confidence, misplacedConfidence)
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
		if m.mark { // "??"
			return Reply{Intent: IntentRepeat, Confidence: 0.7}
		}
		return Reply{Intent: IntentOther, Confidence: 0.9}
	}
	if _, offered := m.exact(); m.has("stop-sure") && !offered { // "enough" can be an answer
		return Reply{Intent: IntentStop, Confidence: 0.9}
	}
	if m.has("goes-look") && len(m.found) == 0 && !m.has("unable") {
		return Reply{Intent: IntentOther, Confidence: 0.8, Waits: true}
	}
	if m.thanks() {
		return Reply{Intent: IntentOther, Confidence: 0.9, Thanks: true}
	}
	if r, ok := m.exact(); ok && m.q.Kind != "yesno" {
		return r
	}
	if r, ok := m.wonders(); ok && len(m.found) == 0 {
		return r
	}
	if m.q.Kind == "yesno" {
		if r, ok := m.mendsLater(); ok {
			return r
		}
		if r, ok := m.answersPlainly(); ok {
			return r
		}
	}
	values := m.values()
	figure := len(values) > 0 && m.wantsFigure() && !m.beside(values)
	if figure && m.misplaced(values) {
		r := m.reading(Reply{Intent: IntentReading, Confidence: misplacedConfidence}, values)
		r.Misplaced, r.Doubt = true, true
		return r
	}
	if figure {
		if r, ok := m.contradicts(values); ok {
			return r
		}
	}
	if figure && m.correctsItself(values) {
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.9}, m.corrected(values))
	}
	if (m.has("back") || len(m.q.Options) == 0 && m.has("back-weak")) && !m.asks() && !(m.mark && m.has("repeat")) && !(figure && m.has("musing")) {
		return m.corrects(values)
	}
	if r, ok := m.plain("refuses"); ok && m.q.Kind != "yesno" {
		return r
	}
	if r, ok := m.plain("newinfo-sure", "alone", "person", "repeat"); ok && !(r.Intent == IntentRepeat && len(m.q.Options) > 0 && m.has("sees-none")) && !figure && !m.alsoUnchanged() {
		return r
	}
	if c, ok := m.numbered(); ok {
		return Reply{Intent: IntentChoice, Choice: c, Confidence: 0.9}
	}
	if len(m.q.Options) > 0 && m.onlyFigures(values) {
		return Reply{Intent: IntentOther, Confidence: 0.6}
	}
	if r, ok := m.plain("done-sure"); ok && m.q.Kind != "yesno" && m.q.Kind != "measure" {
		return r
	}
	if len(m.q.Options) > 0 && !figure {
		if r, ok := m.barred(); ok {
			return r
		}
	}
	if r, ok := m.afterAll(); ok && !figure {
		return r
	}
	if r, ok := m.surely(); ok && !m.seeks() {
		return r
	}
	if m.has("what-next") && m.q.Kind != "yesno" && len(m.words) <= 8 && !figure {
		return Reply{Intent: IntentDone, Confidence: 0.7}
	}
	if r, ok := m.plain("undecided"); ok && !figure && !m.seeks() && m.q.Kind != "yesno" {
		return r
	}
	if r, ok := m.plain("lacks"); ok && !figure && !m.mark && m.q.Kind != "yesno" {
		return r
	}
	if r, ok := m.plain("stop"); ok && !figure && m.q.Kind != "yesno" && len(m.words) <= 14 && !m.seeks() {
		return r
	}
	if r, ok := m.takesBack(); ok && !figure {
		return r
	}
	if m.has("waits") && !figure && !m.mark && !m.has("relapses") {
		return Reply{Intent: IntentOther, Confidence: 0.8, Waits: true}
	}
	asked := values
	if !figure {
		asked = nil
	}
	if r, ok := m.question(asked); ok {
		return r
	}
	if figure {
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.95}, values)
	}
	if m.q.Kind == "measure" && (m.declines() || m.has("blank-meter")) {
		return Reply{Intent: IntentCannot, Confidence: 0.8}
	}
	if v, ok := m.spokenFigure(); ok {
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.7}, []Value{v})
	}
	if m.q.Kind == "measure" && !m.mark && m.has("cured") && !m.has("zero") && (m.tells() || len(m.words) > 2) {
		return Reply{Intent: IntentNewInfo, Confidence: 0.7}
	}
	for _, try := range []func() (Reply, bool){
		m.surely,
		m.yesNoAsked,
		func() (Reply, bool) { return m.plain("newinfo") },
		m.chosen,
		func() (Reply, bool) { return m.plain("undecided", "blocked", "lacks", "cannot") },
		m.stuck,
		func() (Reply, bool) { return m.plain("unsure") },
		m.done,
		m.reassures,
		m.yesOrNo,
		func() (Reply, bool) { return m.plain("stop") },
	} {
		if r, ok := try(); ok {
			return r
		}
	}
	switch {
	case len(values) > 0 && m.q.Kind == "talk" && len(m.q.Options) == 0, m.q.Kind == "measure" && m.onlyFigures(values):
		return m.reading(Reply{Intent: IntentReading, Confidence: 0.6}, values)
	case m.mark && len(m.words) > 1:
		return Reply{Intent: IntentHow, Confidence: 0.5}
	}
	if r, ok := m.likened(); ok {
		return r
	}
	if m.tells() {
		return Reply{Intent: IntentNewInfo, Confidence: 0.4}
	}
	return Reply{Intent: IntentOther, Confidence: 0.4}
}
