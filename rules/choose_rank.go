package rules

import (
	"math"
	"math/bits"
)

// candidate is an action at a node, before it is followed.
type candidate struct {
	kind  ActionKind
	index int32
	cost  float64 // of the action itself
	floor float64 // no plan that begins with it costs less
	score float64 // bits learned per minute
}

// tieShare is the weight of telling apart hypotheses that one remedy cures.
// It is worth nothing by itself, but where no single check tells remedies
// apart it leads to pairs of checks that do.
const tieShare = 0.2

// checkWork stands for what looking at a check costs beside its likelihoods.
const checkWork = 8

// tiny keeps what is free from dividing by zero.
const tiny = 1e-12

// crowd sums up the classes of a node.
type crowd struct {
	mass    float64
	logs    float64  // over classes, of m log m
	squares float64  // over hypotheses, of w²
	loss    float64  // over classes, of what each is bound to lose
	top     [2]int32 // classes with the greatest such loss, -1 where there is none
	classes int
}

// candidates lists what may be done at a node with a score each, and the
// checks that can still tell anything.
func (h *hunt) candidates(n *huntNode, unit float64) (cands []candidate, live []int32) {
	firstCand, firstLive := len(h.cands), len(h.avail)
	all := h.gather(n, unit)
	h.rankRemedies(n, unit, &all)
	before := xlog(n.mass) - all.logs - tieShare*all.squares/n.mass
	for _, c := range n.avail {
		ck := &h.checks[c]
		touched := h.touched(n, ck)
		if len(touched) == 0 {
			continue
		}
		h.avail = append(h.avail, c)
		cost := ck.cost
		for b := ck.opens &^ n.opened; b != 0; b &= b - 1 {
			cost += h.access[bits.TrailingZeros64(b)]
		}
		cost *= n.mass
		after, loss := h.rankCheck(ck, touched, &all)
		h.cands = append(h.cands, candidate{
			kind: AskCheck, index: c, cost: cost, floor: cost + n.ends + loss,
			score: (before - after) / (cost + tiny),
		})
	}
	h.scatter(n)
	return h.cands[firstCand:], h.avail[firstLive:len(h.avail):len(h.avail)]
}

// gather spreads a node over the arrays by hypothesis and by class that
// ranking looks things up in; scatter clears them.
func (h *hunt) gather(n *huntNode, unit float64) crowd {
	all := crowd{mass: n.mass, top: [2]int32{-1, -1}, classes: len(n.runs)}
	for i, y := range n.hyp {
		h.weight[y] = n.w[i]
		all.squares += n.w[i] * n.w[i]
	}
	for i := range n.runs {
		r := &n.runs[i]
		loss := h.bound(r, unit)
		h.classCount[r.class], h.classMass[r.class], h.loss[r.class] = r.n, r.mass, loss
		r.log = xlog(r.mass)
		all.logs += r.log
		all.loss += loss
		if all.top[0] < 0 || loss > h.loss[all.top[0]] {
			all.top[0], all.top[1] = r.class, all.top[0]
		} else if all.top[1] < 0 || loss > h.loss[all.top[1]] {
			all.top[1] = r.class
		}
	}
	return all
}

func (h *hunt) scatter(n *huntNode) {
	for _, y := range n.hyp {
		h.weight[y] = 0
	}
	for _, r := range n.runs {
		h.classCount[r.class], h.classMass[r.class], h.loss[r.class] = 0, 0, 0
	}
}

// touched lists the hypotheses of a node that answer a check in another way
// than usual; none when it would come out alike under all that is left.
func (h *hunt) touched(n *huntNode, c *huntCheck) []int32 {
	t := h.touch[:0]
	if len(c.unusual) < 2*len(n.hyp) {
		for _, y := range c.unusual {
			if h.weight[y] > 0 {
				t = append(t, y)
			}
		}
	} else {
		for _, y := range n.hyp {
			if c.rowOf[y] != c.usual {
				t = append(t, y)
			}
		}
	}
	h.touch = t
	if len(t) < len(n.hyp) {
		return t
	}
	for _, y := range t[1:] {
		if c.rowOf[y] != c.rowOf[t[0]] {
			return t
		}
	}
	return nil
}

// rankCheck finds how uncertain the class will be after a check, in bits times
// mass, and what is bound to be lost then. Only classes with a hypothesis that
// changes the usual answer are worked out one by one; for all others the sums
// of the node, scaled, will do.
func (h *hunt) rankCheck(c *huntCheck, touched []int32, all *crowd) (after, loss float64) {
	o := c.outcomes
	h.spent += len(touched)*o + 2*o + checkWork
	sum, logs, most, squares, acc := h.sum[:o], h.logs[:o], h.most[:o], h.squares[:o], h.acc[:o]
	clear(sum)
	clear(logs)
	clear(most)
	clear(squares)
	usual := c.rows[c.usual : int(c.usual)+o]
	rest, restTop, seenSquares := *all, all.top[0], 0.0
	for i := 0; i < len(touched); {
		class := h.classOf[touched[i]]
		seen, count := 0.0, int32(0)
		clear(acc)
		for ; i < len(touched) && h.classOf[touched[i]] == class; i++ {
			w := h.weight[touched[i]]
			seen += w
			seenSquares += w * w
			count++
			at := int(c.rowOf[touched[i]])
			for k, l := range c.rows[at : at+o] {
				v := w * l
				acc[k] += v
				squares[k] += v * v
			}
		}
		mass, left := h.classMass[class], 0.0
		if count < h.classCount[class] {
			left = max(0, mass-seen)
		}
		per := h.loss[class] / mass
		for k, q := range usual {
			m := acc[k] + left*q
			sum[k] += m
			logs[k] += xlog(m)
			most[k] = max(most[k], per*m)
		}
		rest.mass -= mass
		rest.logs -= xlog(mass)
		rest.classes--
		if class == all.top[0] {
			restTop = all.top[1]
		}
	}
	restMost := 0.0
	if rest.classes == 0 {
		rest.mass, rest.logs = 0, 0
	} else {
		rest.mass, restMost = max(0, rest.mass), h.loss[restTop]
	}
	kept := 0.0
	for k, q := range usual {
		total := sum[k] + rest.mass*q
		if total <= 0 {
			continue
		}
		after += xlog(total) - logs[k] - q*rest.logs - rest.mass*c.usualLogs[k]
		after -= tieShare * (squares[k] + q*q*max(0, all.squares-seenSquares)) / total
		kept += max(most[k], q*restMost)
	}
	if h.overlap { // one remedy may then save several classes
		return after, 0
	}
	return after, max(0, all.loss-kept)
}

// saving is what a remedy takes off a node's sums: the classes that it cures.
type saving struct {
	mass, logs, ends, loss float64
	over                   float64 // what they pay above their cheapest end
}

// rankRemedies scores trying each remedy, which tells something, too. What it
// costs those that it cures is no price of learning but for the part above
// their cheapest end.
func (h *hunt) rankRemedies(n *huntNode, unit float64, all *crowd) {
	h.playRemedies(n)
	for i := range n.runs {
		r := &n.runs[i]
		loss, end := h.bound(r, unit), h.classes[r.class].end
		for _, m := range h.remediesOf(r.class) {
			s := &h.savings[m]
			s.mass += r.mass
			s.logs += r.log
			s.ends += r.mass * end
			s.loss += loss
			s.over += r.mass * (h.remedies[m].cost - end)
		}
	}
	first, second := 0.0, 0.0
	for _, m := range h.play {
		if v := h.savings[m].loss; v > first {
			first, second = v, first
		} else if v > second {
			second = v
		}
	}
	before := xlog(n.mass) - all.logs
	for _, m := range h.play {
		r, s := &h.remedies[m], &h.savings[m]
		left := 0.0
		if s.mass < n.mass*(1-1e-12) { // rounding dust is nobody
			left = n.mass - s.mass
		}
		other := first
		if s.loss == first {
			other = second
		}
		cost := n.mass*r.cost + left*r.wrong
		h.cands = append(h.cands, candidate{
			kind: TryRemedy, index: m, cost: cost,
			floor: cost + max(0, n.ends-s.ends) + max(0, all.loss-s.loss-other),
			score: (before - xlog(left) + all.logs - s.logs) / (s.over + left*(r.cost+r.wrong) + tiny),
		})
		h.savings[m], h.mass[m] = saving{}, 0
	}
}

const logBits = 9

// logTable holds log2 of 1 + i/512. Ranking needs a great many logarithms, and
// six digits are plenty for it.
var logTable = func() (t [1<<logBits + 1]float64) {
	for i := range t {
		t[i] = math.Log2(1 + float64(i)/(1<<logBits))
	}
	return t
}()

// xlog is x log2 x to about six digits, and zero at zero.
func xlog(x float64) float64 {
	b := math.Float64bits(x)
	exp := int(b >> 52)
	if exp == 0 { // zero, or too small to matter
		return 0
	}
	i := b >> (52 - logBits) & (1<<logBits - 1)
	part := float64(b&(1<<(52-logBits)-1)) * (1.0 / (1 << (52 - logBits)))
	lo := logTable[i]
	return x * (float64(exp-1023) + lo + part*(logTable[i+1]-lo))
}
