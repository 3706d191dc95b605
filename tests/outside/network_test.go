package outside_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/rules"
)

// world is one assignment of truth values to the variables of a network.
type world map[string]bool

// network is a Bayesian network over truth values, laid out as the list of all
// its worlds, so that rules.Weights can hold a belief over them.
type network struct {
	worlds []world
	prior  []float64
}

// node is a variable with its probability of being true in a world in which
// the variables before it are set.
type node struct {
	name string
	p    func(w world) float64
}

func newNetwork(nodes ...node) network {
	n := network{worlds: []world{{}}, prior: []float64{1}}
	for _, v := range nodes {
		var worlds []world
		var prior []float64
		for i, w := range n.worlds {
			p := v.p(w)
			for _, truth := range []bool{true, false} {
				next := world{v.name: truth}
				for name, value := range w {
					next[name] = value
				}
				worlds = append(worlds, next)
				prior = append(prior, n.prior[i]*chance(truth, p))
			}
		}
		n.worlds, n.prior = worlds, prior
	}
	return n
}

// chance is the probability of a truth value, given that of truth.
func chance(truth bool, p float64) float64 {
	if truth {
		return p
	}
	return 1 - p
}

func always(p float64) func(world) float64 { return func(world) float64 { return p } }

// given chooses by one variable.
func given(name string, yes, no float64) func(world) float64 {
	return func(w world) float64 {
		if w[name] {
			return yes
		}
		return no
	}
}

// seen takes in, as one piece of evidence each, that variables have these values.
func (n network) seen(evidence world) (*rules.Weights, error) {
	x := rules.NewWeights(n.prior)
	for _, name := range sorted(evidence) {
		likelihood := make([]float64, len(n.worlds))
		for i, w := range n.worlds {
			if w[name] == evidence[name] {
				likelihood[i] = 1
			}
		}
		if err := x.Observe(likelihood); err != nil {
			return x, err
		}
	}
	return x, nil
}

// p is the posterior probability of all worlds in which these values hold.
func (n network) p(t *testing.T, values, evidence world) float64 {
	t.Helper()
	x, err := n.seen(evidence)
	require.NoError(t, err)
	sum := 0.0
	for i, w := range n.worlds {
		if w.matches(values) {
			sum += x.P(i)
		}
	}
	return sum
}

func (w world) matches(values world) bool {
	for name, value := range values {
		if w[name] != value {
			return false
		}
	}
	return true
}
