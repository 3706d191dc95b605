package rules_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/rules"
)

// hunting is a belief that has taken in these answers, with the situation they make.
func hunting(t *testing.T, answers map[string]string) (*rules.Belief, rules.Situation) {
	t.Helper()
	k, _ := kb.Load(kb.Embedded())
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	b := rules.NewBelief(m)
	s := rules.Situation{Answered: map[string]string{}, Cannot: map[string]bool{}, Tried: map[string]bool{}}
	for _, o := range m.Obs { // in the order of the knowledge base
		outcome, answered := answers[o.ID]
		if !answered {
			continue
		}
		require.NoError(t, b.Observe(m.Index(o.ID), o.Exactly(o.Outcome(outcome), 0.995)))
		if o.Check != nil {
			s.Answered[o.ID] = outcome
		}
	}
	return b, s
}

// A throttle that reads nothing, with all else in order.
var deadThrottle = map[string]string{
	"no-drive": rules.Present, "look-display": "normal", "look-inhibits": "clear", "look-plugs": "all-home", "meter-check": "good",
	"look-power-path": "all-on", "throttle-5v": "good", "throttle-rest": "none", "throttle-full": "flat", "throttle-sweep": "no-change",
	"listen-motor": "silent", "control-5v": "good",
}

// TestProvedBeforeItIsBought: the throttle is named after a proof, or where the
// owner can do none, and never after one that spoke against it.
func TestProvedBeforeItIsBought(t *testing.T) {
	b, s := hunting(t, deadThrottle)
	c := b.Next(s)
	require.NotNil(t, c.Check)
	assert.Equal(t, "signal-unplugged", c.Check.ID)

	s.Cannot["signal-unplugged"], s.Cannot["known-good-throttle-try"] = true, true
	c = b.Next(s)
	for c.Check != nil { // it may want more first, but no proof
		assert.NotContains(t, []string{"signal-unplugged", "known-good-throttle-try"}, c.Check.ID)
		s.Cannot[c.Check.ID] = true
		c = b.Next(s)
	}
	require.NotNil(t, c.Remedy)
	assert.Equal(t, "replace-throttle", c.Remedy.ID)

	against := map[string]string{"signal-unplugged": "lifted"}
	for id, outcome := range deadThrottle {
		against[id] = outcome
	}
	b, s = hunting(t, against)
	for range 40 {
		c = b.Next(s)
		if c.Check == nil {
			break
		}
		s.Cannot[c.Check.ID] = true
	}
	if c.Remedy != nil {
		assert.NotEqual(t, "replace-throttle", c.Remedy.ID)
	}
}

// TestMeterIsProvedFirst: a figure that was given unasked leads to no remedy
// before the meter was tried.
func TestMeterIsProvedFirst(t *testing.T) {
	figures := map[string]string{}
	for id, outcome := range deadThrottle {
		if id != "meter-check" {
			figures[id] = outcome
		}
	}
	figures["signal-unplugged"] = "good"
	b, s := hunting(t, figures)
	c := b.Next(s)
	require.NotNil(t, c.Check)
	assert.Equal(t, "meter-check", c.Check.ID)
	s.Lacking = map[string]bool{"meter": true}
	if c = b.Next(s); c.Check != nil {
		assert.NotEqual(t, "meter-check", c.Check.ID, "no meter is left to try")
	}
}

// TestWhatStaysCounts: after the breaker was switched on in vain, a pair of
// which the other half shows the complaint gains on one of which it does not.
func TestWhatStaysCounts(t *testing.T) {
	answers := map[string]string{"no-drive": rules.Present, "look-power-path": "isolator-off"}
	share := func(stays bool) float64 {
		b, _ := hunting(t, answers)
		m := b.Model()
		var list []rules.Stays
		if stays {
			at := m.Index("no-drive")
			list = append(list, rules.Stays{Obs: at, Soft: m.Obs[at].Exactly(0, 0.95)})
		}
		require.NoError(t, b.Remedied([]int{m.Cause("breaker-off")}, list...))
		p := b.Causes()
		return p[m.Cause("throttle-stuck-low")] / p[m.Cause("tyre-low")]
	}
	assert.Greater(t, share(true), 2*share(false))
}

// TestWordsThatBecomeDoubtful: what speaks for another story makes the words
// that began it less likely to have been meant so.
func TestWordsThatBecomeDoubtful(t *testing.T) {
	k, _ := kb.Load(kb.Embedded())
	m, err := rules.NewModel(k, k.Kit("sorrel-60"), nil)
	require.NoError(t, err)
	b := rules.NewBelief(m)
	display := m.Index("look-display")
	dark := m.Obs[display].Outcome("dark")
	words := m.Said(display, dark, 0.9)
	require.NoError(t, b.Observe(display, words))
	before := b.Stands(display, dark, words)
	assert.InDelta(t, 0.9, before, 0.05)
	for _, id := range []string{"look-power-path", "look-plugs", "display-supply-volts", "listen-motor", "known-good-display-try"} {
		o := m.Obs[m.Index(id)]
		for k, healthy := range o.Healthy {
			if healthy {
				require.NoError(t, b.Observe(m.Index(id), o.Exactly(k, 0.99)))
				break
			}
		}
	}
	assert.Less(t, b.Stands(display, dark, words), before-0.2)
}
