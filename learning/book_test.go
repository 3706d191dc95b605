package learning_test

import (
	"context"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/learning"
	"triagebot/mining"
	"triagebot/mining/demo"
)

// shelf keeps settings in memory.
type shelf map[string]string

func (s shelf) Setting(name string) (string, error) { return s[name], nil }

func (s shelf) Settings(prefix string) (map[string]string, error) {
	all := map[string]string{}
	for k, v := range s {
		if strings.HasPrefix(k, prefix) {
			all[k] = v
		}
	}
	return all, nil
}

func (s shelf) Set(_ context.Context, name, value string) error { s[name] = value; return nil }

func (s shelf) Change(_ context.Context, name string, change func(string) (string, error)) error {
	v, err := change(s[name])
	if err == nil {
		s[name] = v
	}
	return err
}

func load(t *testing.T) *kb.KB {
	k, found := kb.Load(kb.Embedded())
	require.NotNil(t, k, "%v", found)
	return k
}

func year(t *testing.T, k *kb.KB) *mining.Aggregate {
	day, err := mining.ParseDay("2025-12-01")
	require.NoError(t, err)
	a := mining.NewAggregate()
	for r := range demo.Records(k, demo.Year(day)) {
		a.Add(r)
	}
	return a
}

// From proposal to force and back: priors change only when told, and go back to
// exactly what they were.
func TestVersions(t *testing.T) {
	written, ctx, at := load(t), t.Context(), time.Date(2026, 3, 2, 9, 0, 0, 0, time.UTC)
	b := &learning.Book{Settings: shelf{}, Now: func() time.Time { at = at.Add(time.Hour); return at }, Demo: true}
	_, on, err := b.InForce()
	require.NoError(t, err)
	assert.False(t, on)
	_, err = b.Propose(ctx, "anna", mining.NewAggregate(), written, 200)
	require.ErrorContains(t, err, "nothing to learn")
	a := year(t, written)
	one, err := b.Propose(ctx, "anna", a, written, 200)
	require.NoError(t, err)
	two, err := b.Propose(ctx, "bo", a, written, 50)
	require.NoError(t, err)
	assert.Equal(t, []int{1, 2}, []int{one.Number, two.Number})
	assert.Positive(t, one.Overlay.Cases)
	assert.True(t, one.Overlay.Demo)
	list, err := b.Versions()
	require.NoError(t, err)
	assert.Equal(t, []learning.Version{two, one}, list, "all are kept as they were, the latest first")
	_, on, err = b.InForce()
	require.NoError(t, err)
	assert.False(t, on, "nothing is in force before somebody switches it on")

	k := load(t)
	plain := k.Kit("sorrel-60").Priors
	n, err := b.Apply(k)
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Equal(t, plain, k.Kit("sorrel-60").Priors)
	require.NoError(t, b.SwitchOn(ctx, "anna", 1, written))
	require.NoError(t, b.SwitchOn(ctx, "anna", 1, written), "twice is once")
	assert.Equal(t, plain, written.Kit("sorrel-60").Priors, "the rules as written stay so")
	n, err = b.Apply(k)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	assert.Equal(t, one.Overlay.Kits["sorrel-60"], k.Kit("sorrel-60").Priors)
	three, err := b.Propose(ctx, "anna", a, written, 200)
	require.NoError(t, err)
	assert.Equal(t, one.Overlay.Version(), three.Overlay.Replaces)
	assert.Equal(t, one.Overlay.Kits, three.Overlay.Kits, "no case counts twice")

	require.NoError(t, b.SwitchOn(ctx, "bo", 2, written))
	require.NoError(t, b.SwitchOn(ctx, "bo", 1, written))
	require.NoError(t, b.SwitchOff(ctx, "anna"))
	n, err = b.Apply(load(t))
	require.NoError(t, err)
	assert.Zero(t, n)
	history, err := b.History()
	require.NoError(t, err)
	var told []string
	for _, x := range history {
		told = append(told, x.By+" "+string(rune('0'+x.Number)))
	}
	assert.Equal(t, []string{"anna 0", "bo 1", "bo 2", "anna 1"}, told)

	require.NoError(t, b.Rehearsed(ctx, 2, learning.Rehearsed{Seeds: 3, Talks: 900, Better: 4, Worse: 1}))
	v, err := b.Version(2)
	require.NoError(t, err)
	require.NotNil(t, v.Rehearsed)
	assert.Equal(t, 4, v.Rehearsed.Better)
	assert.Equal(t, two.Overlay, v.Overlay)
}

func TestSwitchRefuses(t *testing.T) {
	written, ctx := load(t), t.Context()
	kept := shelf{}
	b := &learning.Book{Settings: kept, Now: time.Now, Demo: true}
	v, err := b.Propose(ctx, "anna", year(t, written), written, 200)
	require.NoError(t, err)
	require.ErrorIs(t, b.SwitchOn(ctx, "anna", 7, written), learning.ErrNone)
	require.ErrorIs(t, b.Rehearsed(ctx, 7, learning.Rehearsed{}), learning.ErrNone)
	require.Error(t, b.SwitchOn(ctx, "", 1, written))

	other := load(t)
	other.Version = "other"
	require.ErrorContains(t, b.SwitchOn(ctx, "anna", v.Number, other), "learn anew")
	require.NoError(t, b.SwitchOn(ctx, "anna", v.Number, written))
	_, err = b.Apply(other)
	require.ErrorContains(t, err, "switch-off")

	real := &learning.Book{Settings: kept, Now: time.Now}
	require.ErrorContains(t, real.SwitchOn(ctx, "anna", v.Number, written), "invented")
	_, err = real.Apply(load(t))
	require.ErrorContains(t, err, "invented")

	for _, bad := range []string{"priors/history", "priors/number"} {
		broken := &learning.Book{Settings: shelf{bad: "{"}, Now: time.Now}
		_, err := broken.Propose(ctx, "anna", year(t, written), written, 200)
		assert.Error(t, err, bad)
	}
}
