package store_test

import (
	"errors"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

func TestSettingsByPrefix(t *testing.T) {
	path := filepath.Join(t.TempDir(), "s.db")
	s, err := store.Open(path, store.Options{Now: time.Now})
	require.NoError(t, err)
	ctx := t.Context()
	require.NoError(t, s.Set(ctx, "people/anna", "1"))
	require.NoError(t, s.Set(ctx, "people/ben", "2"))
	require.NoError(t, s.Set(ctx, "peoples", "3"))

	all, err := s.Settings("people/")
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"people/anna": "1", "people/ben": "2"}, all)

	refused := errors.New("no")
	require.ErrorIs(t, s.Change(ctx, "people/anna", func(old string) (string, error) {
		assert.Equal(t, "1", old)
		return "9", refused
	}), refused)
	require.NoError(t, s.Change(ctx, "people/anna", func(old string) (string, error) { return old + "1", nil }))
	require.NoError(t, s.Change(ctx, "people/ben", func(string) (string, error) { return "", nil }))
	require.NoError(t, s.Change(ctx, "people/nobody", func(string) (string, error) { return "", nil }))
	require.NoError(t, s.Unset(ctx, "peoples", "never-there"))

	all, err = s.Settings("people")
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"people/anna": "11"}, all)
	require.NoError(t, s.Close())
	_, err = store.Verify(path)
	require.NoError(t, err, "the tallies follow what is taken away")
}
