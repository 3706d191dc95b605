package conversation

import (
	"slices"
	"strings"
	"time"

	"triagebot/kb"
)

// step is the work of one turn on a state of its own.
type step struct {
	e        *Engine
	st       *State
	now      time.Time
	events   []Event
	lines    []string
	cautions []string
	intent   Intent
	heard    Heard
	taken    []takenReading
	// afterRemedy: the message answers whether a remedy helped.
	afterRemedy bool
	kitAnswer   string    // what was said to the question for the kit
	overturns   bool      // the message takes back what was said before
	back        bool      // the talk had been laid aside
	noted       bool      // nothing was said but that it was passed on
	again       *kb.Check // to be asked once more before anything else
	assessed    *Assessment
}

func (t *step) emit(e Event) {
	e.Time = t.now
	t.events = append(t.events, e)
	t.st.Apply(e)
	switch e.Kind {
	case KitKnown, FigureKnown, Noticed, Read, Seen, CannotDo, ToolLacking, ToolAtHand, Opened, Remedied:
		t.assessed = nil
	}
}

func (t *step) say(name string, pairs ...string) {
	for line := range strings.SplitSeq(t.e.sentence(name, pairs...), "\n") {
		t.lines = append(t.lines, line)
	}
}

func (t *step) assess() (*Assessment, error) {
	if t.assessed != nil {
		return t.assessed, nil
	}
	a, err := t.e.Assess(t.st)
	t.assessed = a
	return a, err
}

// offered is the confidence of a reply that repeats an offered answer.
const offered = 0.95

// run answers one message. The order is the order of importance: danger, then
// what the owner wants of the talk, then what the message says.
func (t *step) run(msg string) error {
	if msg == "" {
		t.say("nothing-heard")
		return t.repeat()
	}
	t.heard = t.e.matcher.Match(msg)
	reply := t.e.reader.Read(t.e.question(t.st), msg)
	if p := t.st.Pending; p == nil || p.Kind == AskComplaint {
		if answers(reply.Intent) || t.tells() && (asks(reply.Intent) || reply.Plea) {
			reply.Intent = IntentNewInfo // nothing was asked that it could answer or ask about
		}
	}
	t.intent = reply.Intent
	t.afterRemedy = t.st.Pending != nil && t.st.Pending.Kind == AskCured
	if reply.Intent == IntentChoice && reply.Confidence >= offered {
		// What so plainly repeats an offered answer is an answer and nothing more;
		// a danger is dropped only where nothing else was said.
		t.heard.Symptoms, t.heard.Seen = nil, nil
		if t.verbatim(msg) {
			t.heard.Danger = nil
		}
	}
	if len(t.heard.Danger) > 0 || reply.Intent == IntentDanger {
		t.danger()
		return nil
	}
	if t.st.Phase.Ended() {
		if p := t.st.Pending; p != nil && p.Person {
			return t.answerPerson(reply, msg)
		}
		return t.afterEnd(reply)
	}
	if t.back && reply.Intent != IntentStop {
		t.say("go-on")
	}
	if done, err := t.beside(reply); done || err != nil {
		return err
	}
	switch reply.Intent {
	case IntentPerson:
		t.notice(reply)
		t.handOver(ReasonPerson)
		return nil
	case IntentStop:
		t.emit(Event{Kind: Closed, ID: ReasonLeft})
		t.say("stopped")
		return nil
	case IntentWhy:
		return t.why()
	case IntentHow:
		return t.how()
	case IntentRepeat:
		return t.repeat()
	}
	done, err := t.take(reply, msg)
	if done || err != nil {
		return err
	}
	return t.decide()
}

// verbatim says whether a message is nothing but an offered answer.
func (t *step) verbatim(msg string) bool {
	said := strings.Trim(msg, " .,!")
	same := func(s string) bool { return strings.EqualFold(said, strings.Trim(s, " .,!")) }
	for _, o := range t.e.question(t.st).Options {
		if same(o.Label) || slices.ContainsFunc(o.Phrases, same) {
			return true
		}
	}
	return false
}

// tells says whether a message holds anything about the bike.
func (t *step) tells() bool {
	return t.heard.Kit != "" || len(t.heard.Symptoms) > 0 || len(t.heard.Readings) > 0
}

// danger stops the measuring at once. What was said stays in the case.
func (t *step) danger() {
	ids := t.heard.Danger
	if len(ids) == 0 {
		ids = []string{""}
	}
	for _, id := range ids {
		if s := t.e.kb.Symptom(id); s != nil {
			t.emit(Event{Kind: Noticed, ID: id, Yes: true, Sure: 0.95})
			t.say("danger", "symptom", s.Say)
		}
		t.emit(Event{Kind: Danger, ID: id})
	}
	t.warnOf(ids)
	for _, s := range t.heard.Symptoms {
		if t.e.kb.Symptom(s.ID) != nil && !slices.Contains(ids, s.ID) {
			t.emit(Event{Kind: Noticed, ID: s.ID, Yes: s.Present, Sure: s.Confidence})
		}
	}
	t.say("danger-person")
}

// warnOf says what to do about dangers.
func (t *step) warnOf(dangers []string) {
	for _, id := range dangers {
		if s := t.e.kb.Symptom(id); s != nil {
			t.warn(s.Danger)
		} else {
			t.warnDanger()
		}
	}
}

// warnDanger says the first caution made for danger, when no rule names a
// better one.
func (t *step) warnDanger() {
	for _, c := range t.e.kb.Cautions {
		if c.Danger {
			t.warn(c.ID)
			return
		}
	}
}

// warn says a caution, once a turn.
func (t *step) warn(id string) {
	c := t.e.kb.Caution(id)
	if c == nil || slices.Contains(t.cautions, id) {
		return
	}
	t.cautions = append(t.cautions, id)
	for _, line := range c.Text {
		t.say("caution", "text", line)
	}
	t.emit(Event{Kind: Warned, ID: id})
}

// afterEnd keeps listening once a person has the case: what comes in is added.
func (t *step) afterEnd(reply Reply) error {
	if reply.Thanks {
		t.say("welcome")
		return nil
	}
	if t.st.Phase == Done && (t.newTrouble() || reply.Intent == IntentNo) {
		// The fault came back, or a new one showed: the hunt goes on with all
		// that is known.
		t.notice(reply)
		return t.decide()
	}
	t.notice(reply)
	switch t.st.Phase {
	case Stopped:
		t.noted = len(t.lines) == 0
		t.warnOf(t.st.Dangers)
		t.say("after-danger")
	case Over:
		switch {
		case reply.Intent == IntentPerson:
			t.say("after-person")
		case reply.Intent == IntentStop:
			t.say("after-stop")
		case asks(reply.Intent) && reply.Intent != IntentBack:
			t.sayHandOver(t.st.Reason)
		default:
			t.noted = len(t.lines) == 0
			t.say("after-hand-over")
		}
	case Done:
		if reply.Intent == IntentPerson {
			t.handOver(ReasonPerson)
			return nil
		}
		t.say("after-cured")
	}
	return nil
}

// newTrouble says whether a message tells of a fault, and not only of what was
// round about it.
func (t *step) newTrouble() bool {
	return slices.ContainsFunc(t.heard.Symptoms, func(h HeardSymptom) bool {
		s := t.e.kb.Symptom(h.ID)
		return s != nil && h.Present && h.Confidence >= firmBeside && s.Family != "history"
	})
}

// take enters what the message says. done means that the turn is answered.
func (t *step) take(reply Reply, msg string) (done bool, err error) {
	if reply.Waits && !t.tells() {
		t.emit(Event{Kind: Understood})
		t.say("take-time")
		if t.afterRemedy {
			t.say("ask-cured")
		}
		return true, nil
	}
	before := len(t.events)
	if t.tools() && reply.Intent == IntentCannot && !t.pendingNeedsLacking() {
		// The tool is not needed for what was asked: that question stands.
		return true, t.repeat()
	}
	t.kit()
	done, err = t.answer(reply, msg)
	if done || err != nil {
		return done, err
	}
	t.readings(reply)
	t.sights(msg)
	t.notice(reply)
	if n := len(t.events); n > before {
		if n == before+1 && t.events[before].Kind == ToolAtHand {
			t.say("has-tool")
		}
		t.emit(Event{Kind: Understood})
		return false, nil
	}
	if t.st.Pending == nil && t.st.Kit != "" && len(t.st.Symptoms) > 0 {
		return false, nil
	}
	return t.nothingUnderstood()
}

// nothingUnderstood asks back; after three times in a row a person takes over.
func (t *step) nothingUnderstood() (bool, error) {
	if len(t.heard.Unclear) > 1 {
		t.which(t.heard.Unclear)
		return true, nil
	}
	opening := t.st.Phase == Opening
	if t.heard.Offtopic {
		if opening {
			t.say("not-ours")
			t.emit(Event{Kind: Asked, Question: &PendingAsk{Kind: AskComplaint}})
			return true, nil
		}
		t.say("still-not-ours")
		return true, t.repeat()
	}
	if t.heard.Kit != "" && opening {
		return false, nil
	}
	t.emit(Event{Kind: Missed})
	if t.st.Misses >= 3 {
		t.handOver(ReasonMisunderstood)
		return true, nil
	}
	if t.st.Pending != nil && t.st.Pending.Kind != AskComplaint {
		t.say("not-understood")
		return true, t.repeat()
	}
	return false, nil
}

// tools notes what the owner has or lacks; said means that something was lacking.
func (t *step) tools() (said bool) {
	for _, tool := range t.heard.Tools {
		switch {
		case tool.Has && !t.st.AtHand[tool.ID]:
			t.emit(Event{Kind: ToolAtHand, ID: tool.ID})
		case !tool.Has && !t.st.Lacking[tool.ID]:
			t.emit(Event{Kind: ToolLacking, ID: tool.ID})
			t.say("no-tool", "tool", t.toolName(tool.ID))
			said = true
		}
	}
	return said
}

// pendingNeedsLacking says whether the pending check needs a tool that the
// owner lacks.
func (t *step) pendingNeedsLacking() bool {
	p := t.st.Pending
	if p == nil || p.Kind != AskCheck {
		return true
	}
	c := t.e.kb.Check(p.ID)
	return slices.ContainsFunc(c.Tools, func(tool string) bool { return t.st.Lacking[tool] })
}

func (t *step) toolName(id string) string {
	if id == "meter" {
		return t.e.words.say("tool-meter")
	}
	return "a " + strings.ReplaceAll(id, "-", " ")
}

func (t *step) kit() {
	if k := t.e.kb.Kit(t.heard.Kit); k != nil && t.st.Kit != k.ID {
		t.emit(Event{Kind: KitKnown, ID: k.ID})
		t.say("understood-kit", "kit", k.Name)
	}
}

// firmEnough is the confidence from which a symptom is taken from a message;
// in a message that answers something else, words are easily misread.
const (
	firmEnough = 0.5
	firmBeside = 0.8
)

// notice takes over the symptoms a message speaks of.
func (t *step) notice(reply Reply) {
	least := firmEnough
	if answers(reply.Intent) {
		least = firmBeside
	}
	var said []string
	for _, h := range t.heard.Symptoms {
		s := t.e.kb.Symptom(h.ID)
		if s == nil || h.Confidence < least {
			continue
		}
		old, known := t.st.Symptoms[h.ID]
		// An answer to a check does not overturn what was said before; what is
		// said of the bike after a remedy does.
		if known && (old.Present == h.Present || answers(reply.Intent) && !t.afterRemedy && !t.overturns) {
			continue
		}
		t.emit(Event{Kind: Noticed, ID: h.ID, Yes: h.Present, Sure: h.Confidence})
		if h.Present {
			said = append(said, s.Say)
		} else if s.Denied != "" && !t.followsFromPresent(h.ID) {
			said = append(said, s.Denied)
		}
	}
	if len(said) > 0 {
		t.say("understood", "list", strings.Join(said, "; "))
	}
}

// followsFromPresent says whether a symptom's absence follows from one that is
// said to be there: repeating it would say the same twice.
func (t *step) followsFromPresent(id string) bool {
	for _, h := range t.heard.Symptoms {
		if s := t.e.kb.Symptom(h.ID); h.Present && s != nil && slices.Contains(s.Excludes, id) {
			return true
		}
	}
	return false
}

// answers says whether an intent is an answer to the pending question.
func answers(i Intent) bool {
	switch i {
	case IntentReading, IntentChoice, IntentYes, IntentNo, IntentDone, IntentCannot, IntentUnsure:
		return true
	}
	return false
}

// asks says whether an intent is a question of the owner's about what was asked.
func asks(i Intent) bool {
	switch i {
	case IntentWhy, IntentHow, IntentRepeat, IntentBack:
		return true
	}
	return false
}

func (t *step) handOver(reason string) {
	if t.st.Phase == Over {
		return
	}
	t.sayHandOver(reason)
	t.emit(Event{Kind: HandedOver, ID: reason})
	t.say("hand-over-kept")
}

// sayHandOver says why a person takes over.
func (t *step) sayHandOver(reason string) {
	parted, causes, cause := "", "", ""
	if a, err := t.assess(); err == nil {
		list := a.Belief.Suspects(0.1)
		if len(list) > 0 {
			cause = list[0].Causes[0].Name
		}
		if reason == ReasonTwins && len(list) > 0 {
			causes, parted = t.twinWords(list)
		}
	}
	t.say("hand-over-"+reason, "causes", causes, "parted", parted, "cause", cause)
}
