package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	bolt "go.etcd.io/bbolt"
)

// Options are how a store is opened.
type Options struct {
	Now       func() time.Time // required
	MustExist bool             // refuse to make a new file
	// Unflushed leaves flushing to Close, for filling a file that can be made
	// again: a crash may leave it damaged.
	Unflushed bool
}

// Store is an open store.
type Store struct {
	path string
	now  func() time.Time
	lock *held
	jobs chan *job
	quit chan struct{}
	done sync.WaitGroup

	// mu guards db against being swapped by compaction.
	mu     sync.RWMutex
	db     *bolt.DB
	closed bool

	unflushed bool

	epoch string

	// broken is why nothing more is taken; failed is closed with it.
	broken atomic.Pointer[error]
	failed chan struct{}

	// beforeCommit is for tests: a slow or failing disk.
	beforeCommit func() error
}

// lockWait bounds how long bbolt's own lock is waited for. Ours is held by
// then, so only a foreign tool can have it.
const lockWait = 500 * time.Millisecond

// boltOptions leave no list of free pages in the file: it need not be trusted
// then, and is worked out anew from the checked tree. The map is made large at
// once, since making it larger waits for all readers.
func boltOptions() *bolt.Options {
	return &bolt.Options{
		Timeout: lockWait, NoFreelistSync: true, FreelistType: bolt.FreelistMapType,
		InitialMmapSize: 256 << 20, NoStatistics: true,
	}
}

// growBy is how much the file grows at a time; each growth costs a flush.
const growBy = 4 << 20

// Open checks the file, brings it to the current layout and makes it ready.
// It returns [HeldError] when another process has the store, [ErrDamaged] when
// the file is not sound, [VersionError] when a newer program wrote it, and
// [ErrMissing] when there is none and it must exist.
func Open(path string, o Options) (*Store, error) {
	if o.Now == nil {
		return nil, errors.New("opening the store: a clock is required")
	}
	if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) && o.MustExist {
		return nil, fmt.Errorf("opening %q: %w", path, ErrMissing)
	}
	l, err := lock(path, o.Now)
	if err != nil {
		return nil, err
	}
	s := &Store{path: path, now: o.Now, unflushed: o.Unflushed, lock: l, jobs: make(chan *job), quit: make(chan struct{}), failed: make(chan struct{})}
	if err := s.open(); err != nil {
		l.release()
		return nil, err
	}
	s.done.Add(1)
	go s.write()
	return s, nil
}

func (s *Store) open() error {
	if err := sweep(s.path); err != nil {
		return fmt.Errorf("clearing up beside the store %q: %w", s.path, err)
	}
	_, err := os.Stat(s.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		if err := create(s.path, s.now()); err != nil {
			return fmt.Errorf("making the store %q: %w", s.path, err)
		}
	case err != nil:
		return fmt.Errorf("opening the store: %w", err)
	}
	found, err := check(s.path)
	if err != nil {
		return err
	}
	if s.db, err = openBolt(s.path); err != nil {
		return err
	}
	if err := migrate(s.db, found.Layout); err != nil {
		_ = s.db.Close()
		return fmt.Errorf("bringing the store %q to layout %d: %w", s.path, layout, err)
	}
	s.db.NoSync = s.unflushed
	erased := false
	err = s.view(func(r reading) error {
		h, _, err := get[head](r, inMeta, keyHead)
		s.epoch, erased = h.Epoch, h.Erased
		return err
	})
	if err == nil && erased {
		err = s.compact()
	}
	if err != nil {
		_ = guarded(s.db.Close)
		return fmt.Errorf("opening the store %q: %w", s.path, err)
	}
	return nil
}

func openBolt(path string) (*bolt.DB, error) {
	var db *bolt.DB
	err := guarded(func() (err error) {
		db, err = bolt.Open(path, 0o600, boltOptions())
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("opening the store %q: %w", path, err)
	}
	db.AllocSize = growBy
	return db, nil
}

// create makes a new file aside and puts it in place whole, so that a crash
// leaves either no store or a sound one.
func create(path string, now time.Time) error {
	aside := path + ".new"
	db, err := openBolt(aside)
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bolt.Tx) error { return begin(tx, layout, epoch(now)) })
	if closed := db.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	return putInPlace(aside, path)
}

// begin writes the empty buckets of a layout.
func begin(tx *bolt.Tx, version int, epoch string) error {
	for _, name := range append([]string{inMeta}, bucketsOf(version)...) {
		if _, err := tx.CreateBucket([]byte(name)); err != nil {
			return err
		}
	}
	w := &writing{reading: reading{tx}, head: head{Epoch: epoch, Tallies: make([]tally, len(bucketsOf(version)))}}
	if err := w.putMeta(keyLayout, encodeLayout(version)); err != nil {
		return err
	}
	return w.finish()
}

// epoch names a life of a store; a nonce starts with it.
func epoch(now time.Time) string { return strconv.FormatInt(now.UnixMilli(), 36) }

// sweep removes what a killed process left half-made: owners' words are in it.
func sweep(path string) error {
	left, err := filepath.Glob(globQuote(path) + ".backup-*")
	if err != nil {
		return err
	}
	for _, name := range append(left, path+".new") {
		if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
	}
	return nil
}

func globQuote(path string) string {
	return strings.NewReplacer(`*`, `\*`, `?`, `\?`, `[`, `\[`, `\`, `\\`).Replace(path)
}

// putInPlace renames a finished file and makes the name durable.
func putInPlace(from, to string) error {
	if err := os.Rename(from, to); err != nil {
		return err
	}
	return syncDir(filepath.Dir(to))
}

func syncDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}

// Close finishes the change in hand, ends the writer and frees the file. Changes
// that still wait get ErrClosed. A second call does nothing.
func (s *Store) Close() error {
	s.mu.Lock()
	if s.closed {
		s.mu.Unlock()
		return nil
	}
	s.closed = true
	s.mu.Unlock()
	close(s.quit)
	s.done.Wait()
	s.mu.Lock()
	defer s.mu.Unlock()
	defer s.lock.release()
	if err := guarded(s.flushed(s.db.Close)); err != nil {
		return fmt.Errorf("closing the store: %w", err)
	}
	return nil
}

// flushed flushes what was left unflushed before it goes on.
func (s *Store) flushed(next func() error) func() error {
	return func() error {
		if s.unflushed {
			if err := s.db.Sync(); err != nil {
				return err
			}
		}
		return next()
	}
}

// Path is where the store lies.
func (s *Store) Path() string { return s.path }

// view runs a short look. What fn takes from it must be copied.
func (s *Store) view(fn func(reading) error) error {
	s.mu.RLock()
	defer s.mu.RUnlock()
	if s.closed {
		return ErrClosed
	}
	err := guarded(func() error {
		return s.db.View(func(tx *bolt.Tx) error { return fn(reading{tx}) })
	})
	if errors.Is(err, ErrDamaged) {
		return s.fail(err) // writing on would bury what can still be saved
	}
	return err
}
