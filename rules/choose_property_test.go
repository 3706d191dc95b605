package rules_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"triagebot/rules"
)

// problems draws any sound problem of a moderate size, with whole numbers that
// shrink well.
func problems() *rapid.Generator[*rules.Problem] {
	return rapid.Custom(func(t *rapid.T) *rules.Problem {
		hyps := rapid.IntRange(1, 8).Draw(t, "hypotheses")
		p := &rules.Problem{HandOver: float64(rapid.IntRange(0, 100).Draw(t, "hand over"))}
		for range hyps {
			p.Prob = append(p.Prob, float64(rapid.IntRange(0, 20).Draw(t, "prob")))
		}
		if total(p.Prob) == 0 {
			p.Prob[0] = 1
		}
		scaleToOne(p.Prob)
		for range rapid.IntRange(0, 3).Draw(t, "covers") {
			p.Access = append(p.Access, float64(rapid.IntRange(0, 12).Draw(t, "cover")))
		}
		all := uint64(1)<<len(p.Access) - 1
		p.Opened = rapid.Uint64Range(0, all).Draw(t, "opened")
		for range rapid.IntRange(0, 6).Draw(t, "checks") {
			c := rules.ProblemCheck{
				Cost:  float64(rapid.IntRange(0, 10).Draw(t, "minutes")),
				Opens: rapid.Uint64Range(0, all).Draw(t, "opens"),
			}
			outcomes := rapid.IntRange(1, 4).Draw(t, "outcomes")
			for range hyps {
				row := make([]float64, outcomes)
				for k := range row {
					row[k] = float64(rapid.IntRange(0, 3).Draw(t, "like"))
				}
				row[rapid.IntRange(0, outcomes-1).Draw(t, "mostly")] += 4
				scaleToOne(row)
				c.Like = append(c.Like, row)
			}
			p.Checks = append(p.Checks, c)
		}
		for range rapid.IntRange(0, 6).Draw(t, "remedies") {
			r := rules.ProblemRemedy{
				Cost:  float64(rapid.IntRange(0, 30).Draw(t, "cost")),
				Wrong: float64(rapid.IntRange(0, 100).Draw(t, "wrong")),
			}
			for range hyps {
				r.Cures = append(r.Cures, rapid.IntRange(0, 3).Draw(t, "cures") == 0)
			}
			p.Remedies = append(p.Remedies, r)
		}
		return p
	})
}

func budgets() *rapid.Generator[int] {
	return rapid.SampledFrom([]int{0, 100, 2000, rules.DefaultBudget})
}

func TestChooseIsNeverWorseThanHandingOver(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems().Draw(t, "problem")
		a := rules.Choose(p, budgets().Draw(t, "budget"))
		if p.Valid() != nil {
			t.Fatalf("the problem is not sound: %v", p.Valid())
		}
		if !(a.Cost <= p.HandOver) || !(a.AtLeast <= a.Cost) || !(a.AtLeast >= 0) {
			t.Fatalf("%+v, handing over costs %v", a, p.HandOver)
		}
		limit := map[rules.ActionKind]int{rules.HandOver: 1, rules.AskCheck: len(p.Checks), rules.TryRemedy: len(p.Remedies)}
		if a.Index < 0 || a.Index >= limit[a.Kind] {
			t.Fatalf("there is no such action: %+v", a)
		}
	})
}

// The cost that is promised is kept by one who does as told, step by step, as
// long as the plan was complete.
func TestChooseKeepsItsPromise(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems().Draw(t, "problem")
		a := rules.Choose(p, rules.DefaultBudget)
		if !a.Exact {
			t.Skip("too large to be solved exactly")
		}
		if cost := follow(p, chosen(rules.DefaultBudget)); math.Abs(cost-a.Cost) > 1e-6 {
			t.Fatalf("promised %v, kept %v", a.Cost, cost)
		}
	})
}

func TestChooseIsDeterministic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, budget := problems().Draw(t, "problem"), budgets().Draw(t, "budget")
		first := rules.Choose(p, budget)
		rules.Choose(problems().Draw(t, "another"), budget)
		if again := rules.Choose(p, budget); again != first {
			t.Fatalf("%+v, then %+v", first, again)
		}
	})
}

func TestChooseDoesNotMindTheNumbering(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, budget := problems().Draw(t, "problem"), budgets().Draw(t, "budget")
		to := rapid.Permutation(numbers(len(p.Prob))).Draw(t, "hypotheses")
		got, want := rules.Choose(renumbered(p, to), budget), rules.Choose(p, budget)
		if got != want {
			t.Fatalf("%+v with hypotheses renumbered, %+v without", got, want)
		}
		q := &rules.Problem{Prob: p.Prob, Access: p.Access, Opened: p.Opened, HandOver: p.HandOver}
		for _, c := range rapid.Permutation(numbers(len(p.Checks))).Draw(t, "checks") {
			q.Checks = append(q.Checks, p.Checks[c])
		}
		for _, r := range rapid.Permutation(numbers(len(p.Remedies))).Draw(t, "remedies") {
			q.Remedies = append(q.Remedies, p.Remedies[r])
		}
		got = rules.Choose(q, budget)
		if got.Exact && want.Exact && math.Abs(got.Cost-want.Cost) > 1e-6 {
			t.Fatalf("%+v with checks and remedies renumbered, %+v without", got, want)
		}
	})
}

func numbers(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}

// renumbered moves hypothesis to[i] to place i.
func renumbered(p *rules.Problem, to []int) *rules.Problem {
	q := &rules.Problem{Access: p.Access, Opened: p.Opened, HandOver: p.HandOver}
	for _, i := range to {
		q.Prob = append(q.Prob, p.Prob[i])
	}
	for _, c := range p.Checks {
		d := rules.ProblemCheck{Cost: c.Cost, Opens: c.Opens}
		for _, i := range to {
			d.Like = append(d.Like, c.Like[i])
		}
		q.Checks = append(q.Checks, d)
	}
	for _, r := range p.Remedies {
		s := rules.ProblemRemedy{Cost: r.Cost, Wrong: r.Wrong}
		for _, i := range to {
			s.Cures = append(s.Cures, r.Cures[i])
		}
		q.Remedies = append(q.Remedies, s)
	}
	return q
}

// Being allowed more, or paying less, never costs more.
func TestChooseGainsByFreedom(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := problems().Draw(t, "problem")
		a := rules.Choose(p, rules.DefaultBudget)
		q := *p
		switch {
		case len(p.Checks) > 0 && rapid.Bool().Draw(t, "fewer checks"):
			q.Checks = p.Checks[1:]
		case len(p.Remedies) > 0 && rapid.Bool().Draw(t, "fewer remedies"):
			q.Remedies = p.Remedies[1:]
		default:
			q.HandOver += 7
		}
		b := rules.Choose(&q, rules.DefaultBudget)
		if a.Exact && b.Exact && b.Cost < a.Cost-1e-6 {
			t.Fatalf("%v with less freedom, %v with more", b.Cost, a.Cost)
		}
	})
}

// Whatever numbers come in, an answer comes out.
func TestChooseSurvivesAnyNumbers(t *testing.T) {
	odd := rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 1e-320, 1e-12, 1, 1e12, math.MaxFloat64})
	rapid.Check(t, func(t *rapid.T) {
		p := problems().Draw(t, "problem")
		for range rapid.IntRange(1, 4).Draw(t, "spoilt") {
			v := odd.Draw(t, "number")
			switch rapid.IntRange(0, 6).Draw(t, "where") {
			case 0:
				p.HandOver = v
			case 1:
				p.Prob[rapid.IntRange(0, len(p.Prob)-1).Draw(t, "hypothesis")] = v
			case 2:
				if len(p.Access) > 0 {
					p.Access[0] = v
				}
			case 3:
				if len(p.Checks) > 0 {
					p.Checks[0].Cost = v
				}
			case 4:
				if len(p.Checks) > 0 {
					p.Checks[0].Like[0][0] = v
				}
			case 5:
				if len(p.Remedies) > 0 {
					p.Remedies[0].Cost = v
				}
			case 6:
				if len(p.Remedies) > 0 {
					p.Remedies[0].Wrong = v
				}
			}
		}
		a := rules.Choose(p, 20_000)
		if math.IsNaN(a.Cost) || math.IsInf(a.Cost, 0) || math.IsNaN(a.AtLeast) {
			t.Fatalf("%+v", a)
		}
		if p.Valid() != nil && a.Kind != rules.HandOver {
			t.Fatalf("%+v for a problem that is not sound: %v", a, p.Valid())
		}
		if p.Valid() == nil && (a.Cost > p.HandOver || a.AtLeast > a.Cost) {
			t.Fatalf("%+v, handing over costs %v", a, p.HandOver)
		}
	})
}
