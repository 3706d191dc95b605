package rules_test

import "triagebot/rules"

// place is where a hunt stands: the outcome of each check (-1 when not asked)
// and the remedies that failed. Everything else follows from it.
type place struct {
	told  [64]int8
	tried uint64
}

func start() place {
	var s place
	for i := range s.told {
		s.told[i] = -1
	}
	return s
}

func (s place) hears(check, outcome int) place {
	s.told[check] = int8(outcome)
	return s
}

func (s place) tries(remedy int) place {
	s.tried |= 1 << remedy
	return s
}

// stand gives the unnormalised probabilities and the open covers at a place.
func (s place) stand(p *rules.Problem) (w []float64, opened uint64) {
	w, opened = append([]float64(nil), p.Prob...), p.Opened
	for c := range p.Checks {
		if s.told[c] < 0 {
			continue
		}
		opened |= p.Checks[c].Opens
		for i := range w {
			w[i] *= p.Checks[c].Like[i][s.told[c]]
		}
	}
	for r := range p.Remedies {
		for i := range w {
			if s.tried>>r&1 == 1 && p.Remedies[r].Cures[i] {
				w[i] = 0
			}
		}
	}
	return w, opened
}

func total(w []float64) float64 {
	t := 0.0
	for _, v := range w {
		t += v
	}
	return t
}

// asking is the cost of a check with the covers it still has to open.
func asking(p *rules.Problem, c int, opened uint64) float64 {
	cost := p.Checks[c].Cost
	for b, a := range p.Access {
		if (p.Checks[c].Opens&^opened)>>b&1 == 1 {
			cost += a
		}
	}
	return cost
}

// trying is the expected cost of a remedy on unnormalised probabilities,
// without what follows.
func trying(p *rules.Problem, r int, w []float64) float64 {
	cost := 0.0
	for i, v := range w {
		cost += v * p.Remedies[r].Cost
		if !p.Remedies[r].Cures[i] {
			cost += v * p.Remedies[r].Wrong
		}
	}
	return cost
}

// optimum is the expected cost of the best plan there is, by exhaustion over
// every place. It shares nothing with the search but the problem.
func optimum(p *rules.Problem) float64 { return exhaust(p, start(), map[place]float64{}) }

func exhaust(p *rules.Problem, s place, known map[place]float64) float64 {
	if v, ok := known[s]; ok {
		return v
	}
	w, opened := s.stand(p)
	mass := total(w)
	if mass == 0 {
		return 0
	}
	best := mass * p.HandOver
	for c := range p.Checks {
		if s.told[c] >= 0 {
			continue
		}
		v := mass * asking(p, c, opened)
		for o := range p.Checks[c].Like[0] {
			v += exhaust(p, s.hears(c, o), known)
		}
		best = min(best, v)
	}
	for r := range p.Remedies {
		if s.tried>>r&1 == 0 {
			best = min(best, trying(p, r, w)+exhaust(p, s.tries(r), known))
		}
	}
	known[s] = best
	return best
}

// policy says what to do in a problem as it stands.
type policy func(p *rules.Problem) rules.Action

func chosen(budget int) policy {
	return func(p *rules.Problem) rules.Action { return rules.Choose(p, budget) }
}

// follow is the true expected cost of doing what a policy says, step by step,
// at every place that can be reached.
func follow(p *rules.Problem, do policy) float64 {
	return walk(p, start(), do, map[place]float64{})
}

func walk(p *rules.Problem, s place, do policy, known map[place]float64) float64 {
	if v, ok := known[s]; ok {
		return v
	}
	w, opened := s.stand(p)
	mass := total(w)
	if mass == 0 {
		return 0
	}
	rest, checks, remedies := s.rest(p, w, opened)
	v := mass * p.HandOver
	switch a := do(rest); a.Kind {
	case rules.AskCheck:
		c := checks[a.Index]
		v = mass * asking(p, c, opened)
		for o := range p.Checks[c].Like[0] {
			v += walk(p, s.hears(c, o), do, known)
		}
	case rules.TryRemedy:
		r := remedies[a.Index]
		v = trying(p, r, w) + walk(p, s.tries(r), do, known)
	}
	known[s] = v
	return v
}

// rest is the problem that is left at a place, as a caller would put it, with
// what its checks and remedies are in the whole problem.
func (s place) rest(p *rules.Problem, w []float64, opened uint64) (rest *rules.Problem, checks, remedies []int) {
	rest = &rules.Problem{Access: p.Access, Opened: opened, HandOver: p.HandOver}
	mass := total(w)
	for _, v := range w {
		rest.Prob = append(rest.Prob, v/mass)
	}
	for c := range p.Checks {
		if s.told[c] < 0 {
			rest.Checks = append(rest.Checks, p.Checks[c])
			checks = append(checks, c)
		}
	}
	for r := range p.Remedies {
		if s.tried>>r&1 == 0 {
			rest.Remedies = append(rest.Remedies, p.Remedies[r])
			remedies = append(remedies, r)
		}
	}
	return rest, checks, remedies
}
