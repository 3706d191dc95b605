package rules

import "slices"

// remediesOf are the remedies that cure a class.
func (h *hunt) remediesOf(class int32) []int32 {
	c := &h.classes[class]
	return h.cures[c.from:c.to]
}

// playRemedies lists the remedies that cure anything at a node in h.play, with
// the mass that each cures in h.mass.
func (h *hunt) playRemedies(n *huntNode) {
	h.play = h.play[:0]
	for i := range n.runs {
		r := &n.runs[i]
		for _, m := range h.remediesOf(r.class) {
			if h.mass[m] == 0 {
				h.play = append(h.play, m)
			}
			h.mass[m] += r.mass
		}
	}
}

// actNow is the cost of the best plan found that asks nothing more: remedies
// in the order of what they cure for their price, until handing over is
// cheaper. first is the remedy it begins with, -1 for handing over.
func (h *hunt) actNow(n *huntNode) (cost float64, first int32) {
	h.playRemedies(n)
	for i := range n.runs {
		n.runs[i].gone = false
	}
	cost, first = h.handOver*n.mass, -1
	begin := int32(-1)
	left, spent := n.mass, 0.0
	for len(h.play) > 0 {
		pick := h.takeBest()
		if begin < 0 {
			begin = pick
		}
		before, ends := left, 0.0
		left = 0
		for i := range n.runs {
			r := &n.runs[i]
			if r.gone {
				continue
			}
			if rems := h.remediesOf(r.class); slices.Contains(rems, pick) {
				r.gone = true
				for _, m := range rems {
					h.mass[m] = max(0, h.mass[m]-r.mass)
				}
				continue
			}
			left += r.mass
			ends += r.mass * h.classes[r.class].end
		}
		h.mass[pick] = 0
		spent += before*h.remedies[pick].cost + left*h.remedies[pick].wrong
		if total := spent + left*h.handOver; total < cost {
			cost, first = total, begin
		}
		if spent+ends >= cost {
			break
		}
	}
	for _, m := range h.play {
		h.mass[m] = 0
	}
	return cost, first
}

// takeBest takes the remedy that cures most for its price out of h.play.
func (h *hunt) takeBest() int32 {
	at, best := 0, -1.0
	for i, m := range h.play {
		r := &h.remedies[m]
		if q := h.mass[m] / (r.cost + r.wrong + tiny); q > best {
			at, best = i, q
		}
	}
	pick, last := h.play[at], len(h.play)-1
	h.play[at] = h.play[last]
	h.play = h.play[:last]
	return pick
}

// unit is the least that any step from here on costs a hypothesis that it does
// not end.
func (h *hunt) unit(n *huntNode) float64 {
	u := h.handOver
	for _, c := range n.avail {
		u = min(u, h.checks[c].cost)
	}
	for i := range n.runs {
		for _, m := range h.remediesOf(n.runs[i].class) {
			u = min(u, h.remedies[m].cost+h.remedies[m].wrong)
		}
	}
	return u
}

// bound is what a class is bound to lose, above its cheapest end, wherever
// another remedy is the one that comes first: a step that does not end it, or
// being handed over.
func (h *hunt) bound(r *classRun, unit float64) float64 {
	return min(unit, h.handOver-h.classes[r.class].end) * r.mass
}

// floor is a cost that no plan from this node can go below. Every hypothesis
// pays its cheapest end. The first step is either a check, and all pay for it;
// or handing over, and all pay the difference; or a remedy, and all but those
// it cures pay. So at best the hypotheses of one remedy get off free.
func (h *hunt) floor(n *huntNode, unit float64) float64 {
	if unit == 0 {
		return n.ends
	}
	all, most := 0.0, 0.0
	for i := range n.runs {
		r := &n.runs[i]
		b := h.bound(r, unit)
		all += b
		for _, m := range h.remediesOf(r.class) {
			h.saved[m] += b
			most = max(most, h.saved[m])
		}
	}
	for i := range n.runs {
		for _, m := range h.remediesOf(n.runs[i].class) {
			h.saved[m] = 0
		}
	}
	return n.ends + max(0, all-most)
}
