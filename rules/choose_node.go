package rules

import "slices"

// answer pushes the nodes after each outcome of a check.
func (h *hunt) answer(n *huntNode, live []int32, check int32) {
	c := &h.checks[check]
	h.spent += len(n.w) * c.outcomes
	from := len(h.avail)
	for _, a := range live {
		if a != check {
			h.avail = append(h.avail, a)
		}
	}
	kid := huntNode{avail: h.avail[from:len(h.avail):len(h.avail)], opened: n.opened | c.opens, depth: n.depth + 1}
	for o := range c.outcomes {
		fromW, fromHyp := len(h.w), len(h.hyp)
		for i, y := range n.hyp {
			if v := n.w[i] * c.rows[int(c.rowOf[y])+o]; v > 0 {
				h.w = append(h.w, v)
				h.hyp = append(h.hyp, y)
			}
		}
		if len(h.w) == fromW {
			continue
		}
		kid.w, kid.hyp = h.w[fromW:len(h.w):len(h.w)], h.hyp[fromHyp:len(h.hyp):len(h.hyp)]
		kid.key = n.key + scrambled(uint64(check)<<32+uint64(o))
		h.kids = append(h.kids, kid)
	}
}

// fail pushes the node after a remedy that did not cure, if there is any.
func (h *hunt) fail(n *huntNode, live []int32, remedy int32) {
	fromW, fromHyp, at := len(h.w), len(h.hyp), 0
	for _, r := range n.runs {
		end := at + int(r.n)
		if !slices.Contains(h.remediesOf(r.class), remedy) {
			h.w = append(h.w, n.w[at:end]...)
			h.hyp = append(h.hyp, n.hyp[at:end]...)
		}
		at = end
	}
	if len(h.w) == fromW {
		return
	}
	h.kids = append(h.kids, huntNode{
		w: h.w[fromW:len(h.w):len(h.w)], hyp: h.hyp[fromHyp:len(h.hyp):len(h.hyp)], avail: live,
		opened: n.opened, key: n.key + scrambled(remedyKey+uint64(remedy)), depth: n.depth + 1,
	})
}

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

// remedyKey keeps the keys of remedies apart from those of answers.
const remedyKey = 1 << 63

// scrambled spreads a number over 64 bits, so that a sum of such numbers names
// a set of answers in whatever order they came.
func scrambled(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}
