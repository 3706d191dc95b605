package rules

import (
	"math"
	"sync"
)

// Problem is one decision in a hunt: who is suspected and how strongly, what
// may be asked, what may be tried. All costs are in one currency, minutes.
//
// Leave out of it what is past: a check that was asked, a remedy that was
// tried, and the hypotheses that remedy would have cured. A step that has to
// come first, once, for several checks (such as proving the meter) can be given
// as one more cover to open.
type Problem struct {
	Prob     []float64 // per hypothesis; sums to one, or is scaled so that it does
	Checks   []ProblemCheck
	Remedies []ProblemRemedy
	Access   []float64 // cost of opening each cover, paid once; at most 64
	Opened   uint64    // covers that are open already, a bit each
	HandOver float64   // cost of giving what is left to a person; ends the hunt
}

// ProblemCheck is a question that may be asked once.
type ProblemCheck struct {
	Like  [][]float64 // [hypothesis][outcome]; each row sums to one
	Cost  float64
	Opens uint64 // covers that must be open, a bit each
}

// ProblemRemedy is something that may be tried once, after which it is plain
// whether the fault is gone. One that costs as much as handing over is never
// worth trying, so Cost must not hold what a person would have to spend too.
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

// DefaultBudget is enough for some 60 hypotheses, 45 checks and 30 remedies, and
// keeps a turn within the 5 ms it is allowed; three times as much made the
// rehearsed hunts neither righter nor shorter. See BenchmarkTurn and BenchmarkChoose.
const DefaultBudget = 60_000

// Choose returns the best next action it finds. The budget counts likelihood
// multiply-adds, with a fixed charge per check looked at, and not time, so that
// the same problem always gets the same answer. With no budget it asks nothing
// and takes the best order of remedies. For a problem that is not valid the
// answer is to hand over; see [Problem.Valid].
//
// # How it thinks
//
// A technician who asks only "which check tells me most for its minutes?" goes
// wrong in three ways: two checks that help only together are never begun, a
// cover is opened for one reading when its neighbours would have paid for it,
// and a cheap remedy that might as well be tried first is put off. So Choose
// does not score questions; it compares whole plans: do this; for each answer
// do that; and so on to a cure or a hand-over. The cost of a plan is known
// exactly, as a sum over its branches.
//
//   - What a branch costs at most. At any point one may stop asking, try the
//     remedies in the order of what they cure for their price, and hand over the
//     rest. That is a plan too, so every branch has a price from the start, and
//     looking further can only lower it: the cost reported is that of a plan
//     that exists (function actNow).
//   - What a branch costs at least. Each hypothesis pays its cheapest cure, and
//     all but those that the first remedy cures pay one more step. A branch
//     whose floor is above the best plan so far is not looked at (function floor).
//   - What to look at first. At each point the checks and remedies are ordered
//     by bits learned about the remedy per minute. This is the technician's rule
//     of thumb; here it only orders the work (function candidates).
//   - How far to look. The search runs in stages. The first follows the one most
//     promising action at each point, which gives a complete plan at the price
//     of a few hundred looks. The next follow several at the root and fewer
//     further on, and less likely branches too: each rival for the next step is
//     judged by a whole plan that begins with it. The last stage leaves nothing
//     out: a small problem gets its best plan, and says so in Exact.
//   - What was seen before is not worked out again: the same answers in another
//     order lead to the same point, and points are remembered by their answers.
//
// Hypotheses that the same remedies cure make one class. Only classes must be
// told apart, so "which of the two is it?" is not asked where the remedy is one.
func Choose(p *Problem, budget int) Action {
	h := hunts.Get().(*hunt)
	defer hunts.Put(h)
	if err := h.prepare(p); err != nil {
		return handOverNow(p)
	}
	return h.choose(budget)
}

var hunts = sync.Pool{New: func() any { return new(hunt) }}

func handOverNow(p *Problem) Action {
	a := Action{Kind: HandOver}
	if p != nil && amount(p.HandOver) && !math.IsInf(p.HandOver, 1) {
		a.Cost = p.HandOver
	}
	return a
}
