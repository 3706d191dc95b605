package store_test

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
)

// One change that fails half-way is undone alone; the others are kept although
// they shared its transaction.
func TestOneFailsOthersAreKept(t *testing.T) {
	s := newStore(t)
	refused, failed := errors.New("refused"), errors.New("failed half-way")
	var first, half, last int
	told := s.Group(s.SetJob(&first, "first"), s.RefusedJob(refused), s.HalfJob(&half, failed), s.SetJob(&last, "last"))
	assert.Equal(t, []error{nil, refused, failed, nil}, told)
	for name, want := range map[string]string{"first": "on", "half": "", "last": "on"} {
		v, err := s.Setting(name)
		require.NoError(t, err)
		assert.Equal(t, want, v, name)
	}
	assert.Equal(t, 2, half, "once with the others, once alone")

	first, last = 0, 0
	told = s.Group(s.SetJob(&first, "first"), s.RefusedJob(refused), s.SetJob(&last, "last"))
	assert.Equal(t, []error{nil, refused, nil}, told)
	assert.Equal(t, []int{1, 1}, []int{first, last}, "a refusal before writing makes nobody run twice")
}

// Changes that come while the disk is busy share the next flush. Counted in
// commits, not in time.
func TestChangesShareAFlush(t *testing.T) {
	s := newStore(t)
	var commits atomic.Int32
	busy, free := make(chan struct{}), make(chan struct{})
	var once sync.Once
	s.BeforeCommit(func() error {
		commits.Add(1)
		once.Do(func() { close(busy); <-free }) // a slow disk
		return nil
	})
	var all sync.WaitGroup
	set := func(i int) {
		all.Go(func() { assert.NoError(t, s.Set(context.Background(), fmt.Sprintf("s%d", i), "on")) })
	}
	set(0)
	<-busy
	for i := range 100 {
		set(i + 1)
	}
	// From outside it does not show that all of them wait; that most of them do
	// is enough.
	time.Sleep(50 * time.Millisecond)
	close(free)
	all.Wait()
	assert.Less(t, int(commits.Load()), 90, "101 changes")
}

// A full disk is told, keeps nothing of the turn, and is over once there is room.
func TestFullDiskIsOverWithRoom(t *testing.T) {
	s := newStore(t)
	commit(t, s, turn("talk", "ada", 0))
	s.BeforeCommit(func() error { return fmt.Errorf("flushing: %w", store.ErrFull) })
	_, err := s.Commit(t.Context(), turn("talk", "ada", 1))
	require.ErrorIs(t, err, store.ErrFull)
	s.BeforeCommit(nil)
	commit(t, s, turn("talk", "ada", 1)) // room was made
}

// A disk that fails leaves open what is on it: nothing more is taken until the
// file was checked anew.
func TestFailedFlushEndsWriting(t *testing.T) {
	s := newStore(t)
	commit(t, s, turn("talk", "ada", 0))
	s.BeforeCommit(func() error { return syscall.EIO })
	_, err := s.Commit(t.Context(), turn("talk", "ada", 1))
	require.ErrorIs(t, err, store.ErrBroken)
	require.ErrorIs(t, err, syscall.EIO)
	s.BeforeCommit(nil)
	_, err = s.Commit(t.Context(), turn("talk", "ada", 1))
	require.ErrorIs(t, err, store.ErrBroken)
	require.ErrorIs(t, s.Compact(t.Context()), store.ErrBroken)
	_, events, err := s.Conversation("talk")
	require.NoError(t, err, "what is kept can still be read")
	assert.Len(t, events, 1)
	require.NoError(t, s.Close())
	again := openStore(t, s.Path())
	commit(t, again, turn("talk", "ada", 1))
}

func TestClosed(t *testing.T) {
	s := newStore(t)
	commit(t, s, turn("talk", "ada", 0))
	require.NoError(t, s.Close())
	require.NoError(t, s.Close(), "a second time does nothing")
	_, err := s.Commit(t.Context(), turn("talk", "ada", 1))
	require.ErrorIs(t, err, store.ErrClosed)
	_, _, err = s.Conversation("talk")
	require.ErrorIs(t, err, store.ErrClosed)
	require.ErrorIs(t, s.Compact(t.Context()), store.ErrClosed)
}

// Close while many write: each is told either that it is kept or that the
// store is closed, and that is true.
func TestCloseUnderLoad(t *testing.T) {
	s := newStore(t)
	path := s.Path()
	var all sync.WaitGroup
	var kept sync.Map
	for i := range 100 {
		all.Go(func() {
			for n := range 50 {
				name := fmt.Sprintf("%d-%d", i, n)
				if err := s.Set(context.Background(), name, "on"); err != nil {
					assert.ErrorIs(t, err, store.ErrClosed)
					return
				}
				kept.Store(name, true)
			}
		})
	}
	for v := ""; v == ""; { // some are in
		var err error
		v, err = s.Setting("0-0")
		require.NoError(t, err)
	}
	require.NoError(t, s.Close())
	all.Wait()
	again := openStore(t, path)
	kept.Range(func(name, _ any) bool {
		v, err := again.Setting(name.(string))
		require.NoError(t, err)
		assert.Equal(t, "on", v, "%s was said to be kept", name)
		return true
	})
}

// Reads are short, so that neither the file grows under them nor the writer
// waits: many updates under constant reading stay small.
func TestReadersDoNotSwellTheFile(t *testing.T) {
	s := newStore(t)
	fill(t, s, 20, 2)
	stop := make(chan struct{})
	var readers sync.WaitGroup
	for i := range 2 {
		readers.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
				}
				_, _, err := s.Conversation(fmt.Sprintf("talk-%d", i))
				assert.NoError(t, err)
			}
		})
	}
	for n := range 200 {
		require.NoError(t, s.Set(t.Context(), "n", fmt.Sprint(n)))
	}
	close(stop)
	readers.Wait()
	require.NoError(t, s.Close())
	c, err := store.Verify(s.Path())
	require.NoError(t, err)
	assert.Less(t, c.Bytes, int64(16<<20))
}

// While the disk is slow, changes wait and are kept in the end; whoever gives up
// waiting is told at once, and nothing of theirs is kept.
func TestSlowDisk(t *testing.T) {
	s := newStore(t)
	busy, free := make(chan struct{}), make(chan struct{})
	var once sync.Once
	s.BeforeCommit(func() error {
		once.Do(func() { close(busy); <-free })
		return nil
	})
	var patient, hasty sync.WaitGroup
	patient.Go(func() { assert.NoError(t, s.Set(context.Background(), "first", "on")) })
	<-busy
	ctx, stop := context.WithCancel(t.Context())
	for i := range 50 {
		patient.Go(func() { assert.NoError(t, s.Set(context.Background(), fmt.Sprintf("patient-%d", i), "on")) })
		hasty.Go(func() { assert.ErrorIs(t, s.Set(ctx, fmt.Sprintf("hasty-%d", i), "on"), context.Canceled) })
	}
	v, err := s.Setting("first")
	require.NoError(t, err)
	assert.Empty(t, v, "reading does not wait for the disk, and sees nothing that is not durable")
	stop()
	hasty.Wait() // while the disk still hangs
	close(free)
	patient.Wait()
	for i := range 50 {
		v, err := s.Setting(fmt.Sprintf("patient-%d", i))
		require.NoError(t, err)
		assert.Equal(t, "on", v)
		v, err = s.Setting(fmt.Sprintf("hasty-%d", i))
		require.NoError(t, err)
		assert.Empty(t, v)
	}
}
