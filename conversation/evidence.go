package conversation

import (
	"fmt"
	"slices"

	"triagebot/kb"
	"triagebot/rules"
)

// Assessment is what a state amounts to under the rules: derived, never stored.
type Assessment struct {
	Model     *rules.Model
	Belief    *rules.Belief
	Evidence  []Evidence
	Situation rules.Situation
	Odd       []string // checks whose latest reading no cause can produce
}

// Evidence is one observation as it entered the belief.
type Evidence struct {
	Observation *rules.Observation
	Outcome     string // the likeliest outcome
	Answer      *Answer
	Symptom     string // the symptom it came from, when nobody was asked
	Judgement   *rules.Judgement
	Round       int
	Soft        []float64
}

// mostModels bounds the models kept: owners of an unknown kit bring voltages of
// their own, of which a few are common and the rest must not pile up.
const mostModels = 64

// modelOf prepares the rules for a kit; figures asked of the owner make a kit of their own.
func (e *Engine) modelOf(st *State) (*rules.Model, error) {
	kit := e.kb.Kit(st.Kit)
	if kit == nil {
		kit = e.kb.Kit(e.kb.About.Generic)
	}
	if kit == nil && len(e.kb.Kits) > 0 {
		kit = e.kb.Kits[0]
	}
	if kit == nil {
		return nil, fmt.Errorf("the knowledge base has no kit: add one under kits")
	}
	key := kit.ID
	for _, a := range kit.Ask {
		if v, ok := st.Figures[a.Figure]; ok {
			key += fmt.Sprintf(" %s=%g", a.Figure, v)
		}
	}
	if m, ok := e.models.Load(key); ok {
		return m.(*rules.Model), nil
	}
	m, err := rules.NewModel(e.kb, kit, st.Figures)
	if err != nil {
		return nil, err
	}
	if e.kept.Add(1) <= mostModels {
		e.models.Store(key, m)
	}
	return m, nil
}

// Assess works out the belief from all that is known. Symptoms and answers of
// one round enter together; then the round's remedy, which did not cure it.
func (e *Engine) Assess(st *State) (*Assessment, error) {
	m, err := e.modelOf(st)
	if err != nil {
		return nil, err
	}
	a := &Assessment{Model: m, Belief: rules.NewBelief(m)}
	scope := m.Scope().With(e.known(m, st))
	byRound := map[int]map[int]*Evidence{}
	at := func(round, obs int) *Evidence {
		if byRound[round] == nil {
			byRound[round] = map[int]*Evidence{}
		}
		ev := byRound[round][obs]
		if ev == nil {
			ev = &Evidence{Observation: m.Obs[obs], Round: round}
			byRound[round][obs] = ev
		}
		return ev
	}
	for i := range st.Answers {
		ans := &st.Answers[i]
		obs := m.Index(ans.Check)
		if obs < 0 {
			continue
		}
		soft, j, err := judged(m, scope, obs, ans)
		if err != nil {
			return nil, err
		}
		if soft == nil {
			if latest, _ := st.Answer(ans.Check); latest == *ans {
				a.Odd = append(a.Odd, ans.Check)
			}
			continue
		}
		ev := at(ans.Round, obs)
		ev.Answer, ev.Judgement, ev.Soft = ans, j, soft
	}
	for _, id := range st.SymptomIDs() {
		e.addSymptom(m, id, st.Symptoms[id], at)
	}
	var remedied []Attempt
	for _, t := range st.Attempts {
		if t.Spent() {
			remedied = append(remedied, t)
		}
	}
	for round := 0; round <= st.Round; round++ {
		for obs := range m.Obs {
			ev := byRound[round][obs]
			if ev == nil || ev.Soft == nil {
				continue
			}
			ev.Outcome = likeliest(ev.Observation, ev.Soft)
			// An impossible piece of evidence is left out rather than ending the
			// talk: the floor in the model keeps this from happening with rules
			// that passed the checker.
			if a.Belief.Observe(obs, ev.Soft) == nil {
				a.Evidence = append(a.Evidence, *ev)
			}
		}
		if round < len(remedied) {
			var stays []rules.Stays
			if !remedied[round].Cured {
				stays = complaints(m, a.Evidence)
			}
			if err := a.Belief.Remedied(causesOf(m, remedied[round].Remedy), stays...); err != nil {
				return nil, fmt.Errorf("taking in remedy %q: %w", remedied[round].Remedy, err)
			}
		}
	}
	a.Situation = e.situation(m, st, a, remedied)
	return a, nil
}

// addSymptom turns an owner's word into evidence: through the check that asks
// the same, where there is one, so that it counts once.
func (e *Engine) addSymptom(m *rules.Model, id string, s Symptom, at func(round, obs int) *Evidence) {
	if check, option := e.kb.SameAs(id); check != nil {
		obs := m.Index(check.ID)
		if obs < 0 {
			return
		}
		ev := at(s.Round, obs)
		if ev.Answer != nil {
			return
		}
		o := m.Obs[obs].Outcome(option.ID)
		add := m.Denied(obs, o, s.Sure)
		if s.Present {
			add = m.Said(obs, o, s.Sure)
			ev.Symptom = id
		}
		if ev.Soft == nil {
			ev.Soft = add
			return
		}
		for i := range add {
			ev.Soft[i] *= add[i]
		}
		scaleToOne(ev.Soft)
		return
	}
	obs := m.Index(id)
	if obs < 0 {
		return
	}
	ev := at(s.Round, obs)
	ev.Symptom = id
	outcome := 1
	if s.Present {
		outcome = 0
	}
	ev.Soft = m.Said(obs, outcome, s.Sure)
}

// complaints are what the owner told of and what a remedy should have taken
// away; what happened to the bike, and danger, stay as they were.
func complaints(m *rules.Model, list []Evidence) []rules.Stays {
	var out []rules.Stays
	for _, ev := range list {
		o := ev.Observation
		told := o.Symptom != nil && ev.Outcome == rules.Present && o.Symptom.Family != "history" && o.Symptom.Danger == ""
		asked := o.Check != nil && ev.Symptom != "" && !o.Healthy[o.Outcome(ev.Outcome)]
		if told || asked {
			out = append(out, rules.Stays{Obs: m.Index(o.ID), Soft: ev.Soft})
		}
	}
	return out
}

func scaleToOne(p []float64) {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	if sum > 0 {
		for i := range p {
			p[i] /= sum
		}
	}
}

func judged(m *rules.Model, scope *rules.Scope, obs int, ans *Answer) ([]float64, *rules.Judgement, error) {
	o := m.Obs[obs]
	if ans.Reading == nil {
		i := o.Outcome(ans.Option)
		if i < 0 {
			return nil, nil, nil
		}
		return m.Said(obs, i, ans.Sure), nil, nil
	}
	j, err := scope.Judge(o.Check, ans.Reading.Reading())
	if err != nil {
		return nil, nil, err
	}
	return j.Soft(), &j, nil
}

// known is what was read so far, for limits that refer to it.
func (e *Engine) known(m *rules.Model, st *State) map[string]rules.Known {
	known := map[string]rules.Known{}
	for _, a := range st.Answers {
		c := e.kb.Check(a.Check)
		if c == nil || a.Reading == nil || a.Reading.Overload {
			continue
		}
		u := rules.Uncertainty(e.kb.About.Meters[c.Unit], a.Reading.Reading())
		known[a.Check] = rules.Known{Value: a.Reading.Value, U: u}
	}
	return known
}

func likeliest(o *rules.Observation, soft []float64) string {
	best := 0
	for i := range soft {
		if soft[i] > soft[best] {
			best = i
		}
	}
	return o.Outcomes[best]
}

func causesOf(m *rules.Model, remedy string) []int {
	var list []int
	for i, c := range m.Causes {
		if c.Remedy == remedy {
			list = append(list, i)
		}
	}
	return list
}

// settledBy is the share of evidence on one outcome from which a check that an
// owner's own words spoke of need not be asked.
const settledBy = 0.6

// standsFrom: words that all that was found since has made less likely than this
// to have been meant as they were understood are no answer; the check may be asked.
const standsFrom = 0.9

// staleFrom: after a remedy, an earlier faulty answer that the mended cause
// would have shown at least this often may be asked for again.
const staleFrom = 0.3

// believed: only a remedy that was likely the right one has likely changed
// anything; a cheap try in passing opens no answered question again.
const believed = 0.5

func (e *Engine) situation(m *rules.Model, st *State, as *Assessment, remedied []Attempt) rules.Situation {
	s := rules.Situation{Answered: map[string]string{}, Cannot: map[string]bool{}, Lacking: st.Lacking, AtHand: st.AtHand, Opened: st.Opened, Shut: map[string]bool{}, Tried: map[string]bool{}}
	for _, ev := range as.Evidence {
		if ev.Observation.Check == nil {
			continue
		}
		id, outcome := ev.Observation.ID, ev.Observation.Outcome(ev.Outcome)
		if ev.Answer == nil && (ev.Soft[outcome] < settledBy || as.Belief.Stands(m.Index(id), outcome, ev.Soft) < standsFrom) {
			continue
		}
		delete(s.Answered, id)
		if !e.stale(m, ev, remedied) {
			s.Answered[id] = ev.Outcome
		}
	}
	e.told(m, st, s.Answered)
	for id := range st.Cannot {
		s.Cannot[id] = true
		if c := e.kb.Check(id); c != nil {
			for _, access := range c.Access {
				s.Shut[access] = true
			}
		}
	}
	for _, a := range st.Attempts {
		if a.Done {
			s.Tried[a.Remedy] = true
		}
	}
	return s
}

// told marks the checks that what the owner told of has answered already.
func (e *Engine) told(m *rules.Model, st *State, answered map[string]string) {
	for _, o := range m.Obs {
		if o.Check == nil || answered[o.ID] != "" {
			continue
		}
		for _, opt := range o.Check.Options {
			if slices.ContainsFunc(opt.ToldBy, func(id string) bool { return st.Symptoms[id].Present }) {
				answered[o.ID] = opt.ID
				break
			}
		}
	}
}

func (e *Engine) stale(m *rules.Model, ev Evidence, remedied []Attempt) bool {
	obs, outcome := m.Index(ev.Observation.ID), ev.Observation.Outcome(ev.Outcome)
	// A try tells of the whole fault, as "is it gone?" does, which was just
	// answered; what is seen or measured at one place may have changed.
	if ev.Observation.Healthy[outcome] || ev.Observation.Check.Kind == "try" {
		return false
	}
	for _, t := range remedied[min(ev.Round, len(remedied)):] {
		if r := e.kb.Remedy(t.Remedy); r != nil && r.Again == ev.Observation.ID {
			return true
		}
		if t.Chance < believed {
			continue
		}
		for _, c := range causesOf(m, t.Remedy) {
			if m.Likelihood(obs, outcome, c) >= staleFrom {
				return true
			}
		}
	}
	return false
}

// twinsOf lists causes that no check parts from this one.
func (e *Engine) twinsOf(c *kb.Cause) []kb.Twin {
	list := slices.Clone(c.Twins)
	for _, o := range e.kb.Causes {
		for _, t := range o.Twins {
			if t.Cause == c.ID && !slices.ContainsFunc(list, func(x kb.Twin) bool { return x.Cause == o.ID }) {
				list = append(list, kb.Twin{Cause: o.ID, PartedBy: t.PartedBy})
			}
		}
	}
	return list
}
