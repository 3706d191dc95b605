package store

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"

	bolt "go.etcd.io/bbolt"
)

// compactStep bounds the memory of a compaction.
const compactStep = 8 << 20

// Compact writes the file anew without what was deleted and puts it in the old
// one's place. Reads go on meanwhile; changes wait.
func (s *Store) Compact(ctx context.Context) error {
	err := s.hand(ctx, &job{apart: s.compact, done: make(chan error, 1)})
	if err != nil {
		return fmt.Errorf("compacting the store: %w", err)
	}
	return nil
}

func (s *Store) compact() error {
	if err := s.isBroken(); err != nil {
		return err
	}
	aside := s.path + ".new"
	if err := s.copyInto(aside); err != nil {
		_ = os.Remove(aside)
		return full(err)
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	// From here on a failure leaves the store without an open file; the one on
	// the disk is whole, the old or the new.
	err := guarded(s.db.Close)
	if err == nil {
		err = putInPlace(aside, s.path)
	}
	if err == nil {
		var db *bolt.DB
		if db, err = openBolt(s.path); err == nil {
			s.db = db
		}
	}
	if err != nil {
		return s.fail(err)
	}
	return nil
}

func (s *Store) copyInto(aside string) error {
	if err := os.Remove(aside); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	to, err := openBolt(aside)
	if err != nil {
		return err
	}
	s.mu.RLock()
	err = guarded(func() error { return bolt.Compact(to, s.db, compactStep) })
	s.mu.RUnlock()
	if err == nil {
		err = changeHead(to, func(h *head) { h.Erased = false })
	}
	if closed := to.Close(); err == nil {
		err = closed
	}
	if err != nil {
		return err
	}
	_, err = check(aside)
	return err
}
