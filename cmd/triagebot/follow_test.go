package main

import (
	"bytes"
	"log/slog"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/learning"
	"triagebot/mining"
	"triagebot/mining/demo"
)

// The bot starts with the priors in force, and starts all the same when its rules
// were changed since they were learned.
func TestPutPriors(t *testing.T) {
	st, err := store.Open(filepath.Join(t.TempDir(), "s.db"), store.Options{Now: time.Now})
	require.NoError(t, err)
	defer st.Close()
	var said bytes.Buffer
	log := slog.New(slog.NewTextHandler(&said, nil))
	written, err := loadKB("")
	require.NoError(t, err)
	a := mining.NewAggregate()
	for r := range demo.Records(written, demo.Settings{Seed: 1, Start: 20000, Weeks: 20, Bikes: 400, Rate: 0.05, Brief: true}) {
		r.Demo = false
		a.Add(r)
	}
	b := &learning.Book{Settings: st, Now: time.Now}
	v, err := b.Propose(t.Context(), "anna", a, written, 100)
	require.NoError(t, err)
	require.NoError(t, b.SwitchOn(t.Context(), "anna", v.Number, written))

	k, err := loadKB("")
	require.NoError(t, err)
	n, err := putPriors(st, k, time.Now, log)
	require.NoError(t, err)
	assert.Equal(t, 1, n)
	assert.Equal(t, v.Overlay.Kits["sorrel-60"], k.Kit("sorrel-60").Priors)

	changed, err := loadKB("")
	require.NoError(t, err)
	changed.Version = "changed"
	before := changed.Kit("sorrel-60").Priors
	n, err = putPriors(st, changed, time.Now, log)
	require.NoError(t, err)
	assert.Zero(t, n)
	assert.Equal(t, before, changed.Kit("sorrel-60").Priors)
	assert.Contains(t, said.String(), "left out")
	assert.Contains(t, said.String(), "learn anew")
}
