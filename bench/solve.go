package bench

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/lapack64"
)

// ErrUnsolved is returned when the voltages of a network do not settle.
var ErrUnsolved = errors.New("the network does not settle")

const (
	// steps bounds one run of the iteration; a healthy network needs 4 or 5,
	// one whose pack gives way under the motor up to 40.
	steps = 100
	// settled is the change of a voltage, relative and absolute, below which
	// it counts as found: a thousandth of the last digit of the meter, and
	// above the rounding of a point that only insulation holds.
	settled = 1e-6
	// even is the sum of squared currents, in A², that is rounding alone.
	even = 1e-18
	// stride is how far one step may move a voltage. A junction or a limit
	// passed in one leap sends the iteration to and fro.
	stride = 100.0
)

// equations say, for each of their nodes, that its currents balance: slopes times
// voltages is what is fed in. A straight branch is written as it is; a bent one by
// its tangent at the voltages of the last step.
type equations struct {
	size   int
	row    []int // by node; -1 where it has none, as the reference
	nodes  []node
	fed    []float64
	slopes []float64 // size x size, row by row
}

func newEquations(all int, nodes []node) *equations {
	eq := &equations{size: len(nodes), row: make([]int, all), nodes: nodes}
	for i := range eq.row {
		eq.row[i] = -1
	}
	for r, i := range nodes {
		eq.row[i] = r
	}
	eq.fed = make([]float64, eq.size)
	eq.slopes = make([]float64, eq.size*eq.size)
	return eq
}

// flow lets a current leave node a and enter node b: fixed amps and, on top,
// the slopes times their nodes' voltages.
func (eq *equations) flow(a, b node, fixed float64, slopes ...slope) {
	from, to := eq.row[a], eq.row[b]
	if from >= 0 {
		eq.fed[from] -= fixed
	}
	if to >= 0 {
		eq.fed[to] += fixed
	}
	for _, s := range slopes {
		of := eq.row[s.of]
		if of < 0 {
			continue
		}
		if from >= 0 {
			eq.slopes[from*eq.size+of] += s.siemen
		}
		if to >= 0 {
			eq.slopes[to*eq.size+of] -= s.siemen
		}
	}
}

// bend is flow for a branch that is not straight: amps are what it carries at
// the voltages v.
func (eq *equations) bend(v []float64, a, b node, amps float64, slopes ...slope) {
	for _, s := range slopes {
		amps -= s.siemen * v[s.of]
	}
	eq.flow(a, b, amps, slopes...)
}

// balance fills the equations at the voltages v and returns the sum of the
// squared currents that do not balance there.
func (eq *equations) balance(c *condensed, v, from []float64, hold float64) float64 {
	copy(eq.fed, c.fed)
	copy(eq.slopes, c.slopes)
	for _, b := range c.bent {
		b.add(eq, v)
	}
	if hold > 0 {
		for r, i := range eq.nodes {
			eq.slopes[r*eq.size+r] += hold
			eq.fed[r] += hold * from[i]
		}
	}
	sum := 0.0
	for r := range eq.size {
		x := -eq.fed[r]
		for j, g := range eq.slopes[r*eq.size : (r+1)*eq.size] {
			x += g * v[eq.nodes[j]]
		}
		sum += x * x
	}
	return sum
}

// solve finds the voltage of every node, beginning from the guess (nil: all
// at zero). It gives up with ErrUnsolved after a bounded number of steps.
func (n *network) solve(guess []float64) ([]float64, error) {
	v := make([]float64, len(n.names))
	copy(v, guess)
	c := n.condense()
	if c.afloat {
		return nil, fmt.Errorf("solving %d nodes, one of which nothing holds: %w", len(n.names)-1, ErrUnsolved)
	}
	eq := newEquations(len(n.names), c.nodes)
	if c.iterate(eq, v, 0, steps) {
		c.restore(v)
		return v, nil
	}
	// From far away a supply that folds back, or a load of constant power, can
	// lead astray. Follow the network then as it comes up, each node with a
	// charge of its own: small steps of time first, that hold every voltage
	// near the last one, then ever longer ones.
	clear(v)
	copy(v, guess)
	for hold := holdFirst; hold > holdLast; hold *= holdNext {
		c.iterate(eq, v, hold, 4)
	}
	if !c.iterate(eq, v, 0, steps) {
		return nil, fmt.Errorf("solving %d nodes: %w", len(n.names)-1, ErrUnsolved)
	}
	c.restore(v)
	return v, nil
}

// The conductance, in S, with which each node is held to its last voltage on
// the slow way: from more than any load's own, to less than a meter's.
const (
	holdFirst = 3.0
	holdLast  = 1e-10
	holdNext  = 0.6
)

// iterate walks v to the solution by Newton steps, each shortened while it
// makes the balance worse, and says whether it arrived. Each node is held to
// the voltage it came with by a conductance, 0 for the network itself.
func (c *condensed) iterate(eq *equations, v []float64, hold float64, steps int) bool {
	// Factored in place, without the estimate of the condition that package
	// mat adds: it would double the time, and a poor condition is normal here,
	// with milliohms beside the gigaohms of insulation.
	slopes := blas64.General{Rows: eq.size, Cols: eq.size, Stride: eq.size, Data: eq.slopes}
	target := make([]float64, len(v))
	fed := blas64.General{Rows: eq.size, Cols: 1, Stride: 1, Data: eq.fed}
	pivots := make([]int, eq.size)
	try := append([]float64(nil), v...)
	from := append([]float64(nil), v...)
	before := eq.balance(c, v, from, hold)
	for range steps {
		if !lapack64.Getrf(slopes, pivots) {
			return false
		}
		lapack64.Getrs(blas.NoTrans, slopes, fed, pivots)
		largest, done := 0.0, true
		for r, i := range eq.nodes {
			target[i] = eq.fed[r]
			d := math.Abs(target[i] - v[i])
			if math.IsNaN(d) {
				return false
			}
			largest = math.Max(largest, d)
			done = done && d <= settled*(1+math.Abs(v[i]))
		}
		part := math.Min(c.stop(v, target), stride/math.Max(largest, stride))
		for halvings := 0; ; halvings++ {
			for _, i := range eq.nodes {
				try[i] = v[i] + part*(target[i]-v[i])
			}
			after := eq.balance(c, try, from, hold)
			if after <= before+even || done || halvings == 6 {
				before = after
				break
			}
			part /= 2
		}
		copy(v, try)
		if done {
			return true
		}
	}
	return false
}

// stop is the part of a step, at most 1, that leaps over no knee: a leap ends
// in the middle of the stiff stretch.
func (c *condensed) stop(v []float64, next []float64) float64 {
	part := 1.0
	for _, b := range c.bent {
		k, ok := b.(kneed)
		if !ok {
			continue
		}
		a, b, low, high := k.knee()
		old, new := v[a]-v[b], next[a]-next[b]
		if (old < low && new > high) || (old > high && new < low) {
			part = math.Min(part, ((low+high)/2-old)/(new-old))
		}
	}
	return part
}
