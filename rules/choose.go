package rules

import (
	"math"
	"sync"
)

// Problem is one decision in a hunt: who is suspected and how strongly, what
// may be asked, what may be tried. All costs are in one currency, minutes.
//
// Leave out of it what is past: a check that was asked, a remedy that was
// tried, and (probability zero) the hypotheses that remedy would have cured.
// A step that has to come first, once, for several checks (such as proving the
// meter) can be given as one more cover to open.
type Problem struct {
	Prob     []float64 // per hypothesis; need not be normalised
	Checks   []ProblemCheck
	Remedies []ProblemRemedy
	Access   []float64 // cost of opening each cover, paid once; at most 64
	Opened   uint64    // covers that are open already, a bit each
	HandOver float64   // cost of giving what is left to a person; ends the hunt
}

// ProblemCheck is a question that may be asked once.
type ProblemCheck struct {
	Like  [][]float64 // [hypothesis][outcome], each row sums to one
	Cost  float64
	Opens uint64 // covers that must be open, a bit each
}

// ProblemRemedy is something that may be tried once, after which it is plain
// whether the fault is gone.
type ProblemRemedy struct {
	Cures []bool  // per hypothesis
	Cost  float64 // of carrying it out, cure or not; +Inf rules it out
	Wrong float64 // lost on top when it was not that
}

// ActionKind says what to do next.
type ActionKind uint8

// The kinds of action. The zero kind is the safe one.
const (
	HandOver ActionKind = iota // give the hunt to a person
	AskCheck
	TryRemedy
)

// Action is the next step of a plan, and what is known about the plan.
type Action struct {
	Kind  ActionKind
	Index int     // into Problem.Checks or Problem.Remedies
	Cost  float64 // expected total from here to the end of the hunt under the plan
	// AtLeast is a floor under the expected cost of any plan whatever, so that
	// Cost - AtLeast is the most that this one may be away from the best.
	AtLeast float64
	Exact   bool // no plan is better
	Work    int  // what the search has spent, in likelihood multiply-adds
}

// DefaultBudget is enough for some 60 hypotheses, 45 checks and 30 remedies,
// and takes about 2 ms for it on one core.
const DefaultBudget = 1_000_000

var hunts = sync.Pool{New: func() any { return new(hunt) }}

// Choose returns the best next action it finds within the budget, counted in
// likelihood multiply-adds so that the same problem always gets the same
// answer. For a problem that is not valid it is to hand over; see
// [Problem.Valid].
func Choose(p *Problem, budget int) Action {
	h := hunts.Get().(*hunt)
	defer hunts.Put(h)
	if err := h.prepare(p); err != nil {
		a := Action{Kind: HandOver}
		if p != nil && amount(p.HandOver) && !math.IsInf(p.HandOver, 1) {
			a.Cost = p.HandOver
		}
		return a
	}
	return h.choose(budget)
}
