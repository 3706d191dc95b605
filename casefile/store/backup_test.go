package store_test

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

// A backup made while turns go on is whole and can be put in place.
func TestBackupOnlineAndRestore(t *testing.T) {
	s := newStore(t)
	fill(t, s, 10, 3)
	stop := make(chan struct{})
	var load sync.WaitGroup
	load.Go(func() {
		for n := 0; ; n++ {
			select {
			case <-stop:
				return
			default:
				_, err := s.Commit(context.Background(), turn("busy", "bo", n))
				assert.NoError(t, err)
			}
		}
	})
	var kept bytes.Buffer
	c, err := s.Backup(t.Context(), &kept)
	close(stop)
	load.Wait()
	require.NoError(t, err)
	assert.GreaterOrEqual(t, c.Turns, uint64(30))

	dir := t.TempDir()
	from, to := filepath.Join(dir, "backup.db"), filepath.Join(dir, "restored.db")
	require.NoError(t, os.WriteFile(from, kept.Bytes(), 0o600))
	verified, err := store.Verify(from)
	require.NoError(t, err)
	assert.Equal(t, c, verified)
	now := func() time.Time { return start.Add(time.Hour) }
	_, err = store.Restore(to, from, false, now)
	require.NoError(t, err)
	again := openStore(t, to)
	_, events, err := again.Conversation("talk-3")
	require.NoError(t, err)
	assert.Len(t, events, 3)
	old, fresh := outbox(t, s), outbox(t, again)
	assert.NotEqual(t, old[0].Nonce, fresh[0].Nonce, "numbers come again after a restore, nonces must not")
	assert.Equal(t, old[0].Lines, fresh[0].Lines)
}

func TestRestoreRefuses(t *testing.T) {
	s := newStore(t)
	fill(t, s, 3, 3)
	dir := t.TempDir()
	backup := filepath.Join(dir, "backup.db")
	f, err := os.Create(backup)
	require.NoError(t, err)
	_, err = s.Backup(t.Context(), f)
	require.NoError(t, err)
	require.NoError(t, f.Close())
	now := func() time.Time { return start }

	var held *store.HeldError
	_, err = store.Restore(s.Path(), backup, true, now)
	require.ErrorAs(t, err, &held, "the store is open")
	commit(t, s, turn("later", "ada", 0))
	require.NoError(t, s.Close())
	_, err = store.Restore(s.Path(), backup, false, now)
	require.ErrorContains(t, err, "there is a store already")

	data, err := os.ReadFile(backup)
	require.NoError(t, err)
	bad := filepath.Join(dir, "bad.db")
	require.NoError(t, os.WriteFile(bad, data[:len(data)/2], 0o600))
	_, err = store.Restore(s.Path(), bad, true, now)
	require.ErrorIs(t, err, store.ErrDamaged)
	_, err = store.Restore(s.Path(), filepath.Join(dir, "none.db"), true, now)
	require.ErrorIs(t, err, store.ErrMissing)
	again := openStore(t, s.Path())
	talk, _, err := again.Conversation("later")
	require.NoError(t, err)
	assert.Equal(t, uint64(1), talk.Turns, "a refused restore leaves the store as it was")
	require.NoError(t, again.Close())
	_, err = store.Restore(s.Path(), backup, true, now)
	require.NoError(t, err)
}

type deafWriter struct{}

func (deafWriter) Write([]byte) (int, error) { return 0, errors.New("the line is dead") }

func TestBackupLeavesNothingBehind(t *testing.T) {
	s := newStore(t)
	fill(t, s, 3, 3)
	_, err := s.Backup(t.Context(), deafWriter{})
	require.ErrorContains(t, err, "the line is dead")
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	_, err = s.Backup(gone, &bytes.Buffer{})
	require.ErrorIs(t, err, context.Canceled)
	list, err := filepath.Glob(s.Path() + "*")
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{s.Path(), s.Path() + ".lock"}, list)
	// What a killed process left is removed at the next start.
	require.NoError(t, s.Close())
	for _, left := range []string{".new", ".backup-123"} {
		require.NoError(t, os.WriteFile(s.Path()+left, []byte("words of an owner"), 0o600))
	}
	openStore(t, s.Path())
	list, err = filepath.Glob(s.Path() + "*")
	require.NoError(t, err)
	assert.ElementsMatch(t, []string{s.Path(), s.Path() + ".lock"}, list)
}
