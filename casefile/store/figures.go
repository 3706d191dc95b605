package store

import (
	"bytes"
	"fmt"
)

// Figures are how much an open store holds.
type Figures struct {
	Conversations, Turns, Cases, Outgoing uint64
	Waiting, Taken, Closed                uint64 // cases by state
}

// Figures reads how much the store holds. Its time grows with the cases that
// are not closed, and with nothing else.
func (s *Store) Figures() (f Figures, err error) {
	err = s.view(func(r reading) error {
		h, _, err := get[head](r, inMeta, keyHead)
		if err != nil {
			return err
		}
		count := func(bucket string) uint64 { return h.Tallies[indexOf(bucket)].Count }
		f = Figures{Conversations: count(inTalks), Turns: count(inEvents), Cases: count(inCases), Outgoing: count(inOutbox)}
		for state, n := range map[State]*uint64{Waiting: &f.Waiting, Taken: &f.Taken} {
			c := r.tx.Bucket([]byte(inStates)).Cursor()
			prefix := under(string(state))
			for key, _ := c.Seek(prefix); key != nil && bytes.HasPrefix(key, prefix); key, _ = c.Next() {
				*n++
			}
		}
		f.Closed = f.Cases - f.Waiting - f.Taken
		return nil
	})
	if err != nil {
		return Figures{}, fmt.Errorf("reading the figures of the store: %w", err)
	}
	return f, nil
}

// Failed is closed when the store takes nothing more, as [ErrBroken] says.
func (s *Store) Failed() <-chan struct{} { return s.failed }
