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

// equations say, for each node but the reference, that its currents balance:
// slopes times voltages is what is fed in. A straight branch is written as it
// is; a bent one by its tangent at the voltages of the last step.
type equations struct {
	size   int
	fed    []float64
	slopes []float64 // size x size, row by row
}

// flow lets a current leave node a and enter node b: fixed amps and, on top,
// the slopes times their nodes' voltages.
func (eq *equations) flow(a, b node, fixed float64, slopes ...slope) {
	if a > 0 {
		eq.fed[a-1] -= fixed
	}
	if b > 0 {
		eq.fed[b-1] += fixed
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
func (eq *equations) balance(n *network, v, from []float64, hold float64) float64 {
	clear(eq.fed)
	clear(eq.slopes)
	for _, b := range n.branches {
		b.add(eq, v)
	}
	if hold > 0 {
		for i := range eq.size {
			eq.slopes[i*eq.size+i] += hold
			eq.fed[i] += hold * from[i+1]
		}
	}
	sum := 0.0
	for i := range eq.size {
		r := -eq.fed[i]
		for j, g := range eq.slopes[i*eq.size : (i+1)*eq.size] {
			r += g * v[j+1]
		}
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
	eq.fed = make([]float64, eq.size)
	eq.slopes = make([]float64, eq.size*eq.size)
	if n.iterate(eq, v, 0, steps) {
		return v, nil
	}
	// From far away a supply that folds back, or a load of constant power, can
	// lead astray. Follow the network then as it comes up, each node with a
	// charge of its own: small steps of time first, that hold every voltage
	// near the last one, then ever longer ones.
	clear(v)
	copy(v, guess)
	for hold := holdFirst; hold > holdLast; hold *= holdNext {
		n.iterate(eq, v, hold, 4)
	}
	if !n.iterate(eq, v, 0, steps) {
		return nil, fmt.Errorf("solving %d nodes: %w", eq.size, ErrUnsolved)
	}
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
func (n *network) iterate(eq *equations, v []float64, hold float64, steps int) bool {
	// Factored in place, without the estimate of the condition that package
	// mat adds: it would double the time, and a poor condition is normal here,
	// with milliohms beside the gigaohms of insulation.
	slopes := blas64.General{Rows: eq.size, Cols: eq.size, Stride: eq.size, Data: eq.slopes}
	target := make([]float64, eq.size)
	fed := blas64.General{Rows: eq.size, Cols: 1, Stride: 1, Data: eq.fed}
	pivots := make([]int, eq.size)
	try := make([]float64, len(v))
	from := append([]float64(nil), v...)
	before := eq.balance(n, v, from, hold)
	for range steps {
		if !lapack64.Getrf(slopes, pivots) {
			return false
		}
		lapack64.Getrs(blas.NoTrans, slopes, fed, pivots)
		copy(target, eq.fed)
		largest, done := 0.0, true
		for i := range eq.size {
			d := math.Abs(target[i] - v[i+1])
			if math.IsNaN(d) {
				return false
			}
			largest = math.Max(largest, d)
			done = done && d <= settled*(1+math.Abs(v[i+1]))
		}
		part := math.Min(n.stop(v, target), stride/math.Max(largest, stride))
		for halvings := 0; ; halvings++ {
			for i := range eq.size {
				try[i+1] = v[i+1] + part*(target[i]-v[i+1])
			}
			after := eq.balance(n, try, from, hold)
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
func (n *network) stop(v []float64, next []float64) float64 {
	part := 1.0
	to := func(i node) float64 {
		if i == 0 {
			return 0
		}
		return next[i-1]
	}
	for _, b := range n.branches {
		k, ok := b.(kneed)
		if !ok {
			continue
		}
		a, b, low, high := k.knee()
		old, new := v[a]-v[b], to(a)-to(b)
		if (old < low && new > high) || (old > high && new < low) {
			part = math.Min(part, ((low+high)/2-old)/(new-old))
		}
	}
	return part
}
