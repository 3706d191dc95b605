package rules

import (
	"math"
	"slices"
)

type searchState struct {
	opened uint64
	budget int
	spent  int
	stage  int
	tol    float64
	best   Action

	w     []float64
	hyp   []int32
	runs  []classRun
	avail []int32
	cands []candidate
	kids  []huntNode

	cur, tot, gin, stray, strayMost []float64
	mr                              []float64
	mro                             []float64
	seen                            []int32
	alive                           []bool

	memo memo
	cut  bool
}

// classRun is one class in a node: its mass and how many hypotheses it has.
type classRun struct {
	class int32
	n     int32
	mass  float64
}

// huntNode is a point in a plan: what is still possible, unnormalised.
type huntNode struct {
	w      []float64
	hyp    []int32
	runs   []classRun
	avail  []int32
	opened uint64
	key    uint64
	mass   float64
	ends   float64 // sum of mass times cheapest end
	low    float64
	depth  int
}

type candidate struct {
	kind  ActionKind
	index int32
	now   float64 // cost of the action itself
	low   float64
	score float64
}

func (h *hunt) choose(budget int) Action {
	h.budget, h.spent = budget, 0
	h.tol = 1e-10 * (1 + h.handOver)
	h.w, h.hyp, h.runs = append(h.w[:0], h.prob...), h.hyp[:0], h.runs[:0]
	h.avail, h.cands, h.kids = h.avail[:0], h.cands[:0], h.kids[:0]
	most := 1
	for i, c := range h.checks {
		h.avail = append(h.avail, int32(i))
		most = max(most, c.outcomes)
	}
	for i := range h.prob {
		h.hyp = append(h.hyp, int32(i))
	}
	h.cur, h.tot, h.gin = sized(h.cur, most), sized(h.tot, most), sized(h.gin, most)
	h.stray, h.strayMost = sized(h.stray, most), sized(h.strayMost, most)
	h.mr = sized(h.mr, len(h.remedies))
	h.mro = sized(h.mro, most*len(h.remedies))
	h.memo.reset()

	root := huntNode{w: h.w, hyp: h.hyp, avail: h.avail, opened: h.opened}
	h.settle(&root)
	root.low = h.lowerBound(&root, h.unit(&root))
	up := root.mass * h.handOver
	low := root.low
	h.best = Action{Kind: HandOver, Cost: up}
	for h.stage = 0; h.stage < 12; h.stage++ {
		h.cut = false
		u, l := h.plan(&root, math.Inf(1))
		up, low = min(up, u), max(low, l)
		if up-low <= h.tol || h.spent >= h.budget || !h.cut {
			break
		}
	}
	c := h.best
	c.AtLeast, c.Exact, c.Work = min(low, up), up-low <= h.tol, h.spent
	if h.best.Kind == HandOver {
		c.Cost = h.handOver
	}
	return c
}

func sized(s []float64, n int) []float64 { return slices.Grow(s[:0], n)[:n] }

// settle finds the classes of a node and its mass.
func (h *hunt) settle(n *huntNode) {
	from := len(h.runs)
	for i, y := range n.hyp {
		c := h.classOf[y]
		if last := len(h.runs) - 1; last >= from && h.runs[last].class == c {
			h.runs[last].n++
			h.runs[last].mass += n.w[i]
		} else {
			h.runs = append(h.runs, classRun{class: c, n: 1, mass: n.w[i]})
		}
	}
	n.runs = h.runs[from:len(h.runs):len(h.runs)]
	n.mass, n.ends = 0, 0
	for _, r := range n.runs {
		n.mass += r.mass
		n.ends += r.mass * h.classes[r.class].end
	}
}

// unit is the least that any step costs on a hypothesis it does not end.
func (h *hunt) unit(n *huntNode) float64 {
	u := h.handOver
	for _, c := range n.avail {
		u = min(u, h.checks[c].cost)
	}
	for _, r := range n.runs {
		for _, m := range h.cures[h.classes[r.class].from:h.classes[r.class].to] {
			u = min(u, h.remedies[m].cost+h.remedies[m].wrong)
		}
	}
	return u
}

func (h *hunt) lowerBound(n *huntNode, unit float64) float64 {
	return n.ends + h.strays(n.runs, unit, -1)
}

// strays: every hypothesis but those of one remedy pays at least unit, or the difference to hand-over.
func (h *hunt) strays(runs []classRun, unit float64, without int32) float64 {
	if unit == 0 {
		return 0
	}
	clear(h.mr)
	sum := 0.0
	for _, r := range runs {
		c := &h.classes[r.class]
		rems := h.cures[c.from:c.to]
		if without >= 0 && slices.Contains(rems, without) {
			continue
		}
		g := min(unit, h.handOver-c.end) * r.mass
		sum += g
		for _, m := range rems {
			h.mr[m] += g
		}
	}
	most := 0.0
	for _, v := range h.mr {
		most = max(most, v)
	}
	return max(0, sum-most)
}

// actNow is the cost of the best plan found that asks nothing.
func (h *hunt) actNow(n *huntNode) (cost float64, first int32) {
	clear(h.mr)
	h.alive = h.alive[:0]
	for _, r := range n.runs {
		c := &h.classes[r.class]
		for _, m := range h.cures[c.from:c.to] {
			h.mr[m] += r.mass
		}
		h.alive = append(h.alive, true)
	}
	cost, first = h.handOver*n.mass, -1
	left, spent, ends := n.mass, 0.0, n.ends
	one := int32(-1)
	for {
		pick, ratio := int32(-1), 0.0
		for m, mass := range h.mr {
			if q := mass / (h.remedies[m].cost + h.remedies[m].wrong); mass > 0 && (pick < 0 || q > ratio) {
				pick, ratio = int32(m), q
			}
		}
		if pick < 0 {
			break
		}
		if one < 0 {
			one = pick
		}
		before := left
		left, ends = 0, 0
		for i, r := range n.runs {
			if !h.alive[i] {
				continue
			}
			c := &h.classes[r.class]
			rems := h.cures[c.from:c.to]
			if slices.Contains(rems, pick) {
				h.alive[i] = false
				for _, m := range rems {
					h.mr[m] -= r.mass
				}
				continue
			}
			left += r.mass
			ends += r.mass * c.end
		}
		h.mr[pick] = 0
		spent += before*h.remedies[pick].cost + left*h.remedies[pick].wrong
		if total := spent + left*h.handOver; total < cost {
			cost, first = total, one
		}
		if spent+ends >= cost {
			break
		}
	}
	return cost, first
}

func (h *hunt) width(depth int) int {
	return Widths(h.stage, depth)
}

// Widths is a knob.
var Widths = func(stage, depth int) int {
	if stage == 0 {
		return 1
	}
	w := 3 << stage
	w >>= 2 * depth
	return max(1, w)
}

// MinMass is a knob.
var MinMass = func(stage int) float64 {
	if stage > 4 {
		return 0
	}
	return 0.01 / float64(int(1)<<(2*stage))
}

// Trim is a knob.
var Trim = 0.0

func (h *hunt) plan(n *huntNode, cutoff float64) (up, low float64) {
	if n.mass <= 0 {
		return 0, 0
	}
	low = n.low
	var first int32
	up, first = h.actNow(n)
	root := n.depth == 0
	if root {
		if up < h.best.Cost {
			h.best = Action{Kind: TryRemedy, Index: h.remedies[max(0, first)].index, Cost: up}
			if first < 0 {
				h.best = Action{Kind: HandOver, Cost: up}
			}
		}
		up = h.best.Cost
	}
	var e *memoEntry
	if !root {
		e = h.memo.find(n.key)
		if e != nil {
			up, low = min(up, e.up), max(low, e.low)
			if e.stage == int32(h.stage) && e.done {
				return up, low
			}
		}
	}
	if up-low <= h.tol || low >= cutoff {
		return up, low
	}
	if h.spent >= h.budget || n.mass < MinMass(h.stage) {
		h.cut = true
		return up, low
	}
	mw, mh, mrn, ma, mc := len(h.w), len(h.hyp), len(h.runs), len(h.avail), len(h.cands)
	unit := h.unit(n)
	low = max(low, h.lowerBound(n, unit))
	live, from, to := h.candidates(n, unit)
	wide := h.width(n.depth)
	least := h.handOver * n.mass
	taken := 0
	for i := from; i < to; i++ {
		c := h.cands[i]
		if c.low >= min(up, cutoff)-h.tol {
			least = min(least, c.low)
			continue
		}
		if taken >= wide || h.spent >= h.budget {
			least = min(least, c.low)
			h.cut = true
			continue
		}
		taken++
		u, l := h.follow(n, live, c, unit, min(up, cutoff))
		if u < up-h.tol {
			up = u
			if root {
				idx := 0
				if c.kind == AskCheck {
					idx = h.checks[c.index].index
				} else {
					idx = h.remedies[c.index].index
				}
				h.best = Action{Kind: c.kind, Index: idx, Cost: up}
			}
		}
		least = min(least, l)
	}
	low = min(up, max(low, least))
	h.w, h.hyp, h.runs, h.avail, h.cands = h.w[:mw], h.hyp[:mh], h.runs[:mrn], h.avail[:ma], h.cands[:mc]
	if !root {
		h.memo.store(n.key, up, low, int32(h.stage), cutoff >= up)
	}
	return up, low
}

// follow evaluates one action.
func (h *hunt) follow(n *huntNode, live []int32, c candidate, unit, cutoff float64) (up, low float64) {
	mw, mh, mrn, ma := len(h.w), len(h.hyp), len(h.runs), len(h.avail)
	defer func() { h.w, h.hyp, h.runs, h.avail = h.w[:mw], h.hyp[:mh], h.runs[:mrn], h.avail[:ma] }()
	if c.kind == TryRemedy {
		kid := h.without(n, live, c.index)
		kid.low = h.lowerBound(&kid, unit)
		u, l := h.plan(&kid, cutoff-c.now)
		return c.now + u, c.now + l
	}
	from := len(h.kids)
	lost := h.split(n, live, c.index, unit)
	up, low = c.now+lost*h.handOver, c.now
	for _, k := range h.kids[from:] {
		low += k.low
	}
	kids := h.kids[from:]
	slices.SortFunc(kids, func(a, b huntNode) int {
		if a.mass > b.mass {
			return -1
		}
		if a.mass < b.mass {
			return 1
		}
		return 0
	})
	for i := range kids {
		if low >= cutoff {
			up = math.Inf(1)
			break
		}
		kid := h.kids[from+i]
		u, l := h.plan(&kid, cutoff-(low-kid.low))
		up += u
		low += l - kid.low
	}
	h.kids = h.kids[:from]
	return up, low
}

func (h *hunt) without(n *huntNode, live []int32, rem int32) huntNode {
	fw, fh := len(h.w), len(h.hyp)
	at := 0
	for _, r := range n.runs {
		c := &h.classes[r.class]
		if !slices.Contains(h.cures[c.from:c.to], rem) {
			h.w = append(h.w, n.w[at:at+int(r.n)]...)
			h.hyp = append(h.hyp, n.hyp[at:at+int(r.n)]...)
		}
		at += int(r.n)
	}
	kid := huntNode{w: h.w[fw:len(h.w):len(h.w)], hyp: h.hyp[fh:len(h.hyp):len(h.hyp)], avail: live, opened: n.opened, key: n.key + zobrist(1<<32|uint64(rem)), depth: n.depth + 1}
	h.settle(&kid)
	return kid
}

func (h *hunt) split(n *huntNode, live []int32, check int32, unit float64) (lost float64) {
	c := &h.checks[check]
	h.spent += len(n.w) * c.outcomes
	fa := len(h.avail)
	for _, a := range live {
		if a != check {
			h.avail = append(h.avail, a)
		}
	}
	avail := h.avail[fa:len(h.avail):len(h.avail)]
	for o := 0; o < c.outcomes; o++ {
		fw, fh := len(h.w), len(h.hyp)
		sum := 0.0
		for i, y := range n.hyp {
			if v := n.w[i] * c.like[int(y)*c.outcomes+o]; v > 0 {
				h.w = append(h.w, v)
				h.hyp = append(h.hyp, y)
				sum += v
			}
		}
		if sum == 0 {
			continue
		}
		if Trim > 0 {
			thr := sum * Trim
			k := fw
			for i := fw; i < len(h.w); i++ {
				if h.w[i] >= thr {
					h.w[k], h.hyp[k-fw+fh] = h.w[i], h.hyp[i-fw+fh]
					k++
				} else {
					lost += h.w[i]
				}
			}
			h.w, h.hyp = h.w[:k], h.hyp[:k-fw+fh]
		}
		kid := huntNode{w: h.w[fw:len(h.w):len(h.w)], hyp: h.hyp[fh:len(h.hyp):len(h.hyp)], avail: avail,
			opened: n.opened | c.opens, key: n.key + zobrist(uint64(check)<<16|uint64(o)+1), depth: n.depth + 1}
		h.settle(&kid)
		kid.low = h.lowerBound(&kid, unit)
		h.kids = append(h.kids, kid)
	}
	return lost
}

func zobrist(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
