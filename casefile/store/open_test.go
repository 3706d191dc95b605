package store_test

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	bolt "go.etcd.io/bbolt"

	"triagebot/casefile/store"
)

// A file of the first layout is brought forward with all that was in it.
func TestMigrateFromLayout1(t *testing.T) {
	path := filepath.Join(t.TempDir(), "old.db")
	var cases []store.Case
	states := []store.State{store.Waiting, store.Taken, store.Closed}
	for n := range 30 {
		c := store.Case{ID: uint64(n + 1), Conversation: fmt.Sprintf("talk-%d", n), Owner: "ada", State: states[n%3], Opened: start}
		if c.State == store.Taken {
			c.Taker = "vera"
		}
		cases = append(cases, c)
	}
	require.NoError(t, store.CreateLayout1(path, start, cases, func(put func(string, []byte, any) error) error {
		return put("settings", []byte("channel"), "17")
	}))
	c, err := store.Verify(path)
	require.NoError(t, err)
	assert.Equal(t, 1, c.Layout)

	s := openStore(t, path)
	for i, state := range states {
		list, err := s.Cases(state, 0, 100)
		require.NoError(t, err)
		require.Len(t, list, 10)
		assert.Equal(t, cases[i], list[0])
	}
	v, err := s.Setting("channel")
	require.NoError(t, err)
	assert.Equal(t, `"17"`, v)
	done := commit(t, s, handOver(turn("fresh", "bo", 0)))
	assert.Equal(t, uint64(31), done.Case, "numbers go on")
	require.NoError(t, s.Close())
	c, err = store.Verify(path)
	require.NoError(t, err)
	assert.Equal(t, store.Layout, c.Layout)
}

func TestNewerLayoutIsRefused(t *testing.T) {
	s := newStore(t)
	fill(t, s, 2, 2)
	require.NoError(t, s.Close())
	require.NoError(t, store.SetLayout(s.Path(), store.Layout+1))
	before, err := os.ReadFile(s.Path())
	require.NoError(t, err)
	_, err = store.Open(s.Path(), options())
	var newer *store.VersionError
	require.ErrorAs(t, err, &newer)
	assert.Equal(t, store.Layout+1, newer.Found)
	assert.ErrorContains(t, err, "use the newer program")
	after, err := os.ReadFile(s.Path())
	require.NoError(t, err)
	assert.Equal(t, before, after, "a refused file is not touched")
	require.NoError(t, store.SetLayout(s.Path(), store.Layout))
}

func TestMissing(t *testing.T) {
	path := filepath.Join(t.TempDir(), "none.db")
	o := options()
	o.MustExist = true
	_, err := store.Open(path, o)
	require.ErrorIs(t, err, store.ErrMissing)
	assert.NoFileExists(t, path)
	_, err = store.Open(filepath.Join(t.TempDir(), "no", "folder", "x.db"), options())
	require.Error(t, err)
	_, err = store.Open(path, store.Options{})
	require.Error(t, err)
}

func TestNotAStore(t *testing.T) {
	dir := t.TempDir()
	text := filepath.Join(dir, "text.db")
	require.NoError(t, os.WriteFile(text, []byte(strings.Repeat("no store at all\n", 2000)), 0o600))
	_, err := store.Open(text, options())
	require.ErrorIs(t, err, store.ErrDamaged)

	foreign := filepath.Join(dir, "foreign.db")
	db, err := bolt.Open(foreign, 0o600, nil)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	_, err = store.Open(foreign, options())
	require.ErrorIs(t, err, store.ErrDamaged)

	_, err = store.Open(dir, options())
	require.Error(t, err)
}

// A tool that opens the file with bbolt knows nothing of our lock; it is
// waited for a moment, not for ever.
func TestHeldByAForeignTool(t *testing.T) {
	s := newStore(t)
	require.NoError(t, s.Close())
	db, err := bolt.Open(s.Path(), 0o600, nil)
	require.NoError(t, err)
	defer db.Close()
	_, err = store.Open(s.Path(), options())
	require.ErrorContains(t, err, "timeout")
}

// child runs this test binary as another process.
func child(t *testing.T, what, path string) *exec.Cmd {
	t.Helper()
	exe, err := os.Executable()
	require.NoError(t, err)
	c := exec.Command(exe)
	c.Env = append(os.Environ(), "TRIAGEBOT_STORE_CHILD="+what, "TRIAGEBOT_STORE_PATH="+path)
	return c
}

func TestSecondProcessIsTold(t *testing.T) {
	s := newStore(t)
	out, err := child(t, "open", s.Path()).CombinedOutput()
	require.Error(t, err)
	host, err := os.Hostname()
	require.NoError(t, err)
	want := fmt.Sprintf("store %q is held by process %d on %s since 2026-03-02 14:00:00 UTC; stop that one first\n", s.Path(), os.Getpid(), host)
	assert.Equal(t, want, string(out))

	_, err = store.Open(s.Path(), options())
	var held *store.HeldError
	require.ErrorAs(t, err, &held, "the same process a second time")
	_, err = store.Verify(s.Path())
	require.ErrorAs(t, err, &held)

	require.NoError(t, s.Close())
	out, err = child(t, "open", s.Path()).CombinedOutput()
	require.NoError(t, err, "%s", out)
}

// The file-size limit of a process is a disk that is full: turns are refused
// and nothing of them is kept; with room again the store goes on.
func TestDiskFull(t *testing.T) {
	path := filepath.Join(t.TempDir(), "full.db")
	out, err := child(t, "fill", path).CombinedOutput()
	require.NoError(t, err, "%s", out)
	kept := 0
	_, err = fmt.Sscanf(string(out), "kept %d then full", &kept)
	require.NoError(t, err, "%s", out)
	assert.Greater(t, kept, 100)
	s := openStore(t, path)
	talk, _, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, uint64(kept), talk.Turns)
	commit(t, s, turn("talk", "ada", kept))
}

// A file the process may not write is told as such, at the start.
func TestReadOnlyFile(t *testing.T) {
	if os.Getuid() != 0 {
		t.Log("not root: the file's mode alone keeps the child out")
	}
	s := newStore(t)
	fill(t, s, 2, 2)
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(s.Path(), 0o444))
	for dir := filepath.Dir(s.Path()); len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
		require.NoError(t, os.Chmod(dir, 0o755))
	}
	require.NoError(t, os.Chmod(s.Path()+".lock", 0o666))
	c := child(t, "open", s.Path())
	if os.Getuid() == 0 {
		exe := filepath.Join(t.TempDir(), "child") // where the other user may read it
		for dir := filepath.Dir(exe); len(dir) > len(os.TempDir()); dir = filepath.Dir(dir) {
			require.NoError(t, os.Chmod(dir, 0o755))
		}
		data, err := os.ReadFile(c.Path)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(exe, data, 0o755))
		c.Path = exe
		c.SysProcAttr = &syscall.SysProcAttr{Credential: &syscall.Credential{Uid: 65534, Gid: 65534}}
	}
	out, err := c.CombinedOutput()
	require.Error(t, err, "%s", out)
	assert.Contains(t, string(out), "permission denied")
	assert.Contains(t, string(out), s.Path())
	require.NoError(t, os.Chmod(s.Path(), 0o600))
}

// The clock is set back while the store is open: order and life go on.
func TestClockJumpsBack(t *testing.T) {
	s := newStore(t)
	for n := range 4 {
		x := turn("talk", "ada", n)
		x.Time = start.Add(-time.Duration(n) * time.Hour)
		x.Events[0].Time = x.Time
		commit(t, s, x)
	}
	talk, events, err := s.Conversation("talk")
	require.NoError(t, err)
	assert.Equal(t, start, talk.Last)
	for n, e := range events {
		assert.Equal(t, fmt.Sprintf("words %d of ada", n), e.Text)
	}
}
