package conversation

import "triagebot/rules"

// An answer contradicts what is known when it is this unlikely, and was far
// likelier before anything was known: a rare finding is no contradiction.
const (
	hardlyPossible = 0.1
	farLikelier    = 5
	// liftsMost: one statement is to blame when the answer is so many times
	// likelier without it.
	liftsMost = 3
)

// contradicts says so when an answer does not go with what the owner told
// before, and names the statement that it goes against. It is called before the
// answer is entered. Nothing is thrown away: the belief weighs both.
func (t *step) contradicts(check, outcome, said string) {
	if s := t.excludedBy(check, outcome); s != "" {
		t.say("contradicts", "said", said, "against", s)
		return
	}
	if t.st.Kit == "" || len(t.st.Symptoms)+len(t.st.Answers) == 0 {
		return
	}
	a, err := t.assess()
	if err != nil {
		return
	}
	obs := a.Model.Index(check)
	if obs < 0 {
		return
	}
	o := a.Model.Obs[obs].Outcome(outcome)
	if o < 0 {
		return
	}
	now := a.Belief.Expect(obs)[o]
	if now >= hardlyPossible || rules.NewBelief(a.Model).Expect(obs)[o] < farLikelier*now {
		return
	}
	if against := t.against(a, obs, o, now); against != "" {
		t.say("contradicts", "said", said, "against", against)
	}
}

// excludedBy finds a symptom that was told and cannot be there together with
// what an option stands for.
func (t *step) excludedBy(check, option string) string {
	for _, id := range t.st.SymptomIDs() {
		told := t.e.kb.Symptom(id)
		if told == nil || !t.standing(id) {
			continue
		}
		for _, x := range told.Excludes {
			if c, o := t.e.kb.SameAs(x); c != nil && c.ID == check && o.ID == option {
				return told.Say
			}
		}
	}
	return ""
}

// standing says whether a symptom was told and no remedy came since, which may
// have changed it.
func (t *step) standing(id string) bool {
	s := t.st.Symptoms[id]
	return s.Present && s.Round == t.st.Round
}

// against finds the symptom without which the outcome would be likeliest.
func (t *step) against(a *Assessment, obs, outcome int, now float64) string {
	best, most := "", liftsMost*now
	for _, id := range t.st.SymptomIDs() {
		s := t.e.kb.Symptom(id)
		if s == nil || !t.standing(id) {
			continue
		}
		without := t.st.Clone()
		delete(without.Symptoms, id)
		if b, err := t.e.Assess(without); err == nil {
			if p := b.Belief.Expect(obs)[outcome]; p > most {
				best, most = s.Say, p
			}
		}
	}
	return best
}
