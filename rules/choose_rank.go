package rules

import (
	"math"
	"slices"
)

// Guide is a knob.
var Guide = 0

func (h *hunt) stake(class int32) float64 {
	switch Guide {
	case 1, 3:
		c := &h.classes[class]
		d := h.handOver
		for _, m := range h.cures[c.from:c.to] {
			d = min(d, h.remedies[m].cost+h.remedies[m].wrong)
		}
		return d
	default:
		return 1
	}
}

// candidates lists what can be done at a node, most promising first.
func (h *hunt) candidates(n *huntNode, unit float64) (live []int32, from, to int) {
	from, fa := len(h.cands), len(h.avail)
	h.remedyCandidates(n, unit)
	base := 0.0
	for _, r := range n.runs {
		base += h.part(r.class, r.mass)
	}
	base = h.whole(base, n.mass)
	if Guide >= 2 {
		base += n.mass * math.Log(n.mass)
	}
	for _, c := range n.avail {
		ck := &h.checks[c]
		if h.same(n, ck) {
			continue
		}
		h.avail = append(h.avail, c)
		now := ck.cost
		for b := ck.opens &^ n.opened; b != 0; b &= b - 1 {
			now += h.access[trailing(b)]
		}
		now *= n.mass
		after, strays := h.guide(n, ck, unit)
		h.cands = append(h.cands, candidate{kind: AskCheck, index: c, now: now, low: now + n.ends + strays,
			score: ratio(base-after, now)})
	}
	slices.SortStableFunc(h.cands[from:], func(a, b candidate) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		}
		return 0
	})
	return h.avail[fa:len(h.avail):len(h.avail)], from, len(h.cands)
}

func ratio(gain, cost float64) float64 { return gain / (cost + 1e-12) }

func trailing(b uint64) int {
	n := 0
	for b&1 == 0 {
		b >>= 1
		n++
	}
	return n
}

// same says that the check would come out alike under all that is left.
func (h *hunt) same(n *huntNode, c *huntCheck) bool {
	id := c.rowID[n.hyp[0]]
	for _, y := range n.hyp[1:] {
		if c.rowID[y] != id {
			return false
		}
	}
	return true
}

func (h *hunt) part(class int32, m float64) float64 {
	switch Guide {
	case 0, 1:
		return h.stake(class) * m * m
	default:
		if m <= 0 {
			return 0
		}
		return h.stake(class) * m * math.Log(m)
	}
}

func (h *hunt) whole(parts, mass float64) float64 {
	switch Guide {
	case 0, 1:
		return -parts / mass
	default:
		return -parts
	}
}

func (h *hunt) guide(n *huntNode, c *huntCheck, unit float64) (after, strays float64) {
	o := c.outcomes
	h.spent += len(n.w) * o
	cur, tot, gin, stray, most := h.cur[:o], h.tot[:o], h.gin[:o], h.stray[:o], h.strayMost[:o]
	clear(tot)
	clear(gin)
	clear(stray)
	clear(most)
	at := 0
	for _, r := range n.runs {
		clear(cur)
		for i := at; i < at+int(r.n); i++ {
			w := n.w[i]
			y := int(n.hyp[i]) * o
			row := c.like[y : y+o]
			for k, l := range row {
				cur[k] += w * l
			}
		}
		at += int(r.n)
		g := min(unit, h.handOver-h.classes[r.class].end)
		for k, m := range cur {
			tot[k] += m
			gin[k] += h.part(r.class, m)
			stray[k] += g * m
			most[k] = max(most[k], g*m)
		}
	}
	for k := range tot {
		if tot[k] > 0 {
			if Guide >= 2 {
				after += tot[k] * math.Log(tot[k])
				after -= gin[k]
			} else {
				after += h.whole(gin[k], tot[k])
			}
			if !h.overlap {
				strays += max(0, stray[k]-most[k])
			}
		}
	}
	return after, strays
}

func (h *hunt) remedyCandidates(n *huntNode, unit float64) {
	base := 0.0
	for _, r := range n.runs {
		base += h.part(r.class, r.mass)
	}
	base = h.whole(base, n.mass)
	if Guide >= 2 {
		base += n.mass * math.Log(n.mass)
	}
	for m := range h.remedies {
		rem := &h.remedies[m]
		left, parts, ends, excess := 0.0, 0.0, 0.0, 0.0
		any := false
		for _, r := range n.runs {
			c := &h.classes[r.class]
			if slices.Contains(h.cures[c.from:c.to], int32(m)) {
				any = true
				excess += r.mass * (rem.cost - c.end)
				continue
			}
			left += r.mass
			ends += r.mass * c.end
			parts += h.part(r.class, r.mass)
		}
		if !any {
			continue
		}
		after := 0.0
		if left > 0 {
			after = h.whole(parts, left)
			if Guide >= 2 {
				after += left * math.Log(left)
			}
		}
		excess += left * (rem.cost + rem.wrong)
		now := rem.cost*n.mass + rem.wrong*left
		h.cands = append(h.cands, candidate{kind: TryRemedy, index: int32(m), now: now,
			low: now + ends + h.strays(n.runs, unit, int32(m)), score: ratio(base-after, excess)})
	}
}
