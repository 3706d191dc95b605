package store_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

func figuresOf(t *testing.T, s *store.Store) map[string]store.Figures {
	t.Helper()
	all := map[string]store.Figures{}
	n := 0
	require.NoError(t, s.EachFigures(func(id string, f store.Figures) error {
		if id == "" {
			n++
			id = fmt.Sprintf("nameless %d", n)
		}
		all[id] = f
		return nil
	}))
	return all
}

// When an owner is forgotten, the figures stay and the words and the way back go.
func TestFiguresOutliveWords(t *testing.T) {
	s := newStore(t)
	told(t, s, "talk-ada", "ada@saltmarsh")
	told(t, s, "talk-bo", "bo@saltmarsh")
	f := store.Figures{Counted: json.RawMessage(`{"kit":"sorrel-60"}`), Words: json.RawMessage(`["` + secret + `"]`)}
	require.NoError(t, s.KeepFigures(t.Context(), "talk-ada", f))
	require.NoError(t, s.KeepFigures(t.Context(), "talk-bo", f))
	require.NoError(t, s.KeepFigures(t.Context(), "talk-bo", store.Figures{Counted: json.RawMessage(`{"kit":"teasel-48"}`)}))
	require.NoError(t, s.KeepFigures(t.Context(), "nobody", f), "of a talk that is gone nothing is kept")
	require.Len(t, figuresOf(t, s), 2)
	got, ok, err := s.Figures("talk-bo")
	require.NoError(t, err)
	require.True(t, ok)
	assert.JSONEq(t, `{"kit":"teasel-48"}`, string(got.Counted), "the later ones stand")

	_, err = s.Forget(t.Context(), "ada@saltmarsh")
	require.NoError(t, err)
	all := figuresOf(t, s)
	require.Len(t, all, 2)
	assert.Equal(t, store.Figures{Counted: f.Counted}, all["nameless 1"])
	_, err = s.Forget(t.Context(), "bo@saltmarsh")
	require.NoError(t, err)
	left := string(files(t, s.Path()))
	assert.NotContains(t, left, "Zqwxv")
	assert.NotContains(t, left, "ada@saltmarsh")
	assert.Len(t, figuresOf(t, s), 2)

	told(t, s, "talk-cy", "cy@saltmarsh")
	require.NoError(t, s.KeepFigures(t.Context(), "talk-cy", f))
	require.NoError(t, s.DropFigures(t.Context(), "talk-cy"))
	require.NoError(t, s.DropFigures(t.Context(), "talk-cy"))
	assert.Len(t, figuresOf(t, s), 2)
	require.NoError(t, s.Close())
	_, err = store.Verify(s.Path())
	require.NoError(t, err)
}

// Many are read in several looks, each once.
func TestEachFigures(t *testing.T) {
	s := newStore(t)
	fill(t, s, 30, 1)
	undo := store.FiguresAtATime(7)
	defer undo()
	for n := range 30 {
		require.NoError(t, s.KeepFigures(t.Context(), fmt.Sprintf("talk-%d", n), store.Figures{Counted: json.RawMessage(fmt.Sprint(n))}))
	}
	assert.Len(t, figuresOf(t, s), 30)
}

func TestCloseKeepsTheBike(t *testing.T) {
	s := newStore(t)
	done := commit(t, s, handOver(turn("talk-ada", "ada", 0)))
	_, _, err := s.Act(t.Context(), done.Case, act("vera", store.DeedTake))
	require.NoError(t, err)
	a := act("vera", store.DeedClose)
	a.Cause, a.Remedy, a.Replaced, a.Bike = "x", "y", true, &store.Bike{Mark: "17", Distance: 900, Built: "2026-01"}
	c, _, err := s.Act(t.Context(), done.Case, a)
	require.NoError(t, err)
	assert.Equal(t, a.Bike, c.Bike)
	assert.True(t, c.Replaced)
	c, _, err = s.Act(t.Context(), done.Case, act("vera", store.DeedReopen))
	require.NoError(t, err)
	assert.False(t, c.Replaced)
	assert.Equal(t, a.Bike, c.Bike, "it is the same bike")
}
