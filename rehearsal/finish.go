package rehearsal

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// finish decides the outcome once the talk is over.
func (t *talking) finish() {
	found := t.settled
	t.settle()
	t.Misread = t.o.misread
	if t.end == conversation.ReasonDanger && len(t.DangerTold) > 0 && len(t.WrongNamed) == 0 {
		t.Outcome, t.How = Stopped, strings.Join(t.DangerTold, ", ")
		return
	}
	if len(t.WrongNamed) > 0 {
		t.Outcome, t.How = Wrong, strings.Join(t.WrongNamed, ", ")
		return
	}
	faulty := len(t.Causes) > 0
	switch {
	case found && faulty:
		t.Outcome = Right
	case t.end == string(Endless):
		t.Outcome, t.How = Endless, "no end"
	case t.end == conversation.ReasonFine:
		t.How = "told that nothing is wrong"
		if t.Outcome = Wrong; !faulty || slices.Equal(t.Causes, []string{meterMisused}) {
			t.Outcome = Right
		}
	case t.end == conversation.ReasonCured && slices.Equal(t.Causes, []string{meterMisused}):
		t.Outcome, t.How = Handed, "content, with the meter still wrong"
	case t.end == conversation.ReasonCured:
		// A bike with nothing wrong and a cheap try: nobody lost a part.
		t.Outcome, t.How = Right, "content after a try"
	case t.end == conversation.ReasonDanger:
		t.Outcome, t.How = Handed, "stopped for a danger nobody told of"
	case slices.Contains(namesWhatIsLeft, t.end) && t.namesCause():
		t.Outcome, t.How = Both, t.end
	default:
		t.Outcome, t.How = Handed, t.end
		if t.Sort == Unknown {
			t.Outcome = Right // a person gets what no list knows
		}
	}
}

// namesWhatIsLeft are the reasons of a hand-over that names the few causes left.
var namesWhatIsLeft = []string{conversation.ReasonTwins, conversation.ReasonLittleGain, conversation.ReasonNoCheck}

// namesCause says whether the bot's last words name the cause.
func (t *talking) namesCause() bool {
	from := len(t.Lines)
	for from > 0 && !t.Lines[from-1].Owner {
		from--
	}
	for _, l := range t.Lines[from:] {
		for _, id := range t.Causes {
			if c := t.r.kb.Cause(id); c != nil && strings.Contains(strings.ToLower(l.Text), strings.ToLower(c.Name)) {
				return true
			}
		}
	}
	return false
}

// allButImpossible is the likelihood below which what a bike showed is counted
// as a difference between rules and bench.
const allButImpossible = 0.06

// explain says what most likely kept a talk from its right end.
func (t *talking) explain() error {
	a, err := t.r.engine.Assess(t.st)
	if err != nil {
		return err
	}
	t.Suspects = suspects(a)
	if t.Sort == Single {
		t.Unlikely = unlikely(a, t.Causes[0])
	}
	if t.Outcome == Right || t.Outcome == Stopped || t.Outcome == Both && t.Apart {
		return nil
	}
	switch {
	case t.Misread > 0:
		t.Reason = "owner: misread an answer and left it so"
	case len(t.Misheard) > 0:
		t.Reason = "language: answer misheard at " + upToColon(t.Misheard[0])
	case len(t.Invented) > 0:
		t.Reason = "language: heard " + t.Invented[0]
	case len(t.Missed) > 0 && len(t.Missed) == len(t.o.told) || t.end == conversation.ReasonMisunderstood:
		t.Reason = "language: complaint not understood"
		if len(t.Missed) > 0 {
			t.Reason += ", " + t.Missed[0]
		}
	case t.end == conversation.ReasonDanger:
		t.Reason = "language: heard a danger"
	case len(t.Unlikely) > 0:
		t.Reason = "rules and bench differ at " + t.Unlikely[0]
	case len(t.NotHeard) > 0:
		t.Reason = "language: answer not understood at " + upToColon(t.NotHeard[0])
	case t.Apart:
		t.Reason = "twins: not named together with " + strings.Join(t.Rivals, ", ")
	case t.Outcome == Wrong:
		t.Reason = "rules: named too early"
	case t.Sort == Single && leads(a, t.Causes[0]):
		t.Reason = fmt.Sprintf("rules: handed over, %s, although the cause led", t.end)
	default:
		t.Reason = fmt.Sprintf("rules: handed over, %s", t.end)
	}
	return nil
}

// leastSuspected is the probability from which a suspect is worth a word.
const leastSuspected = 0.05

// suspects are what the rules held for likely, strongest first, and how likely
// something they do not know.
func suspects(a *conversation.Assessment) []string {
	var out []string
	for _, s := range a.Belief.Suspects(leastSuspected) {
		var ids []string
		for _, c := range s.Causes {
			ids = append(ids, c.ID)
		}
		out = append(out, fmt.Sprintf("%s %.0f %%", strings.Join(ids, "+"), 100*s.Probability))
	}
	if p := a.Belief.Unlisted(); p >= leastSuspected {
		out = append(out, fmt.Sprintf("unlisted %.0f %%", 100*p))
	}
	return out
}

// leads says whether a cause is the strongest suspect.
func leads(a *conversation.Assessment, cause string) bool {
	list := a.Belief.Suspects(leastSuspected)
	return len(list) > 0 && slices.ContainsFunc(list[0].Causes, func(c *kb.Cause) bool { return c.ID == cause })
}

func upToColon(s string) string {
	before, _, _ := strings.Cut(s, ":")
	return before
}

// unlikely lists what was seen that the rules hold for all but impossible with
// a cause alone.
func unlikely(a *conversation.Assessment, cause string) []string {
	i := a.Model.Cause(cause)
	if i < 0 {
		return nil
	}
	var out []string
	for _, ev := range a.Evidence {
		obs := a.Model.Index(ev.Observation.ID)
		o := ev.Observation.Outcome(ev.Outcome)
		if obs < 0 || o < 0 || ev.Round > 0 {
			continue // after a remedy the bike is another one
		}
		if a.Model.Likelihood(obs, o, i) < allButImpossible {
			out = append(out, ev.Observation.ID+"="+ev.Outcome)
		}
	}
	return out
}

// A check parts two causes when their answers differ in at least a quarter of the
// bikes: less is a hint. Causes that the knowledge base declares to be twins are
// parted only by one whose answers differ more often than not.
const (
	partsOthers = 0.25
	partsTwins  = 0.5
)

// rivals are the causes with another remedy that fit what the owner told and
// that the checks this owner can do do not part from the case's cause.
func rivals(m *rules.Model, o *owner) []string {
	i := likeliestForm(m, o)
	if i < 0 {
		return nil
	}
	var can []int
	for at, obs := range m.Obs {
		if obs.Check != nil && !o.hindered(obs.Check.ID) {
			can = append(can, at)
		}
	}
	sure := o.kb.About.Cost.Sure
	var out []string
	for j, c := range m.Causes {
		if c.Remedy == m.Causes[i].Remedy || slices.Contains(out, c.ID) || !plausible(m, o, i, j) {
			continue
		}
		if !parted(m, can, i, j, sure) {
			out = append(out, c.ID)
		}
	}
	return out
}

// likeliestForm is the case's cause in the form that goes best with what the
// owner told; -1 where the kit does not have it.
func likeliestForm(m *rules.Model, o *owner) int {
	best, most := -1, 0.0
	for i, c := range m.Causes {
		if w := weightTold(m, o, i); c.ID == o.c.Causes[0] && (best < 0 || w > most) {
			best, most = i, w
		}
	}
	return best
}

// twins says whether one of two causes declares the other.
func twins(a, b *kb.Cause) bool {
	names := func(c *kb.Cause, id string) bool {
		return slices.ContainsFunc(c.Twins, func(t kb.Twin) bool { return t.Cause == id })
	}
	return names(a, b.ID) || names(b, a.ID)
}

// parted says whether one of the checks parts two causes, or all of them together
// can bring two that are equally likely apart as far as a part is named from: who
// decides between the two by their answers errs, at most, in half of what the
// answers overlap (Bhattacharyya's bound).
func parted(m *rules.Model, checks []int, i, j int, sure float64) bool {
	overlap, most := 1.0, 0.0
	for _, at := range checks {
		share := 0.0
		for k := range m.Obs[at].Outcomes {
			share += math.Sqrt(m.Likelihood(at, k, i) * m.Likelihood(at, k, j))
		}
		overlap *= share
		most = max(most, distance(m, at, i, j))
	}
	if twins(m.Causes[i], m.Causes[j]) && most < partsTwins {
		return false
	}
	return most >= partsOthers || overlap/2 <= 1-sure
}

// hindered follows what must be done first.
func (o *owner) hindered(check string) bool {
	c := o.kb.Check(check)
	if c == nil || o.hinders(c) != "" {
		return true
	}
	if slices.ContainsFunc(c.First, o.hindered) {
		return true
	}
	for _, n := range c.Needs {
		if o.hindered(n.Check) {
			return true
		}
	}
	return false
}

// distance is half the summed difference of two causes' answers.
func distance(m *rules.Model, obs, i, j int) float64 {
	sum := 0.0
	for k := range m.Obs[obs].Outcomes {
		d := m.Likelihood(obs, k, i) - m.Likelihood(obs, k, j)
		sum += max(d, -d)
	}
	return sum / 2
}

// plausible weighs a rival against the cause by priors and by the symptoms told:
// one so much rarer that the cause may be named as sure is no rival, and to name
// the cause is no guess then.
func plausible(m *rules.Model, o *owner, i, j int) bool {
	sure := o.kb.About.Cost.Sure
	return weightTold(m, o, j) >= (1-sure)/sure*weightTold(m, o, i)
}

// weightTold is how common a cause is, and how well it goes with what was told.
func weightTold(m *rules.Model, o *owner, c int) float64 {
	w := m.Prior(c)
	for _, id := range o.told {
		w *= tells(m, o, id, c)
	}
	for _, id := range o.denied {
		w *= 1 - tells(m, o, id, c)
	}
	return w
}

// tells is how likely a cause makes an owner tell of a symptom; through the
// check that asks the same, where there is one.
func tells(m *rules.Model, o *owner, symptom string, cause int) float64 {
	if c, option := o.kb.SameAs(symptom); c != nil {
		if at := m.Index(c.ID); at >= 0 {
			if k := m.Obs[at].Outcome(option.ID); k >= 0 {
				return m.Likelihood(at, k, cause)
			}
		}
	}
	if at := m.Index(symptom); at >= 0 {
		return m.Likelihood(at, 0, cause)
	}
	return 1
}
