package store_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

func gistsOf(t *testing.T, s *store.Store) map[string]store.Gist {
	t.Helper()
	all := map[string]store.Gist{}
	n := 0
	require.NoError(t, s.EachGist(func(id string, f store.Gist) error {
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
func TestGistOutlivesWords(t *testing.T) {
	s := newStore(t)
	told(t, s, "talk-ada", "ada@saltmarsh")
	told(t, s, "talk-bo", "bo@saltmarsh")
	f := store.Gist{Counted: json.RawMessage(`{"kit":"sorrel-60"}`), Words: json.RawMessage(`["` + secret + `"]`)}
	require.NoError(t, s.KeepGist(t.Context(), "talk-ada", f))
	require.NoError(t, s.KeepGist(t.Context(), "talk-bo", f))
	require.NoError(t, s.KeepGist(t.Context(), "talk-bo", store.Gist{Counted: json.RawMessage(`{"kit":"teasel-48"}`)}))
	require.NoError(t, s.KeepGist(t.Context(), "nobody", f), "of a talk that is gone nothing is kept")
	require.Len(t, gistsOf(t, s), 2)
	got, ok, err := s.Gist("talk-bo")
	require.NoError(t, err)
	require.True(t, ok)
	assert.JSONEq(t, `{"kit":"teasel-48"}`, string(got.Counted), "the later ones stand")

	_, err = s.Forget(t.Context(), "ada@saltmarsh")
	require.NoError(t, err)
	all := gistsOf(t, s)
	require.Len(t, all, 2)
	assert.Equal(t, store.Gist{Counted: f.Counted}, all["nameless 1"])
	_, err = s.Forget(t.Context(), "bo@saltmarsh")
	require.NoError(t, err)
	left := string(files(t, s.Path()))
	assert.NotContains(t, left, "Zqwxv")
	assert.NotContains(t, left, "ada@saltmarsh")
	assert.Len(t, gistsOf(t, s), 2)

	told(t, s, "talk-cy", "cy@saltmarsh")
	require.NoError(t, s.KeepGist(t.Context(), "talk-cy", f))
	require.NoError(t, s.DropGist(t.Context(), "talk-cy"))
	require.NoError(t, s.DropGist(t.Context(), "talk-cy"))
	assert.Len(t, gistsOf(t, s), 2)
	require.NoError(t, s.Close())
	_, err = store.Verify(s.Path())
	require.NoError(t, err)
}

// Many are read in several looks, each once.
func TestEachGist(t *testing.T) {
	s := newStore(t)
	fill(t, s, 30, 1)
	undo := store.GistsAtATime(7)
	defer undo()
	for n := range 30 {
		require.NoError(t, s.KeepGist(t.Context(), fmt.Sprintf("talk-%d", n), store.Gist{Counted: json.RawMessage(fmt.Sprint(n))}))
	}
	assert.Len(t, gistsOf(t, s), 30)
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
