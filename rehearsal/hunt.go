package rehearsal

import (
	"fmt"
	"math"
	"slices"

	"triagebot/kb"
	"triagebot/rules"
)

// hunt is a fault hunt without words: what is told and shown enters the belief
// as it is.
type hunt struct {
	o         *owner
	model     *rules.Model
	belief    *rules.Belief
	situation rules.Situation
	readings  map[string]rules.Known
}

// newHunt is nil for a fault that does not show.
func (r *Rehearsal) newHunt(c Case) (*hunt, error) {
	o, err := newOwner(r.kb, r.words, c)
	if err != nil {
		return nil, err
	}
	fine, err := o.bike.Works()
	if err != nil || fine {
		return nil, err
	}
	if _, err := o.opening(); err != nil {
		return nil, err
	}
	m, err := r.model(c.Kit, o.bike.Label())
	if err != nil {
		return nil, err
	}
	h := &hunt{o: o, model: m, belief: rules.NewBelief(m), readings: map[string]rules.Known{}, situation: rules.Situation{
		Answered: map[string]string{}, Cannot: map[string]bool{}, Lacking: map[string]bool{}, Opened: map[string]bool{}, Tried: map[string]bool{}}}
	for _, id := range o.told {
		h.tell(id, true)
	}
	for _, id := range o.denied {
		h.tell(id, false)
	}
	return h, nil
}

// sayingIsSo is how much an owner's word on a symptom counts, as in a talk
// whose words were understood.
const sayingIsSo = 0.95

func (h *hunt) tell(symptom string, there bool) {
	at, outcome := h.model.Index(symptom), 0
	if c, option := h.o.kb.SameAs(symptom); c != nil {
		if at = h.model.Index(c.ID); at >= 0 {
			outcome = h.model.Obs[at].Outcome(option.ID)
			if there {
				h.situation.Answered[c.ID] = option.ID
			}
		}
	}
	if at < 0 || outcome < 0 {
		return
	}
	soft := h.model.Obs[at].Exactly(outcome, sayingIsSo)
	if !there {
		soft = h.model.Obs[at].Except(outcome, sayingIsSo)
	}
	// Evidence that the rules hold for impossible is left out, as in a talk.
	_ = h.belief.Observe(at, soft)
}

// mostSteps bounds a hunt.
const mostSteps = 80

func (h *hunt) run(next chooser) (huntEnd, error) {
	end := huntEnd{outcome: Handed, bits: h.doubt(h.belief)}
	sure := h.o.kb.About.Cost.Sure
	for range mostSteps {
		c := next(h)
		switch {
		case c.Check != nil:
			end.questions++
			minutes, err := h.ask(c.Check)
			if err != nil {
				return end, err
			}
			end.minutes += minutes
		case c.Remedy != nil:
			right := slices.ContainsFunc(h.o.bike.Faults(), func(f string) bool { return h.o.mendedBy(c.Remedy.ID, f) })
			if right {
				end.outcome = Right
				return h.left(end), nil
			}
			if c.Remedy.Again == "" && (c.Chance >= sure || c.Remedy.Wrong >= dearFrom) {
				end.outcome = Wrong
				return h.left(end), nil
			}
			end.minutes += c.Remedy.Minutes + c.Remedy.Wrong
			h.situation.Tried[c.Remedy.ID] = true
			if err := h.belief.Remedied(h.causesOf(c.Remedy.ID)); err != nil {
				return end, fmt.Errorf("taking in remedy %q: %w", c.Remedy.ID, err)
			}
		case c.Fine:
			end.outcome = Wrong
			return h.left(end), nil
		default:
			return h.left(end), nil
		}
	}
	return h.left(end), nil
}

func (h *hunt) left(e huntEnd) huntEnd {
	e.left = h.doubt(h.belief)
	return e
}

func (h *hunt) causesOf(remedy string) []int {
	var out []int
	for i, c := range h.model.Causes {
		if c.Remedy == remedy {
			out = append(out, i)
		}
	}
	return out
}

// ask puts a check to the owner and takes in what the bike shows; it gives the
// minutes.
func (h *hunt) ask(c *kb.Check) (float64, error) {
	switch why := h.o.hinders(c); why {
	case "":
	case "cover", "alone", "other":
		h.situation.Cannot[c.ID] = true
		return 0, nil
	default:
		h.situation.Lacking[why] = true
		return 0, nil
	}
	minutes := c.Minutes
	for _, id := range c.Access {
		if a := h.o.kb.Opening(id); a != nil && !h.situation.Opened[id] {
			h.situation.Opened[id] = true
			minutes += a.Minutes
		}
	}
	s, err := h.o.perform(c)
	if err != nil {
		return minutes, err
	}
	at := h.model.Index(c.ID)
	if at < 0 {
		return minutes, fmt.Errorf("asking %q: this kit has no such check", c.ID)
	}
	obs := h.model.Obs[at]
	var soft []float64
	if s.reading == nil {
		if o := obs.Outcome(s.option); o >= 0 {
			soft = obs.Exactly(o, sayingIsSo)
		}
	} else {
		r := rules.NewReading(s.reading.Value, s.reading.Overload, s.reading.Unit, max(s.reading.Decimals, 0))
		j, err := h.model.Scope().With(h.readings).Judge(c, r)
		if err != nil {
			return minutes, err
		}
		soft = j.Soft()
		if !r.Overload() {
			h.readings[c.ID] = rules.Known{Value: r.Value, U: rules.Uncertainty(h.o.kb.About.Meters[c.Unit], r)}
		}
	}
	if soft == nil {
		h.situation.Cannot[c.ID] = true // an odd figure is no answer
		return minutes, nil
	}
	best := 0
	for i := range soft {
		if soft[i] > soft[best] {
			best = i
		}
	}
	h.situation.Answered[c.ID] = obs.Outcomes[best]
	_ = h.belief.Observe(at, soft)
	return minutes, nil
}

// byRemedy is the probability of each remedy, and of no fault and of an unlisted
// one; it sums to one.
func (h *hunt) byRemedy(b *rules.Belief) map[string]float64 {
	p := map[string]float64{NothingWrong: b.NothingWrong(), "": b.Unlisted()}
	causes := b.Causes()
	sum := p[NothingWrong] + p[""]
	for i, c := range h.model.Causes {
		p[c.Remedy] += causes[i]
		sum += causes[i]
	}
	for k := range p {
		p[k] /= sum
	}
	return p
}

// doubt is the entropy of the remedy, in bits.
func (h *hunt) doubt(b *rules.Belief) float64 {
	p := h.byRemedy(b)
	bits := 0.0
	// In the order of the knowledge base: a sum over a map would differ in its
	// last place from run to run.
	for _, r := range h.o.kb.Remedies {
		bits += plogp(p[r.ID])
	}
	return bits + plogp(p[NothingWrong]) + plogp(p[""])
}

func plogp(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return -p * math.Log2(p)
}

// settled is the rule by which the yardsticks end: a remedy that is sure enough
// is named, and what nothing explains goes to a person.
func (h *hunt) settled() (rules.Choice, bool) {
	p := h.byRemedy(h.belief)
	sure := h.o.kb.About.Cost.Sure
	for _, r := range h.o.kb.Remedies {
		if p[r.ID] >= sure && !h.situation.Tried[r.ID] {
			return rules.Choice{Remedy: r, Chance: p[r.ID]}, true
		}
	}
	switch {
	case p[NothingWrong] >= sure:
		return rules.Choice{Fine: true}, true
	case p[""] >= sure:
		return rules.Choice{HandOver: true}, true
	}
	return rules.Choice{}, false
}

// tellsLittle is the gain in bits below which a check is left out: even a fixed
// list is not worked down against all sense.
const tellsLittle = 0.01

func (h *hunt) byOrder() rules.Choice {
	if c, ok := h.settled(); ok {
		return c
	}
	before := h.doubt(h.belief)
	for _, id := range fixedOrder {
		c := h.o.kb.Check(id)
		if c == nil || !h.open(c) || id != "meter-check" && before-h.expected(id) < tellsLittle {
			continue
		}
		return rules.Choice{Check: h.before(c)}
	}
	return rules.Choice{HandOver: true}
}

func (h *hunt) byGain() rules.Choice {
	if c, ok := h.settled(); ok {
		return c
	}
	var best *kb.Check
	least := h.doubt(h.belief) - tellsLittle
	for _, c := range h.o.kb.Checks {
		if !h.open(c) {
			continue
		}
		if e := h.expected(c.ID); e < least {
			best, least = c, e
		}
	}
	if best == nil {
		return rules.Choice{HandOver: true}
	}
	return rules.Choice{Check: h.before(best)}
}

// expected is the doubt left on average after a check.
func (h *hunt) expected(check string) float64 {
	at := h.model.Index(check)
	obs := h.model.Obs[at]
	sum := 0.0
	for o, p := range h.belief.Expect(at) {
		if p < 1e-6 {
			continue
		}
		b := h.belief.Clone()
		if b.Observe(at, obs.Exactly(o, 1)) == nil {
			sum += p * h.doubt(b)
		}
	}
	return sum
}

// open says whether a check can be asked now, or after those it waits for.
func (h *hunt) open(c *kb.Check) bool {
	s := h.situation
	if h.model.Index(c.ID) < 0 || s.Cannot[c.ID] || s.Answered[c.ID] != "" {
		return false
	}
	if slices.ContainsFunc(c.Tools, func(t string) bool { return s.Lacking[t] }) {
		return false
	}
	for _, id := range c.First {
		if f := h.o.kb.Check(id); f != nil && s.Answered[id] == "" && !h.open(f) {
			return false
		}
	}
	for _, n := range c.Needs {
		if got := s.Answered[n.Check]; got != "" {
			if !slices.Contains(n.Outcomes, got) {
				return false
			}
		} else if f := h.o.kb.Check(n.Check); f == nil || !h.open(f) {
			return false
		}
	}
	return true
}

// before is the check itself, or what has to be asked first.
func (h *hunt) before(c *kb.Check) *kb.Check {
	for _, id := range c.First {
		if h.situation.Answered[id] == "" && h.model.Index(id) >= 0 {
			return h.before(h.o.kb.Check(id))
		}
	}
	for _, n := range c.Needs {
		if h.situation.Answered[n.Check] == "" && h.model.Index(n.Check) >= 0 {
			return h.before(h.o.kb.Check(n.Check))
		}
	}
	return c
}
