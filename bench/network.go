package bench

import "math"

// node is a point of the network. Node 0 is the pack's minus, the reference.
type node int

// open is the resistance of what does not conduct at all.
var open = math.Inf(1)

// network is a set of branches between named nodes.
type network struct {
	names    []string // by node; names[0] is the reference
	index    map[string]node
	branches []branch
}

// branch is an element of the network.
type branch interface {
	// add puts the branch's currents at the node voltages v, and how they
	// change with them, into the equations.
	add(eq *equations, v []float64)
	// touches are the nodes whose voltages it depends on or feeds.
	touches() []node
	// spice is the same element as a line of a SPICE netlist; id is unique in
	// the netlist and name gives a node's name there.
	spice(id int, name func(node) string) string
}

// kneed is a branch with a short stiff stretch between two flat ones. A step
// from one flat stretch must not leap to the other: from there the way back
// would leap again, for ever.
type kneed interface {
	// knee is the stiff stretch, as the voltage from a to b.
	knee() (a, b node, from, to float64)
}

func newNetwork() *network {
	return &network{names: []string{"pack-minus"}, index: map[string]node{"pack-minus": 0}}
}

// at finds the node of a name, making it at the first use.
func (n *network) at(name string) node {
	if i, ok := n.index[name]; ok {
		return i
	}
	i := node(len(n.names))
	n.names = append(n.names, name)
	n.index[name] = i
	return i
}

func (n *network) add(b branch) { n.branches = append(n.branches, b) }

// resist joins two nodes by a resistance; an open one joins nothing, but the
// nodes exist all the same, so that a probe can be put there.
func (n *network) resist(a, b string, ohm float64) {
	from, to := n.at(a), n.at(b)
	if from == to || math.IsInf(ohm, 1) {
		return
	}
	n.add(resistor{from, to, ohm})
}

// slope is how a branch current changes with the voltage of one node.
type slope struct {
	of     node
	siemen float64
}

// resistor is any conductor.
type resistor struct {
	a, b node
	ohm  float64
}

func (r resistor) add(eq *equations, _ []float64) {
	g := 1 / r.ohm
	eq.flow(r.a, r.b, 0, slope{r.a, g}, slope{r.b, -g})
}

func (r resistor) touches() []node { return []node{r.a, r.b} }

// source is a voltage behind a resistance: cells, or the voltage a turning
// winding makes.
type source struct {
	plus, minus node
	volts, ohm  float64
}

func (s source) add(eq *equations, _ []float64) {
	g := 1 / s.ohm
	eq.flow(s.plus, s.minus, -s.volts*g, slope{s.plus, g}, slope{s.minus, -g})
}

func (s source) touches() []node { return []node{s.plus, s.minus} }

// follower is a ratiometric sensor's output: a fraction of its own supply,
// behind a resistance. What it gives comes from its supply, what it takes
// goes to its ground.
type follower struct {
	supply, ground, out node
	fraction, ohm       float64
}

func (f follower) add(eq *equations, v []float64) {
	g := 1 / f.ohm
	amps := (v[f.ground] + f.fraction*(v[f.supply]-v[f.ground]) - v[f.out]) * g
	from := f.supply
	if amps < 0 {
		from = f.ground
	}
	eq.flow(from, f.out, 0,
		slope{f.supply, f.fraction * g}, slope{f.ground, (1 - f.fraction) * g}, slope{f.out, -g})
}

func (f follower) touches() []node { return []node{f.supply, f.ground, f.out} }
