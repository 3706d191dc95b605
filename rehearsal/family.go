package rehearsal

import (
	"context"
	"math"
	"slices"

	"triagebot/rules"
)

// Family is a problem small enough to be solved: the causes of one kit that
// make one symptom likely, with the checks that part them. Costs are in
// minutes, expected over the causes by how common they are.
type Family struct {
	Kit    string  `json:"kit"`
	Name   string  `json:"name"` // the symptom
	Causes int     `json:"causes"`
	Checks int     `json:"checks"`
	Exact  bool    `json:"exact"` // Best is proved
	Best   float64 `json:"best"`
	Bot    float64 `json:"bot"`
	Gain   float64 `json:"information_gain"`
	Fixed  float64 `json:"fixed_order"`
}

// differsAtAll is the difference of two causes' answers from which a check is
// taken into a family.
const differsAtAll = 0.05

// A family has this many causes and at most this many checks; a larger one
// takes too long to solve.
const (
	leastFamily, mostFamily = 3, 8
	mostFamilyChecks        = 9
	showsIt                 = 0.3
)

// families solves those of the kits among the cases; only the ones whose best
// plan is proved are reported.
func (r *Rehearsal) families(ctx context.Context, cases []Case) ([]Family, error) {
	var out []Family
	var kits []string
	for _, c := range cases {
		if !slices.Contains(kits, c.Kit) {
			kits = append(kits, c.Kit)
		}
	}
	for _, kit := range kits {
		m, err := r.model(kit, defaultLabel(r, kit))
		if err != nil {
			return nil, err
		}
		for _, s := range r.kb.Symptoms {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			f, p := r.family(m, s.ID)
			if p == nil {
				continue
			}
			a := rules.Choose(p, exactBudget)
			if !a.Exact {
				continue
			}
			f.Kit, f.Exact, f.Best = kit, a.Exact, a.Cost
			f.Bot = follow(p, func(p *rules.Problem) rules.Action { return rules.Choose(p, rules.DefaultBudget) })
			sure := r.kb.About.Cost.Sure
			f.Gain = follow(p, func(p *rules.Problem) rules.Action { return gainStep(p, sure) })
			f.Fixed = follow(p, func(p *rules.Problem) rules.Action { return orderStep(p, sure) })
			out = append(out, f)
		}
	}
	return out, nil
}

// exactBudget is a hundred times what a turn may spend.
const exactBudget = 100 * rules.DefaultBudget

func defaultLabel(r *Rehearsal, kit string) float64 {
	for _, a := range r.kb.Kit(kit).Ask {
		return a.Default
	}
	return 0
}

// family makes the problem of a symptom; nil when it is not small.
func (r *Rehearsal) family(m *rules.Model, symptom string) (Family, *rules.Problem) {
	f := Family{Name: symptom}
	at := m.Index(symptom)
	if at < 0 {
		return f, nil
	}
	var members []int
	var remedies []string
	p := &rules.Problem{HandOver: r.kb.About.Cost.HandOver}
	for i, c := range m.Causes {
		like := m.Likelihood(at, 0, i)
		if like < showsIt {
			continue
		}
		w := m.Prior(i) * like
		members, p.Prob = append(members, i), append(p.Prob, w)
		if !slices.Contains(remedies, c.Remedy) {
			remedies = append(remedies, c.Remedy)
		}
	}
	if len(members) < leastFamily || len(members) > mostFamily || len(remedies) < 2 {
		return f, nil
	}
	covers := map[string]int{}
	for _, id := range fixedOrder {
		at := m.Index(id)
		if at < 0 || !partsAny(m, at, members) {
			continue
		}
		c := r.kb.Check(id)
		x := rules.ProblemCheck{Cost: (c.Minutes + c.Risk) / (1 - min(c.Cannot, 0.9))}
		for _, i := range members {
			row := make([]float64, len(m.Obs[at].Outcomes))
			for k := range row {
				row[k] = m.Likelihood(at, k, i)
			}
			x.Like = append(x.Like, row)
		}
		for _, id := range c.Access {
			bit, ok := covers[id]
			if !ok {
				bit = len(covers)
				covers[id] = bit
				p.Access = append(p.Access, r.kb.Opening(id).Minutes)
			}
			x.Opens |= 1 << bit
		}
		p.Checks = append(p.Checks, x)
	}
	if len(p.Checks) == 0 || len(p.Checks) > mostFamilyChecks {
		return f, nil
	}
	for _, id := range remedies {
		rem := r.kb.Remedy(id)
		x := rules.ProblemRemedy{Wrong: rem.Wrong + rem.Minutes, Cures: make([]bool, len(members))}
		for h, i := range members {
			x.Cures[h] = m.Causes[i].Remedy == id
		}
		p.Remedies = append(p.Remedies, x)
	}
	scale(p.Prob)
	f.Causes, f.Checks = len(members), len(p.Checks)
	if p.Valid() != nil {
		return f, nil
	}
	return f, p
}

// partsAny says whether a check parts two members with different remedies.
func partsAny(m *rules.Model, obs int, members []int) bool {
	for _, i := range members {
		for _, j := range members {
			if m.Causes[i].Remedy != m.Causes[j].Remedy && distance(m, obs, i, j) >= differsAtAll {
				return true
			}
		}
	}
	return false
}

func scale(p []float64) float64 {
	sum := 0.0
	for _, x := range p {
		sum += x
	}
	for i := range p {
		p[i] /= sum
	}
	return sum
}

// negligible: a branch this unlikely is handed over rather than followed.
const negligible = 1e-6

// follow is the expected cost of a policy, worked out over all answers.
func follow(p *rules.Problem, step func(*rules.Problem) rules.Action) float64 {
	return followed(p, step, 1)
}

func followed(p *rules.Problem, step func(*rules.Problem) rules.Action, share float64) float64 {
	if share < negligible {
		return p.HandOver
	}
	a := step(p)
	switch a.Kind {
	case rules.AskCheck:
		c := p.Checks[a.Index]
		cost := c.Cost + openingCost(p, c.Opens)
		for k := range c.Like[0] {
			next := *p
			next.Prob = slices.Clone(p.Prob)
			for h := range next.Prob {
				next.Prob[h] *= c.Like[h][k]
			}
			q := scale(next.Prob)
			if q <= 0 {
				continue
			}
			next.Checks = slices.Delete(slices.Clone(p.Checks), a.Index, a.Index+1)
			next.Opened |= c.Opens
			cost += q * followed(&next, step, share*q)
		}
		return cost
	case rules.TryRemedy:
		r := p.Remedies[a.Index]
		next := *p
		next.Prob = slices.Clone(p.Prob)
		cured := 0.0
		for h := range next.Prob {
			if r.Cures[h] {
				cured += next.Prob[h]
				next.Prob[h] = 0
			}
		}
		left := 1 - cured
		if left <= 1e-12 {
			return r.Cost
		}
		scale(next.Prob)
		next.Remedies = slices.Delete(slices.Clone(p.Remedies), a.Index, a.Index+1)
		return r.Cost + left*(r.Wrong+followed(&next, step, share*left))
	}
	return p.HandOver
}

func openingCost(p *rules.Problem, bits uint64) float64 {
	sum := 0.0
	for i, c := range p.Access {
		if bit := uint64(1) << i; bits&bit != 0 && p.Opened&bit == 0 {
			sum += c
		}
	}
	return sum
}

// sureRemedy is the likeliest remedy, and whether it is sure enough.
func sureRemedy(p *rules.Problem, sure float64) (int, bool) {
	best, most := -1, 0.0
	for i, r := range p.Remedies {
		q := 0.0
		for h, c := range r.Cures {
			if c {
				q += p.Prob[h]
			}
		}
		if q > most {
			best, most = i, q
		}
	}
	return best, most >= sure
}

func gainStep(p *rules.Problem, sure float64) rules.Action {
	r, ok := sureRemedy(p, sure)
	if ok {
		return rules.Action{Kind: rules.TryRemedy, Index: r}
	}
	best, most := -1, tellsLittle
	for i := range p.Checks {
		if g := gainOf(p, i); g > most {
			best, most = i, g
		}
	}
	return askOrTry(best, r)
}

func orderStep(p *rules.Problem, sure float64) rules.Action {
	r, ok := sureRemedy(p, sure)
	if ok {
		return rules.Action{Kind: rules.TryRemedy, Index: r}
	}
	next := 0
	for next < len(p.Checks) && gainOf(p, next) < tellsLittle {
		next++
	}
	if next == len(p.Checks) {
		next = -1
	}
	return askOrTry(next, r)
}

func askOrTry(check, remedy int) rules.Action {
	switch {
	case check >= 0:
		return rules.Action{Kind: rules.AskCheck, Index: check}
	case remedy >= 0:
		return rules.Action{Kind: rules.TryRemedy, Index: remedy}
	}
	return rules.Action{Kind: rules.HandOver}
}

// gainOf is the information a check gives about which remedy it is, in bits.
func gainOf(p *rules.Problem, check int) float64 {
	doubt := func(prob []float64) float64 {
		bits := 0.0
		for _, r := range p.Remedies {
			q := 0.0
			for h, c := range r.Cures {
				if c {
					q += prob[h]
				}
			}
			bits += plogp(q)
		}
		return bits
	}
	gain := doubt(p.Prob)
	c := p.Checks[check]
	for k := range c.Like[0] {
		after := slices.Clone(p.Prob)
		for h := range after {
			after[h] *= c.Like[h][k]
		}
		if sum := scale(after); sum > 0 && !math.IsNaN(sum) {
			gain -= sum * doubt(after)
		}
	}
	return gain
}
