package conversation

import (
	"slices"
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/rules"
)

func itoa(n int) string { return strconv.Itoa(n) }

// When the belief in "something these rules do not know" passes this, with so
// many answers in, going on would only wear the owner out.
const (
	unexplainedFrom = 0.6
	unexplainedAt   = 3
)

// twinShare: a twin this likely, measured against its stronger sibling, is
// named beside it.
const twinShare = 0.25

// decide puts the next question, names a remedy, or hands over.
func (t *step) decide() error {
	if t.st.Phase.Ended() && t.st.Phase != Done {
		return nil
	}
	if !t.anythingKnown() {
		if t.st.Misses > 0 {
			t.say("not-understood")
		}
		t.ask(&PendingAsk{Kind: AskComplaint}, t.e.sentence("tell-more"))
		if list := t.examples(); t.st.Misses > 0 && len(list) > 0 {
			t.say("tell-like", "list", strings.Join(list, "; "))
		}
		return nil
	}
	if t.st.Kit == "" {
		if kits := t.e.kb.Kits; len(kits) == 1 {
			t.emit(Event{Kind: KitKnown, ID: kits[0].ID})
		} else {
			t.askKit()
			return nil
		}
	}
	for a := t.unaskedFigure(); a != nil; a = t.unaskedFigure() {
		v, told := t.figureTold(a)
		if !told {
			t.askFigure(a)
			return nil
		}
		t.emit(Event{Kind: FigureKnown, ID: a.Figure, Value: v})
		t.say("figure-told", "value", t.e.format(Measured{Value: v, Unit: a.Unit, Decimals: -1}))
	}
	if t.again != nil {
		t.askCheck(t.again, true)
		return nil
	}
	a, err := t.assess()
	if err != nil {
		return err
	}
	for _, id := range a.Odd {
		return t.odd(id)
	}
	if a.Belief.Unlisted() > unexplainedFrom && len(t.st.Answers) >= unexplainedAt {
		t.handOver(ReasonUnexplained)
		return nil
	}
	return t.next(a)
}

func (t *step) next(a *Assessment) error {
	c := a.Belief.Next(a.Situation)
	switch {
	case c.Check != nil:
		t.askCheck(c.Check, false)
	case c.Remedy != nil:
		if t.twinned(a, c.Remedy) {
			t.handOver(ReasonTwins)
			return nil
		}
		t.name(a, c)
	case c.Fine:
		t.say("fine")
		t.emit(Event{Kind: Closed, ID: ReasonFine})
	case a.Belief.Unlisted() > 0.5, t.allWell(a):
		t.handOver(ReasonUnexplained)
	case len(c.Twins) > 0 || t.twinsLead(a):
		t.handOver(ReasonTwins)
	case c.Left > 0:
		t.handOver(ReasonLittleGain)
	default:
		t.handOver(ReasonNoCheck)
	}
	return nil
}

// allWell says whether all that was looked at and measured is as it should be,
// some of it measured, and no cause stands out: nothing found explains the
// fault. A try shows the fault itself and so is no finding.
func (t *step) allWell(a *Assessment) bool {
	n := 0
	for _, ev := range a.Evidence {
		if ev.Answer == nil || ev.Observation.Check.Kind == "try" {
			continue
		}
		if !ev.Observation.Healthy[ev.Observation.Outcome(ev.Outcome)] {
			return false
		}
		if ev.Answer.Reading != nil {
			n++
		}
	}
	left := len(t.st.Cannot) + len(t.st.Lacking) // what could not be done may still explain it
	return n >= unexplainedAt && left == 0 && len(a.Belief.Suspects(standsOut)) == 0
}

// standsOut is the probability from which a suspect explains a fault better than
// all others together.
const standsOut = 0.5

// mostExamples is how many complaints are named to one whose words were not understood.
const mostExamples = 4

// examples are complaints as people may put them: the first of each family.
func (t *step) examples() []string {
	var list, families []string
	for _, s := range t.e.kb.Symptoms {
		if s.Danger == "" && t.trouble(s) && !slices.Contains(families, s.Family) && len(list) < mostExamples {
			list, families = append(list, s.Say), append(families, s.Family)
		}
	}
	return list
}

// anythingKnown says whether there is something to hunt for: that the display is
// normal, or that it rained, is no complaint. Where asking for one brings none, it
// has to do.
func (t *step) anythingKnown() bool {
	if len(t.st.Answers) > 0 {
		return true
	}
	for id, s := range t.st.Symptoms {
		if k := t.e.kb.Symptom(id); s.Present && k != nil && (t.trouble(k) || len(t.st.Complaint) > 1) {
			return true
		}
	}
	return false
}

func (t *step) unaskedFigure() *kb.Ask {
	kit := t.e.kb.Kit(t.st.Kit)
	if kit == nil {
		return nil
	}
	for i, a := range kit.Ask {
		if _, known := t.st.Figures[a.Figure]; !known {
			return &kit.Ask[i]
		}
	}
	return nil
}

// odd asks an impossible figure once more; if it stands, a person takes over.
func (t *step) odd(id string) error {
	c := t.e.kb.Check(id)
	ans, _ := t.st.Answer(id)
	value := t.e.format(*ans.Reading)
	if t.st.OddAsked[id] {
		t.say("odd-stands", "value", value)
		t.handOver(ReasonOdd)
		return nil
	}
	m, err := t.e.modelOf(t.st)
	if err != nil {
		return err
	}
	j, err := m.Scope().With(t.e.known(m, t.st)).Judge(c, ans.Reading.Reading())
	if err != nil {
		return err
	}
	reason := j.OddReason
	if reason == "" {
		t.say("odd-plain", "value", value)
	} else {
		t.say("odd", "value", value, "reason", reason)
	}
	t.emit(Event{Kind: OddAsked, ID: id})
	t.askCheck(c, true)
	return nil
}

// twinned says whether a remedy stands on a cause that no check parts from
// another with a different remedy.
func (t *step) twinned(a *Assessment, r *kb.Remedy) bool {
	p := a.Belief.Causes()
	for i, c := range a.Model.Causes {
		if c.Remedy != r.ID {
			continue
		}
		for _, tw := range t.e.twinsOf(c) {
			j := a.Model.Cause(tw.Cause)
			if j >= 0 && a.Model.Causes[j].Remedy != r.ID && p[i] > 0.1 && p[j] > twinShare*p[i] {
				return true
			}
		}
	}
	return false
}

// twinsLead says whether the two strongest suspects are twins.
func (t *step) twinsLead(a *Assessment) bool {
	list := a.Belief.Suspects(0.1)
	if len(list) < 2 {
		return false
	}
	for _, tw := range t.e.twinsOf(list[0].Causes[0]) {
		if tw.Cause == list[1].Causes[0].ID {
			return true
		}
	}
	return false
}

// twinWords names a leading suspect with its twins, and what parts them.
func (t *step) twinWords(list []rules.Suspect) (causes, parted string) {
	first := list[0].Causes[0]
	names := []string{first.Name}
	for _, tw := range t.e.twinsOf(first) {
		for _, s := range list {
			if s.Causes[0].ID == tw.Cause && !slices.Contains(names, s.Causes[0].Name) {
				names = append(names, s.Causes[0].Name)
				if parted == "" && tw.PartedBy != "" {
					parted = t.e.sentence("parted-by", "text", tw.PartedBy)
				}
			}
		}
	}
	return strings.Join(names, " "+t.e.words.say("or")+" "), parted
}

// A hand-over names up to mostNamed suspects that are nearly as likely as the
// first; one that is not likely is worth no word to the owner.
const (
	mostNamed   = 3
	nearlyShare = 0.4
	worthAWord  = 0.15
)

// leftWords names what a person takes over: the first suspects, as far as they
// are nearly equal. A cause that has the same remedy as one already named says
// nothing new.
func leftWords(list []rules.Suspect) string {
	var names, remedies []string
	for _, s := range list {
		c := s.Causes[0]
		if s.Probability < worthAWord || s.Probability < nearlyShare*list[0].Probability || len(names) == mostNamed {
			break
		}
		if !slices.Contains(remedies, c.Remedy) {
			names, remedies = append(names, c.Name), append(remedies, c.Remedy)
		}
	}
	return strings.Join(names, " or ")
}

// name says the remedy and how to see that it worked.
func (t *step) name(a *Assessment, c rules.Choice) {
	r := c.Remedy
	cause := t.causeFor(a, r)
	pair := a.Belief.Suspects(0.1)
	switch {
	case len(pair) > 0 && len(pair[0].Causes) > 1:
		names := []string{pair[0].Causes[0].Name, pair[0].Causes[1].Name}
		t.say("named-pair", "cause", t.e.joinAnd(names), "percent", percent(pair[0].Probability), "remedy", r.Name)
	case c.Chance < t.e.kb.About.Cost.Sure:
		t.say("named-try", "remedy", r.Name, "cause", cause, "percent", percent(c.Chance))
	default:
		t.say("named", "cause", cause, "percent", percent(min(c.Chance, 0.99)))
	}
	t.warnDue(r.Cautions)
	t.emit(Event{Kind: Named, ID: r.ID, Sure: c.Chance})
	t.sayRemedy(r)
}

// sayRemedy says how a remedy is carried out, the caution before the hand moves.
func (t *step) sayRemedy(r *kb.Remedy) {
	t.warnDue(r.Cautions)
	t.say("what-to-do", "remedy", r.Name)
	for i, s := range r.Steps {
		t.say("step", "n", itoa(i+1), "text", s)
	}
	if r.By != "" && r.By != "owner" {
		t.say("named-by", "by", t.e.words.say("by-"+r.By))
	}
	t.sayCured(r)
}

func (t *step) sayCured(r *kb.Remedy) {
	if r.Verify != "" {
		t.say("verify", "text", t.e.lowerFirst(r.Verify))
	}
	t.ask(&PendingAsk{Kind: AskCured, ID: r.ID}, t.e.sentence("ask-cured"))
}

// causeFor is the likeliest cause that a remedy mends, with the others nearly as
// likely that it mends too: all are said rather than one guessed.
func (t *step) causeFor(a *Assessment, r *kb.Remedy) string {
	p := a.Belief.Causes()
	best := -1
	for i, c := range a.Model.Causes {
		if c.Remedy == r.ID && (best < 0 || p[i] > p[best]) {
			best = i
		}
	}
	if best < 0 {
		return r.Name
	}
	names := []string{a.Model.Causes[best].Name}
	for j, c := range a.Model.Causes {
		if j != best && c.Remedy == r.ID && p[j] > twinShare*p[best] {
			names = append(names, c.Name)
		}
	}
	return strings.Join(names, ", "+t.e.words.say("or")+" ")
}
