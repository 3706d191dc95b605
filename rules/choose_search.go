package rules

import (
	"cmp"
	"math"
	"slices"
)

// huntSearch is the state of one search.
type huntSearch struct {
	budget, spent int
	stage         int
	cut           bool // this stage has left something out
	slack         float64
	best          huntAct
	memo          huntMemo

	// stacks, cut back when a node is left
	w     []float64
	hyp   []int32
	runs  []classRun
	avail []int32
	cands []candidate
	kids  []huntNode

	// scratch within a node; the arrays by remedy, hypothesis and class are
	// left at zero
	play, touch              []int32
	mass, saved              []float64 // per remedy
	savings                  []saving  // per remedy
	weight                   []float64 // per hypothesis
	classMass, loss          []float64 // per class
	classCount               []int32
	sum, logs, most, squares []float64 // per outcome
	acc                      []float64
}

// classRun is one class in a node: how many hypotheses, and their mass.
type classRun struct {
	class, n int32
	gone     bool
	mass     float64
	log      float64 // m log m, once the node is ranked
}

// huntNode is a point in a plan. Probabilities are not normalised, so that
// the costs of branches simply add up.
type huntNode struct {
	w      []float64
	hyp    []int32
	runs   []classRun
	avail  []int32 // checks that may be asked
	opened uint64
	key    uint64
	mass   float64
	ends   float64 // what it costs when every hypothesis has its cheapest end
	floor  float64
	depth  int
}

// The search goes over the problem in stages. Each looks at more actions at
// each node, and at less likely branches, than the one before; what a stage
// leaves out is taken at the cost of acting there and then. The last leaves
// nothing out, so that a small problem is solved exactly.
const lastStage = 4

// width is how many actions are followed at a node. Wide at the root, where
// the choice is made, and down to the best one further on.
func width(stage, depth int) int {
	switch stage {
	case 0:
		return 1
	case lastStage:
		return math.MaxInt
	}
	return max(1, 3<<stage>>(2*depth))
}

// leastMass is how likely a branch must be to be followed.
func leastMass(stage int) float64 {
	if stage == lastStage {
		return 0
	}
	return 0.05 / float64(int(1)<<(2*stage))
}

func (h *hunt) choose(budget int) Action {
	root := h.begin(budget)
	up, low := h.handOver, min(h.handOver, root.floor)
	h.best = huntAct{}
	for h.stage = 0; h.stage <= lastStage; h.stage++ {
		h.cut = false
		u, l := h.plan(&root, math.Inf(1))
		up = min(up, u)
		low = min(up, max(low, l))
		if !h.cut || up-low <= h.slack {
			low = up
		}
		if low == up || h.spent >= h.budget {
			break
		}
	}
	act := h.best
	if low < up {
		act = h.undeferred(&root)
	}
	a := h.action(act)
	a.Cost, a.AtLeast, a.Exact, a.Work = up, low, low == up, h.spent
	return a
}

// begin clears the scratch and makes the root.
func (h *hunt) begin(budget int) huntNode {
	h.budget, h.spent = budget, 0
	h.slack = 1e-10 * (1 + h.handOver)
	h.w = append(h.w[:0], h.prob...)
	h.hyp, h.runs, h.avail, h.cands, h.kids = h.hyp[:0], h.runs[:0], h.avail[:0], h.cands[:0], h.kids[:0]
	for i := range h.prob {
		h.hyp = append(h.hyp, int32(i))
	}
	outcomes := 1
	for i, c := range h.checks {
		h.avail = append(h.avail, int32(i))
		outcomes = max(outcomes, c.outcomes)
	}
	h.mass, h.saved = cleared(h.mass, len(h.remedies)), cleared(h.saved, len(h.remedies))
	h.savings = cleared(h.savings, len(h.remedies))
	h.weight = cleared(h.weight, len(h.prob))
	h.classMass, h.loss = cleared(h.classMass, len(h.classes)), cleared(h.loss, len(h.classes))
	h.classCount = cleared(h.classCount, len(h.classes))
	h.sum, h.logs, h.acc = cleared(h.sum, outcomes), cleared(h.logs, outcomes), cleared(h.acc, outcomes)
	h.most, h.squares = cleared(h.most, outcomes), cleared(h.squares, outcomes)
	h.memo.reset()
	root := huntNode{w: h.w, hyp: h.hyp, avail: h.avail, opened: h.opened}
	h.settle(&root)
	root.floor = h.floor(&root, h.unit(&root))
	return root
}

// plan finds the cost of a good plan from a node, and a floor under the cost
// of any. It may stop as soon as the floor reaches cutoff.
func (h *hunt) plan(n *huntNode, cutoff float64) (up, low float64) {
	h.spent += len(n.hyp)
	low = n.floor
	var act huntAct
	if e := h.memo.find(n.key); e != nil {
		up, low, act = e.up, max(low, e.low), e.act
		if e.done && e.stage == h.stage {
			return up, low
		}
	} else {
		up, act = h.startNow(n)
	}
	if up-low <= h.slack || low >= cutoff {
		return up, low
	}
	if h.spent >= h.budget || n.mass < leastMass(h.stage) {
		h.cut = true
		return up, low
	}
	unit := h.unit(n)
	low = max(low, h.floor(n, unit))
	markCands, markAvail := len(h.cands), len(h.avail)
	cands, live := h.candidates(n, unit)
	least := h.handOver * n.mass
	for wide := width(h.stage, n.depth); len(cands) > 0; {
		most := min(up, cutoff) - h.slack
		if wide == 0 || h.spent >= h.budget {
			for _, c := range cands {
				least = min(least, c.floor)
				h.cut = h.cut || c.floor < most
			}
			break
		}
		var c candidate
		c, cands = takeTop(cands)
		if c.floor >= most {
			least = min(least, c.floor)
			continue
		}
		wide--
		u, l := h.follow(n, live, c, unit, min(up, cutoff))
		least = min(least, l)
		if u < up-h.slack {
			up, act = u, huntAct{c.kind, c.index}
			if n.depth == 0 {
				h.best = act
			}
		}
	}
	low = min(up, max(low, least))
	h.cands, h.avail = h.cands[:markCands], h.avail[:markAvail]
	h.memo.store(huntMemoEntry{key: n.key, stage: h.stage, done: cutoff >= up, up: up, low: low, act: act})
	return up, low
}

// startNow is the cost of asking nothing more from a node on.
func (h *hunt) startNow(n *huntNode) (float64, huntAct) {
	cost, first := h.actNow(n)
	if first < 0 {
		return cost, huntAct{}
	}
	act := huntAct{TryRemedy, first}
	if n.depth == 0 {
		h.best = act
	}
	return cost, act
}

// action is an act as the caller numbers checks and remedies.
func (h *hunt) action(a huntAct) Action {
	switch a.kind {
	case AskCheck:
		return Action{Kind: a.kind, Index: h.checks[a.index].index}
	case TryRemedy:
		return Action{Kind: a.kind, Index: h.remedies[a.index].index}
	}
	return Action{Kind: HandOver}
}

// mostDeferred bounds how many checks are put off in a row.
const mostDeferred = 4

// sameNext is the share of a check's answers that must lead to the same next
// step for the check to be put off behind it.
const sameNext = 0.97

// undeferred puts off a first check whose answer would not change what is done
// next: what comes next anyway is done first, and the check waits. The order of
// two steps that both come costs nothing, and the first may end the hunt. A
// search cut off by its budget is otherwise drawn to such checks, because the
// plan behind them has been looked into further.
func (h *hunt) undeferred(root *huntNode) huntAct {
	act := h.best
	for range mostDeferred {
		next, ok := h.nextAfter(root, act)
		if !ok {
			break
		}
		act = next
	}
	return act
}

// nextAfter is the step that follows a check whatever the answer.
func (h *hunt) nextAfter(n *huntNode, act huntAct) (next huntAct, ok bool) {
	if act.kind != AskCheck {
		return next, false
	}
	w, hyp, avail, kids := len(h.w), len(h.hyp), len(h.avail), len(h.kids)
	h.answer(n, n.avail, act.index)
	after := map[huntAct]float64{}
	for i := kids; i < len(h.kids); i++ {
		kid := &h.kids[i]
		share := 0.0
		for _, x := range kid.w {
			share += x
		}
		if e := h.memo.find(kid.key); e != nil {
			after[e.act] += share
			if after[e.act] >= sameNext*n.mass {
				next, ok = e.act, e.act.kind != HandOver
			}
		}
	}
	h.w, h.hyp, h.avail, h.kids = h.w[:w], h.hyp[:hyp], h.avail[:avail], h.kids[:kids]
	return next, ok
}

// takeTop takes the candidate with the best score out of the list.
func takeTop(cands []candidate) (candidate, []candidate) {
	at, last := 0, len(cands)-1
	for i := range cands {
		if cands[i].score > cands[at].score {
			at = i
		}
	}
	c := cands[at]
	cands[at] = cands[last]
	return c, cands[:last]
}

// follow plans on from a node after one action.
func (h *hunt) follow(n *huntNode, live []int32, c candidate, unit, cutoff float64) (up, low float64) {
	w, hyp, runs, avail, kids := len(h.w), len(h.hyp), len(h.runs), len(h.avail), len(h.kids)
	if c.kind == AskCheck {
		h.answer(n, live, c.index)
	} else {
		h.fail(n, live, c.index)
	}
	up, low = c.cost, c.cost
	last := len(h.kids)
	for i := kids; i < last; i++ {
		h.settle(&h.kids[i])
		h.kids[i].floor = h.floor(&h.kids[i], unit)
		low += h.kids[i].floor
	}
	// The likeliest branch first: it raises the floor fastest.
	slices.SortFunc(h.kids[kids:], func(a, b huntNode) int { return cmp.Compare(b.mass, a.mass) })
	for i := kids; i < last; i++ {
		if low >= cutoff {
			up = math.Inf(1)
			break
		}
		kid := &h.kids[i]
		u, l := h.plan(kid, cutoff-(low-kid.floor))
		up += u
		low += l - kid.floor
	}
	h.w, h.hyp, h.runs, h.avail, h.kids = h.w[:w], h.hyp[:hyp], h.runs[:runs], h.avail[:avail], h.kids[:kids]
	return up, low
}
