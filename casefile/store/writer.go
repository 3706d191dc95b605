package store

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"strings"
	"syscall"
)

// job is a change that waits for the writer. It may run more than once, so it
// must set its results anew each time.
type job struct {
	change func(*writing) error
	apart  func() error // instead of a change: work while nothing is written
	done   chan error
}

// mostTogether bounds a transaction, and with it how long a change waits for
// the others.
const mostTogether = 512

// update has the writer make a change, and returns once it is durable.
func (s *Store) update(ctx context.Context, change func(*writing) error) error {
	return s.hand(ctx, &job{change: change, done: make(chan error, 1)})
}

func (s *Store) hand(ctx context.Context, j *job) error {
	select {
	case <-s.quit:
		return ErrClosed
	default:
	}
	select {
	case s.jobs <- j:
		return <-j.done
	case <-s.quit:
		return ErrClosed
	case <-ctx.Done():
		return ctx.Err()
	}
}

func (s *Store) write() {
	defer s.done.Done()
	for {
		select {
		case j := <-s.jobs:
			s.serve(j)
		case <-s.quit:
			return
		}
	}
}

// serve takes all jobs that wait by now and commits them together.
func (s *Store) serve(j *job) {
	var group []*job
	for j != nil {
		if j.apart != nil {
			s.commit(group)
			group = nil
			j.done <- j.apart()
		} else {
			group = append(group, j)
		}
		j = nil
		if len(group) < mostTogether {
			select {
			case j = <-s.jobs:
			default:
			}
		}
	}
	s.commit(group)
}

func (s *Store) commit(group []*job) {
	if len(group) == 0 {
		return
	}
	s.mu.RLock()
	defer s.mu.RUnlock()
	if err := s.isBroken(); err != nil {
		for _, j := range group {
			j.done <- err
		}
		return
	}
	refusals, err := s.together(group)
	if errors.Is(err, errApart) {
		// One of them failed half-way and spoilt the transaction: each gets its own.
		for _, j := range group {
			refusal, err := s.together([]*job{j})
			if err == nil {
				err = refusal[0]
			}
			j.done <- err
		}
		return
	}
	for i, j := range group {
		if err != nil {
			j.done <- err
			continue
		}
		j.done <- refusals[i]
	}
}

// errApart says that a change wrote and then failed.
var errApart = errors.New("a change failed after it had written")

// together runs changes in one transaction. A change that refuses before it
// wrote anything does not trouble the others.
func (s *Store) together(group []*job) (refusals []error, err error) {
	refusals = make([]error, len(group))
	committing := false
	err = guarded(func() error {
		tx, err := s.db.Begin(true)
		if err != nil {
			return err
		}
		defer func() { _ = tx.Rollback() }() // does nothing after a commit
		w, err := newWriting(tx)
		if err != nil {
			return err
		}
		for i, j := range group {
			before := w.wrote
			refusals[i] = j.change(w)
			if refusals[i] != nil && w.wrote != before {
				if len(group) > 1 {
					return errApart
				}
				return refusals[i]
			}
		}
		if w.wrote == 0 {
			return nil
		}
		if err := w.finish(); err != nil {
			return err
		}
		committing = true
		if s.beforeCommit != nil {
			if err := s.beforeCommit(); err != nil {
				return fmt.Errorf("writing to the store: %w", full(err))
			}
		}
		if err := tx.Commit(); err != nil {
			return fmt.Errorf("writing to the store: %w", full(err))
		}
		return nil
	})
	// After a failed flush nobody knows what is on the disk, and a second one
	// would say all is well. A full disk is noticed before anything is flushed.
	if committing && err != nil && !errors.Is(err, ErrFull) || errors.Is(err, ErrDamaged) {
		err = s.fail(err)
	}
	return refusals, err
}

// fail ends writing for good.
func (s *Store) fail(err error) error {
	why := fmt.Errorf("%w (%w)", ErrBroken, err)
	if s.broken.CompareAndSwap(nil, &why) {
		close(s.failed)
	}
	return s.isBroken()
}

// isBroken is why nothing more is taken, or nil.
func (s *Store) isBroken() error {
	if why := s.broken.Load(); why != nil {
		return *why
	}
	return nil
}

// full marks the errors of a disk without room. bbolt passes some on as text only.
func full(err error) error {
	text := err.Error()
	if diskFull(err) || strings.Contains(text, syscall.ENOSPC.Error()) || strings.Contains(text, syscall.EFBIG.Error()) {
		return fmt.Errorf("%w (%w)", ErrFull, err)
	}
	return err
}

// guarded runs fn and turns a panic or a fault in the mapped file into
// ErrDamaged: the file may go bad while it is open.
func guarded(fn func() error) (err error) {
	old := debug.SetPanicOnFault(true)
	defer debug.SetPanicOnFault(old)
	defer func() {
		if p := recover(); p != nil {
			err = damaged("reading the open file (%v)", p)
		}
	}()
	return fn()
}
