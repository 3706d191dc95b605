package conversation

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/reading"
)

// takenReading is a figure entered in this turn.
type takenReading struct {
	check string
	value Measured
}

// question is what is pending, as the reply reader needs it.
func (e *Engine) question(st *State) Question {
	p := st.Pending
	if p == nil {
		return Question{}
	}
	q := Question{Check: p.ID, Kind: "talk", Asked: ""}
	switch p.Kind {
	case AskCheck:
		c := e.kb.Check(p.ID)
		if c == nil {
			return Question{}
		}
		q := e.reader.QuestionFor(c, "", "", nil)
		on := c.OptionsOn(e.kb.Kit(st.Kit))
		q.Options = slices.DeleteFunc(q.Options, func(o Choice) bool {
			return !slices.ContainsFunc(on, func(x kb.Option) bool { return x.ID == o.ID })
		})
		return q
	case AskFigure:
		if a := e.figure(st, p.ID); a != nil {
			q.Kind, q.Unit, q.Asked = "measure", a.Unit, a.Question
		}
	case AskCured:
		q.Kind, q.Asked = "yesno", e.sentence("ask-cured")
		for _, o := range e.curedOptions(p.ID) {
			q.Options = append(q.Options, Choice{ID: o.ID, Label: o.Label})
		}
	case AskKit, AskWhich:
		for _, o := range e.options(st, p) {
			q.Options = append(q.Options, Choice{ID: o.ID, Label: o.Label, Phrases: o.phrases})
		}
	}
	return q
}

func (e *Engine) figure(st *State, name string) *kb.Ask {
	kit := e.kb.Kit(st.Kit)
	if kit == nil {
		return nil
	}
	for i := range kit.Ask {
		if kit.Ask[i].Figure == name {
			return &kit.Ask[i]
		}
	}
	return nil
}

// answer enters a reply to the pending question. done means that the turn has
// been answered, as by asking the same again.
func (t *step) answer(reply Reply, msg string) (done bool, err error) {
	p := t.st.Pending
	if reply.Intent == IntentBack {
		return t.correct(reply, msg)
	}
	if p == nil {
		return false, nil
	}
	switch p.Kind {
	case AskCheck:
		return t.answerCheck(p, reply, msg)
	case AskKit:
		return false, t.answerKit(reply, msg)
	case AskFigure:
		return t.answerFigure(p, reply)
	case AskCured:
		return t.answerCured(p, reply)
	case AskWhich:
		t.answerWhich(reply)
	}
	return false, nil
}

// plainEnough is the confidence below which a choice is asked for again, with
// the answers listed, rather than taken.
const plainEnough = 0.7

// takenRight is the share of the choices taken that are the ones meant: at least
// that many of the phrases of the knowledge base, each read with itself taken out.
const takenRight = 0.95

func (t *step) answerCheck(p *PendingAsk, reply Reply, msg string) (bool, error) {
	c := t.e.kb.Check(p.ID)
	switch reply.Intent {
	case IntentReading:
		if reply.Misplaced {
			t.say("misplaced")
			return true, t.repeat()
		}
		if reply.WrongUnit {
			t.say("wrong-unit", "got", unitOf(reply.Values), "want", c.Unit)
			return true, t.repeat()
		}
		t.opened(c)
		return false, t.enter(c, reply, msg)
	case IntentChoice:
		if reply.Confidence < plainEnough {
			return t.askPlainly(c)
		}
		t.opened(c)
		t.choose(c, reply.Choice, max(reply.Confidence, takenRight), msg)
	case IntentYes, IntentNo:
		if reply.Choice != "" {
			t.choose(c, reply.Choice, max(reply.Confidence, takenRight), msg)
			return false, nil
		}
		return t.askPlainly(c)
	case IntentDone:
		t.opened(c)
		if c.Kind == "measure" {
			t.say("need-figure")
		} else {
			t.say("need-choice")
			t.sayOptions(c)
		}
		return true, nil
	case IntentCannot:
		t.cannot(c, msg)
	case IntentUnsure:
		if t.st.Misses > 0 || len(c.How) == 0 {
			t.cannot(c, msg)
			return false, nil
		}
		t.emit(Event{Kind: Missed})
		return true, t.how()
	}
	return false, nil
}

// askPlainly lists the answers after a reply that fits none of them well.
func (t *step) askPlainly(c *kb.Check) (bool, error) {
	t.emit(Event{Kind: Missed})
	if t.st.Misses >= 3 {
		t.handOver(ReasonMisunderstood)
		return true, nil
	}
	if c.Kind == "measure" {
		t.say("need-figure")
	} else {
		t.say("need-choice")
		t.sayOptions(c)
	}
	return true, nil
}

// cannot leaves a check out; where a tool is missing, all that need it.
func (t *step) cannot(c *kb.Check, msg string) {
	for _, tool := range t.heard.Tools {
		if !tool.Has && slices.Contains(c.Tools, tool.ID) {
			return // said already, and every check with this tool is out
		}
	}
	t.emit(Event{Kind: CannotDo, ID: c.ID, Text: msg})
	t.say("cannot-noted")
}

// opened notes what had to be opened for a check that was done: from then on
// its neighbours are cheap.
func (t *step) opened(c *kb.Check) {
	for _, id := range c.Access {
		if !t.st.Opened[id] {
			t.emit(Event{Kind: Opened, ID: id})
		}
	}
}

func (t *step) choose(c *kb.Check, option string, sure float64, msg string) {
	for _, o := range c.Options {
		if o.ID != option {
			continue
		}
		t.contradicts(c.ID, o.ID, o.Label)
		t.emit(Event{Kind: Seen, ID: c.ID, Outcome: o.ID, Sure: sure, Text: msg})
		if same, _ := t.e.kb.SameAs(o.Symptom); same == c {
			t.emit(Event{Kind: Noticed, ID: o.Symptom, Yes: true, Sure: sure})
		}
		t.say("seen", "label", o.Label, "means", t.e.lowerFirst(o.Means))
	}
}

// enter takes the figures of a reply: the one that belongs to the pending check
// and, said with their places, those of its neighbours.
func (t *step) enter(c *kb.Check, reply Reply, msg string) error {
	for i, v := range reply.Values {
		check := c
		if sibling := t.e.sibling(c, v.Place); sibling != nil {
			check = sibling
		} else if i > 0 && v.Place == "" {
			continue
		}
		if t.took(check.ID) {
			continue
		}
		if err := t.enterOne(check, v.Quantity, reply.Approx, msg); err != nil {
			return err
		}
	}
	return nil
}

func (t *step) took(check string) bool {
	return slices.ContainsFunc(t.taken, func(r takenReading) bool { return r.check == check })
}

// sibling finds the check with the same probes whose words fit the place that
// the owner gave with a figure, as in "0.8 shut, 4.1 open".
func (e *Engine) sibling(c *kb.Check, place string) *kb.Check {
	if place == "" || sharesWord(c.Side, place) {
		return nil
	}
	best, most := (*kb.Check)(nil), fits(c, place)
	for _, o := range e.kb.Checks {
		if o == c || o.Unit != c.Unit || !sameProbe(o.Red, c.Red) || !sameProbe(o.Black, c.Black) {
			continue
		}
		if n := fits(o, place); n > most {
			best, most = o, n
		}
	}
	return best
}

func sameProbe(a, b *kb.Probe) bool {
	return a != nil && b != nil && a.Plug == b.Plug && a.Pin == b.Pin && a.Place == b.Place
}

// fits counts the phrases of a check that share a word with the place.
func fits(c *kb.Check, place string) int {
	n := 0
	for _, p := range append([]string{c.Name, strings.ReplaceAll(c.ID, "-", " ")}, c.Phrases...) {
		if sharesWord(p, place) {
			n++
		}
	}
	return n
}

// sharesWord: of the words of a place one is said in a text.
func sharesWord(text, place string) bool {
	words := strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return r == ' ' || r == ',' })
	return slices.ContainsFunc(strings.Fields(strings.ToLower(place)), func(w string) bool { return slices.Contains(words, w) })
}

// enterOne takes one figure and says how it falls.
func (t *step) enterOne(c *kb.Check, q reading.Quantity, approx bool, msg string) error {
	m := measured(q, c.Unit, approx || q.Approx)
	t.taken = append(t.taken, takenReading{c.ID, m})
	t.emit(Event{Kind: Read, ID: c.ID, Reading: &m, Text: msg})
	return t.sayJudged(c, m)
}

func (t *step) sayJudged(c *kb.Check, m Measured) error {
	value := t.e.format(m)
	if t.st.Kit == "" {
		t.say("read-noted", "value", value)
		return nil
	}
	model, err := t.e.modelOf(t.st)
	if err != nil {
		return err
	}
	j, err := model.Scope().With(t.e.known(model, t.st)).Judge(c, m.Reading())
	if err != nil {
		return err
	}
	switch {
	case j.Odd: // decide speaks of it
	case j.Close && t.finer(c, m):
	case j.Close:
		t.say("read-close", "value", value)
	default:
		for _, w := range c.Windows {
			if w.ID == j.Window {
				t.say("read-good", "value", value, "means", t.e.lowerFirst(w.Means))
			}
		}
	}
	return nil
}

// finer asks once for the digits that an owner has left out, where they decide.
func (t *step) finer(c *kb.Check, m Measured) bool {
	p := t.st.Pending
	if m.Decimals != 0 || m.Overload || m.Spread > 0 || p == nil || p.ID != c.ID || p.Again || t.st.FinerAsked[c.ID] {
		return false
	}
	t.say("read-finer", "value", t.e.format(m))
	t.emit(Event{Kind: FinerAsked, ID: c.ID})
	t.again = c
	return true
}

// aboutShare is how far "about 4" may be off.
const aboutShare = 0.05

func measured(q reading.Quantity, unit string, approx bool) Measured {
	m := Measured{Value: q.Value, Unit: unit, Decimals: q.Decimals, Overload: q.Overload}
	if q.High > q.Low {
		m.Spread = (q.High - q.Low) / 2
	}
	if approx && !q.Ranged() {
		m.Spread = max(m.Spread, aboutShare*abs(q.Value))
	}
	return m
}

func abs(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

// FormatValue writes a reading as number and unit.
func FormatValue(m Measured) string {
	if m.Overload {
		return "overload"
	}
	places := m.Decimals
	if places < 0 || m.Spread > 0 {
		places = -1 // the middle of a range is no figure that was read
	}
	return strconv.FormatFloat(m.Value, 'f', places, 64) + " " + m.Unit
}

func unitOf(values []Value) string {
	for _, v := range values {
		if v.Unit != "" {
			return v.Unit
		}
	}
	return "?"
}

// readings takes figures that a message gives for other checks than the pending one.
func (t *step) readings(reply Reply) {
	for _, r := range t.heard.Readings {
		c := t.e.kb.Check(r.Check)
		if c == nil || len(c.Windows) == 0 || t.took(c.ID) || t.tookFigure(r.Quantity) {
			continue
		}
		if r.Quantity.Unit != "" && r.Quantity.Unit != c.Unit && !r.Quantity.Overload {
			continue
		}
		// An error here is a fault of the rules; decide meets it again and says so.
		_ = t.enterOne(c, r.Quantity, false, t.st.Transcript[len(t.st.Transcript)-1].Text)
	}
}

// sights takes what the owner told in passing that a look or a try would show.
func (t *step) sights(msg string) {
	for _, h := range t.heard.Seen {
		c := t.e.kb.Check(h.Check)
		answered := slices.ContainsFunc(t.events, func(e Event) bool { return e.Kind == Seen && e.ID == h.Check })
		if c == nil || answered || h.Confidence < firmBeside {
			continue
		}
		t.choose(c, h.Option, h.Confidence, msg)
	}
}

// tookFigure says whether this very figure was entered already for the pending
// check: the same number must not count for two.
func (t *step) tookFigure(q reading.Quantity) bool {
	return slices.ContainsFunc(t.taken, func(r takenReading) bool {
		return r.value.Value == q.Value && r.value.Overload == q.Overload
	})
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'A' && s[1] <= 'Z' {
		return s // an abbreviation
	}
	if strings.HasPrefix(s, "I ") {
		return s
	}
	for i, r := range s {
		return strings.ToLower(string(r)) + s[i+len(string(r)):]
	}
	return s
}

func percent(p float64) string { return fmt.Sprintf("%.0f", 100*p) }
