package bench

import (
	"cmp"
	"slices"
)

// condensed is a network without the nodes that only straight branches touch.
// Those are half of all and follow from the others by a sum: they are taken out
// once, one by one, and the steps of the iteration go over the rest alone.
type condensed struct {
	nodes  []node    // that are left
	fed    []float64 // what straight branches feed in there
	slopes []float64 // their conductances, len(nodes) squared
	bent   []branch
	out    []takenOut // in the order in which they were taken
	afloat bool       // a node that was taken out has no conductance to anything
}

// takenOut is a node that is gone: its voltage is what is fed in, less its
// conductances times the voltages of its neighbours, over its own conductance.
type takenOut struct {
	node    node
	fed     float64
	own     float64
	to      []node
	siemens []float64
}

// condense takes the straight nodes out, those with few neighbours first. All
// conductances are positive and every node of a bike leaks to the reference, so the
// pivots are sound without a search.
func (n *network) condense() *condensed {
	c := &condensed{}
	all := make([]node, 0, len(n.names))
	for i := 1; i < len(n.names); i++ {
		all = append(all, node(i))
	}
	full := newEquations(len(n.names), all)
	touched := make([]bool, len(n.names))
	for _, b := range n.branches {
		switch b.(type) {
		case resistor, source:
			b.add(full, nil)
		default:
			c.bent = append(c.bent, b)
			for _, i := range b.touches() {
				touched[i] = true
			}
		}
	}
	var straight []node
	neighbours := make([][]node, len(n.names))
	for _, i := range all {
		if touched[i] {
			c.nodes = append(c.nodes, i)
		} else {
			straight = append(straight, i)
		}
		for j, g := range full.slopes[(i-1)*node(full.size) : i*node(full.size)] {
			if g != 0 && j != int(i-1) {
				neighbours[i] = append(neighbours[i], node(j+1))
			}
		}
	}
	slices.SortStableFunc(straight, func(a, b node) int { return cmp.Compare(len(neighbours[a]), len(neighbours[b])) })
	gone := make([]bool, len(n.names))
	for _, i := range straight {
		c.takeOut(full, i, gone)
		gone[i] = true
	}
	c.fed = make([]float64, len(c.nodes))
	c.slopes = make([]float64, len(c.nodes)*len(c.nodes))
	for r, i := range c.nodes {
		c.fed[r] = full.fed[i-1]
		for k, j := range c.nodes {
			c.slopes[r*len(c.nodes)+k] = full.slopes[int(i-1)*full.size+int(j-1)]
		}
	}
	return c
}

// takeOut solves one node's equation for it and puts it into its neighbours'.
func (c *condensed) takeOut(full *equations, i node, gone []bool) {
	row := full.slopes[int(i-1)*full.size : int(i)*full.size]
	t := takenOut{node: i, fed: full.fed[i-1], own: row[i-1]}
	if t.own <= 0 {
		c.afloat = true
		return
	}
	for j, g := range row {
		if at := node(j + 1); g != 0 && at != i && !gone[at] {
			t.to, t.siemens = append(t.to, at), append(t.siemens, g)
		}
	}
	for _, j := range t.to {
		share := full.slopes[int(j-1)*full.size+int(i-1)] / t.own
		full.fed[j-1] -= share * t.fed
		for k, to := range t.to {
			full.slopes[int(j-1)*full.size+int(to-1)] -= share * t.siemens[k]
		}
	}
	c.out = append(c.out, t)
}

// restore finds the voltages of the nodes that were taken out.
func (c *condensed) restore(v []float64) {
	for _, t := range slices.Backward(c.out) {
		x := t.fed
		for k, to := range t.to {
			x -= t.siemens[k] * v[to]
		}
		v[t.node] = x / t.own
	}
}
