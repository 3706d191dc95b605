package main

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

func newStoreFile(t *testing.T) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "triagebot.db")
	s, err := store.Open(path, store.Options{Now: time.Now})
	require.NoError(t, err)
	_, err = s.Commit(t.Context(), store.Turn{Conversation: "thread-17", Owner: "ada", Message: "m1", Time: time.Now(),
		Events: []conversation.Event{{Kind: conversation.OwnerSaid, Text: "my zebra moped"}}})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	return path
}

// A whole life: back up, lose, restore, forget.
func TestStoreCommands(t *testing.T) {
	path := newStoreFile(t)
	backup := filepath.Join(t.TempDir(), "backup.db")
	r := do(t, "", "backup", "--store", path, backup)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "backup.db: 1 conversations, 1 turns, 0 cases")
	r = do(t, "", "backup", "--store", path, backup)
	assert.Equal(t, exitFound, r.code, "no backup is overwritten")

	require.NoError(t, os.Truncate(path, 5000))
	r = do(t, "", "verify", path)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "the store is damaged; put a backup in its place with: triagebot restore")
	r = do(t, "", "forget", "--store", path, "ada")
	assert.Equal(t, exitFound, r.code)

	r = do(t, "", "restore", "--store", path, backup)
	assert.Equal(t, exitFound, r.code, "a store is not replaced unasked")
	r = do(t, "", "restore", "--store", path, "--replace", backup)
	require.Equal(t, exitFine, r.code, r.err)
	r = do(t, "", "verify", path)
	require.Equal(t, exitFine, r.code, r.err)
	assert.Contains(t, r.out, "is sound")

	r = do(t, "", "forget", "--store", path, "ada")
	require.Equal(t, exitFine, r.code, r.err)
	assert.Equal(t, "erased: 1 conversations, 0 cases, 0 messages to send, 0 mentions in other cases\n", r.out)
	data, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "zebra")
}

func TestStoreCommandsOnAHeldStore(t *testing.T) {
	path := newStoreFile(t)
	s, err := store.Open(path, store.Options{Now: time.Now})
	require.NoError(t, err)
	defer s.Close()
	for _, args := range [][]string{{"backup", "--store", path, filepath.Join(t.TempDir(), "b.db")}, {"verify", path},
		{"forget", "--store", path, "ada"}, {"restore", "--store", path, "--replace", path}} {
		r := do(t, "", args...)
		assert.Equal(t, exitFound, r.code, args)
		assert.Contains(t, r.err, "is held by process", args)
	}
}

func TestStoreCommandsMisused(t *testing.T) {
	t.Setenv("XDG_STATE_HOME", t.TempDir())
	for _, args := range [][]string{{"backup"}, {"restore"}, {"verify"}, {"forget"}, {"forget", "ada", "bo"}} {
		r := do(t, "", args...)
		assert.Equal(t, exitUsage, r.code, args)
	}
	r := do(t, "", "forget", "ada")
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "there is no store")
	assert.Contains(t, r.err, "triagebot.db")
}
