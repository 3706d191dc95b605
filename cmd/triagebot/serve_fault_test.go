//go:build linux

package main

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"os/signal"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/sys/unix"

	"triagebot/api"
	"triagebot/casefile/store"
)

// childLimit is how large a file the child may write: a disk that fills up.
const childLimit = "TRIAGEBOT_SERVE_LIMIT"

func init() {
	if n, err := strconv.ParseUint(os.Getenv(childLimit), 10, 64); err == nil {
		signal.Ignore(syscall.SIGXFSZ)
		if err := unix.Setrlimit(unix.RLIMIT_FSIZE, &unix.Rlimit{Cur: n, Max: unix.RLIM_INFINITY}); err != nil {
			panic(err)
		}
	}
}

// The disk fills up while owners write. They are told, nothing that was
// acknowledged is lost, and once there is room all goes on without a restart:
// every message has one answer, in order.
func TestServeOnAFullDisk(t *testing.T) {
	p := newPlace(t, "")
	t.Setenv(childLimit, strconv.Itoa(5<<20))
	l := p.start()
	defer func() { _ = l.Process.Kill() }()
	long := strings.Repeat("the plants are dry and the pump hums ", 105)
	const talks = 20
	talk := func(n int) string { return fmt.Sprintf("t%d", n%talks) }
	n := 0
	var refused *api.Error
	for ; n < 5000; n++ {
		took, err := l.say(t.Context(), fmt.Sprintf("m%d", n), talk(n), long)
		if errors.As(err, &refused) {
			break
		}
		require.NoError(t, err)
		require.True(t, took.Taken)
	}
	require.NotNil(t, refused, "the disk never fills up")
	assert.Equal(t, http.StatusInsufficientStorage, refused.Status)
	assert.Equal(t, "there is no room on the disk", refused.Words)
	require.Greater(t, n, 20)
	for range 3 {
		_, err := l.say(t.Context(), fmt.Sprintf("m%d", n), talk(n), long)
		require.ErrorAs(t, err, &refused)
		assert.Equal(t, "full", refused.Code)
	}
	status, _ := l.get(t, "/healthz")
	assert.Equal(t, http.StatusOK, status, "it lives and reads")

	require.NoError(t, unix.Prlimit(l.Process.Pid, unix.RLIMIT_FSIZE, &unix.Rlimit{Cur: unix.RLIM_INFINITY, Max: unix.RLIM_INFINITY}, nil))
	arrived := make(chan struct{}, 10_000)
	p.mu.Lock()
	p.heard = func() { arrived <- struct{}{} }
	p.mu.Unlock()
	took, err := l.say(t.Context(), fmt.Sprintf("m%d", n), talk(n), long)
	require.NoError(t, err)
	assert.True(t, took.Taken, "the same message, handed in again")
	late := time.After(time.Minute)
	all := func() (sum int) {
		for i := range talks {
			sum += len(p.sent(talk(i)))
		}
		return sum
	}
	for all() < n+1 {
		select {
		case <-arrived:
		case <-late:
			require.Fail(t, "not everything arrives")
		}
	}
	l.stop(t)
	require.Equal(t, n+1, all())
	for i := range talks {
		for k, d := range p.sent(talk(i)) {
			assert.Equal(t, fmt.Sprintf("m%d", i+k*talks), d.ReplyTo)
		}
	}
	s, err := store.Open(p.store, store.Options{Now: time.Now, MustExist: true})
	require.NoError(t, err)
	defer s.Close()
	figures, err := s.Figures()
	require.NoError(t, err)
	assert.EqualValues(t, n+1, figures.Turns)
	t.Logf("full after %d messages", n)
}

// A file that goes bad under the running program ends it, so that whoever starts
// it again has the file checked; it is not written on.
func TestServeEndsWhenTheStoreGoesBad(t *testing.T) {
	p := newPlace(t, "")
	l := p.start()
	defer func() { _ = l.Process.Kill() }()
	for n := range 20 {
		_, err := l.say(t.Context(), fmt.Sprintf("m%d", n), "t1", "dry")
		require.NoError(t, err)
	}
	require.NoError(t, os.Truncate(p.store, 8192))
	_, err := l.say(context.Background(), "m20", "t2", "dry")
	require.Error(t, err)
	err = l.ends(t)
	var code *exec.ExitError
	require.ErrorAs(t, err, &code, "%s", l.log.String())
	assert.Equal(t, exitFound, code.ExitCode(), "%s", l.log.String())
	assert.Contains(t, l.log.String(), "the store takes nothing more since the disk failed; stop and start again")
	r := do(t, "", "serve", "--config", p.config)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "the store is damaged; put a backup in its place with: triagebot restore")
}

// A store that may not be written is told at the start.
func TestServeOnAReadOnlyFile(t *testing.T) {
	p := newPlace(t, "")
	s, err := store.Open(p.store, store.Options{Now: time.Now})
	require.NoError(t, err)
	require.NoError(t, s.Close())
	require.NoError(t, os.Chmod(p.store, 0o400))
	if os.Getuid() == 0 { // whom no mode keeps out
		if err := exec.Command("chattr", "+i", p.store).Run(); err != nil {
			require.NotEqual(t, "1", os.Getenv("TRIAGEBOT_TEST_REQUIRE"), "chattr is needed here: %v", err)
			t.Skipf("as root a file can be made read-only only by its attributes, which this file system does not know: %v; casefile/store has the test with another user", err)
		}
		defer func() { require.NoError(t, exec.Command("chattr", "-i", p.store).Run()) }()
	}
	r := do(t, "", "serve", "--config", p.config)
	assert.Equal(t, exitFound, r.code)
	assert.Contains(t, r.err, "opening the store")
	assert.Regexp(t, "permission denied|operation not permitted", r.err)
}
