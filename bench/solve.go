package bench

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// ErrUnsolved is returned when the voltages of a network do not settle.
var ErrUnsolved = errors.New("the network does not settle")

const (
	// steps bounds one run of the iteration. Healthy networks need 4 or 5;
	// loads at the edge of what a weak pack gives need up to 40.
	steps = 120
	// settled is the change of a voltage, relative and absolute, below which
	// it counts as found: far below the last digit of any meter.
	settled = 1e-9
	// stride is how far one step may move a voltage. A junction or a limit
	// passed in one leap sends the iteration to and fro.
	stride = 25.0
)

// equations are the currents that do not balance at each node, and how they
// change with the voltages. Row and column 0, the reference, are left out.
type equations struct {
	size     int
	residual []float64
	slopes   []float64 // size x size, row by row
}

// flow lets amps leave node a and enter node b.
func (eq *equations) flow(a, b node, amps float64, slopes ...slope) {
	if a > 0 {
		eq.residual[a-1] += amps
	}
	if b > 0 {
		eq.residual[b-1] -= amps
	}
	for _, s := range slopes {
		if s.of == 0 {
			continue
		}
		if a > 0 {
			eq.slopes[int(a-1)*eq.size+int(s.of-1)] += s.siemen
		}
		if b > 0 {
			eq.slopes[int(b-1)*eq.size+int(s.of-1)] -= s.siemen
		}
	}
}

// balance fills the equations at the voltages v and returns the sum of the
// squared currents that do not balance.
func (eq *equations) balance(n *network, v []float64) float64 {
	clear(eq.residual)
	clear(eq.slopes)
	for _, b := range n.branches {
		b.add(eq, v)
	}
	sum := 0.0
	for _, r := range eq.residual {
		sum += r * r
	}
	return sum
}

// solve finds the voltage of every node, beginning from the guess (nil: all
// at zero). It gives up with ErrUnsolved after a bounded number of steps.
func (n *network) solve(guess []float64) ([]float64, error) {
	v := make([]float64, len(n.names))
	copy(v, guess)
	eq := &equations{size: len(n.names) - 1}
	eq.residual = make([]float64, eq.size)
	eq.slopes = make([]float64, eq.size*eq.size)
	if n.iterate(eq, v) {
		return v, nil
	}
	// From far away a load of constant power can lead astray: ramp such
	// loads up from nothing, each stage beginning where the last one ended.
	clear(v)
	for stage := 1; stage <= ramps; stage++ {
		if !n.scaled(float64(stage)/ramps).iterate(eq, v) {
			return nil, fmt.Errorf("solving %d nodes at %d of %d parts of the load: %w", eq.size, stage, ramps, ErrUnsolved)
		}
	}
	return v, nil
}

// ramps is the number of stages in which stubborn loads are brought up.
const ramps = 20

// scaled is the network with its constant-power loads at a part of theirs.
func (n *network) scaled(part float64) *network {
	out := &network{names: n.names, index: n.index, branches: make([]branch, len(n.branches))}
	for i, b := range n.branches {
		if p, ok := b.(power); ok {
			p.watt *= part
			b = p
		}
		out.branches[i] = b
	}
	return out
}

// iterate walks v to the solution by Newton steps, each shortened while it
// makes the balance worse. It says whether it arrived.
func (n *network) iterate(eq *equations, v []float64) bool {
	jacobian := mat.NewDense(eq.size, eq.size, eq.slopes)
	residual := mat.NewVecDense(eq.size, eq.residual)
	step := mat.NewVecDense(eq.size, nil)
	try := make([]float64, len(v))
	var lu mat.LU
	before := eq.balance(n, v)
	for range steps {
		lu.Factorize(jacobian)
		if err := lu.SolveVecTo(step, false, residual); err != nil {
			if _, poor := err.(mat.Condition); !poor {
				return false
			}
		}
		largest, done := 0.0, true
		for i := range eq.size {
			d := math.Abs(step.AtVec(i))
			if math.IsNaN(d) {
				return false
			}
			largest = math.Max(largest, d)
			done = done && d <= settled*(1+math.Abs(v[i+1]))
		}
		part := 1.0
		if largest > stride*4 {
			part = stride * 4 / largest
		}
		for halvings := 0; ; halvings++ {
			for i := range eq.size {
				try[i+1] = v[i+1] - part*step.AtVec(i)
			}
			after := eq.balance(n, try)
			if after <= before || done || halvings == 6 {
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
