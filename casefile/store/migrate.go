package store

import (
	"fmt"

	bolt "go.etcd.io/bbolt"
)

// steps[n] brings a file from layout n+1 to n+2. A step is one transaction: it
// happens whole or not at all.
var steps = []func(*writing) error{listCasesByState, addPhotos, keepGists}

func migrate(db *bolt.DB, version int) error {
	for ; version < layout; version++ {
		err := guarded(func() error {
			return db.Update(func(tx *bolt.Tx) error {
				w, err := newWriting(tx)
				if err != nil {
					return err
				}
				if err := steps[version-1](w); err != nil {
					return err
				}
				if err := w.putMeta(keyLayout, encodeLayout(version+1)); err != nil {
					return err
				}
				return w.finish()
			})
		})
		if err != nil {
			return fmt.Errorf("from layout %d: %w", version, err)
		}
	}
	return nil
}

// keepGists is what layout 3 added: what statistics keep of a talk stays when
// its words go.
func keepGists(w *writing) error {
	if _, err := w.tx.CreateBucket([]byte(inGists)); err != nil {
		return err
	}
	w.head.Tallies = append(w.head.Tallies, tally{})
	return nil
}

// listCasesByState is what layout 2 added: finding the waiting cases took a
// look at every case there ever was.
func listCasesByState(w *writing) error {
	if _, err := w.tx.CreateBucket([]byte(inStates)); err != nil {
		return err
	}
	w.head.Tallies = append(w.head.Tallies, tally{})
	return w.each(inCases, nil, nil, func(key, value []byte) (bool, error) {
		c, err := decode[Case](inCases, key, value)
		if err != nil {
			return false, err
		}
		return true, w.put(inStates, numbered(string(c.State), c.ID), nil)
	})
}

// addPhotos is what layout 3 added: the pictures that owners send.
func addPhotos(w *writing) error {
	if _, err := w.tx.CreateBucket([]byte(inPhotos)); err != nil {
		return err
	}
	w.head.Tallies = append(w.head.Tallies, tally{})
	return nil
}
