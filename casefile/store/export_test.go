package store

import (
	"bytes"
	"io"
	"time"

	bolt "go.etcd.io/bbolt"
)

// Tests reach in here.

const (
	Layout   = layout
	LockWait = lockWait
)

var ErrApart = errApart

// BeforeCommit sets what happens before each commit.
func (s *Store) BeforeCommit(fn func() error) { s.beforeCommit = fn }

// SeenLimit sets how many ids a set takes, and returns what undoes it.
func SeenLimit(n uint64) (undo func()) {
	old := seenLimit
	seenLimit = n
	return func() { seenLimit = old }
}

// GistsAtATime sets how many gists one look takes, and returns what undoes it.
func GistsAtATime(n int) (undo func()) {
	old := gistsAtATime
	gistsAtATime = n
	return func() { gistsAtATime = old }
}

// Records is everything in the file, as bbolt reads it.
func (s *Store) Records() (map[string]string, error) {
	all := map[string]string{}
	err := s.view(func(r reading) error {
		return r.tx.ForEach(func(name []byte, b *bolt.Bucket) error {
			all[string(name)] = "(bucket)"
			return b.ForEach(func(k, v []byte) error {
				all[string(name)+"\x00"+string(k)] = string(v)
				return nil
			})
		})
	})
	return all, err
}

// BoltCheck runs bbolt's own check.
func (s *Store) BoltCheck() []error {
	var found []error
	_ = s.view(func(r reading) error {
		for err := range r.tx.Check() {
			found = append(found, err)
		}
		return nil
	})
	return found
}

// Scan reads a file as plain bytes.
func Scan(in io.ReaderAt, size int64) (map[string]string, error) {
	all := map[string]string{}
	err := scan(in, size, func(bucket string, key, value []byte) error {
		if key == nil {
			all[bucket] = "(bucket)"
		} else {
			all[bucket+"\x00"+string(key)] = string(bytes.Clone(value))
		}
		return nil
	})
	return all, err
}

// Used says of every byte of a sound file whether anything is in it.
func Used(in io.ReaderAt, size int64) ([]bool, error) {
	m, err := newestMeta(in, size)
	if err != nil {
		return nil, err
	}
	p := &pages{in: in, meta: m, used: make([]bool, m.high), each: func(string, []byte, []byte) error { return nil }}
	p.used[0], p.used[1] = true, true
	if _, _, err := p.walk(m.root, "", 0); err != nil {
		return nil, err
	}
	used := make([]bool, int64(m.high)*int64(m.pageSize))
	mark := func(from, to int) {
		for i := from; i < to; i++ {
			used[i] = true
		}
	}
	for id := range 2 {
		start := id * m.pageSize
		mark(start+8, start+10) // what kind of page
		mark(start+pageHeader, start+pageHeader+metaSize)
	}
	reached := p.used
	p.used = make([]bool, m.high)
	for id := uint64(2); id < m.high; id++ {
		if !reached[id] {
			continue
		}
		buf, err := p.page(id)
		if err != nil {
			return nil, err
		}
		_, n, err := elements(buf, id)
		if err != nil {
			return nil, err
		}
		start := int(id) * m.pageSize
		mark(start, start+n)
		id += uint64(len(buf)/m.pageSize) - 1
	}
	return used, nil
}

// CreateLayout1 makes a store as the first layout had it, with these cases.
func CreateLayout1(path string, now time.Time, cases []Case, fill func(put func(bucket string, key []byte, v any) error) error) error {
	db, err := openBolt(path)
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bolt.Tx) error {
		if err := begin(tx, 1, epoch(now)); err != nil {
			return err
		}
		w, err := newWriting(tx)
		if err != nil {
			return err
		}
		for _, c := range cases {
			w.head.Case = max(w.head.Case, c.ID)
			if err := w.putJSON(inCases, number(c.ID), c); err != nil {
				return err
			}
		}
		if err := fill(w.putJSON); err != nil {
			return err
		}
		return w.finish()
	})
	if err != nil {
		return err
	}
	return db.Close()
}

// SetLayout writes another version into a file.
func SetLayout(path string, version int) error {
	db, err := openBolt(path)
	if err != nil {
		return err
	}
	err = db.Update(func(tx *bolt.Tx) error {
		w, err := newWriting(tx)
		if err != nil {
			return err
		}
		return w.putMeta(keyLayout, encodeLayout(version))
	})
	if err != nil {
		return err
	}
	return db.Close()
}

// HalfJob has the writer make a change that writes and then fails.
func (s *Store) HalfJob(ran *int, fails error) *Job {
	return &Job{&job{done: make(chan error, 1), change: func(w *writing) error {
		*ran++
		if err := w.put(inSettings, []byte("half"), []byte("written")); err != nil {
			return err
		}
		return fails
	}}}
}

// Job is a change of the tests' own.
type Job struct{ j *job }

// SetJob has the writer keep a setting.
func (s *Store) SetJob(ran *int, name string) *Job {
	return &Job{&job{done: make(chan error, 1), change: func(w *writing) error {
		*ran++
		return w.put(inSettings, []byte(name), []byte("on"))
	}}}
}

// RefusedJob has the writer refuse before it writes.
func (s *Store) RefusedJob(err error) *Job {
	return &Job{&job{done: make(chan error, 1), change: func(*writing) error { return err }}}
}

// Group commits changes together and returns what each was told.
func (s *Store) Group(list ...*Job) []error {
	var group []*job
	for _, j := range list {
		group = append(group, j.j)
	}
	s.commit(group)
	var told []error
	for _, j := range group {
		told = append(told, <-j.done)
	}
	return told
}
