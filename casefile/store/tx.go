package store

import (
	"bytes"
	"encoding/json"
	"fmt"

	bolt "go.etcd.io/bbolt"
)

// reading is a look at the store inside a transaction. What it returns is valid
// until the transaction ends.
type reading struct{ tx *bolt.Tx }

func (r reading) get(bucket string, key []byte) ([]byte, error) {
	b := r.tx.Bucket([]byte(bucket))
	if b == nil {
		return nil, damaged("bucket %s is missing", bucket)
	}
	sealed := b.Get(key)
	if sealed == nil {
		return nil, nil
	}
	value, _, err := unseal(bucket, key, sealed)
	return value, err
}

// each calls fn for the records whose keys start with prefix, from the key
// given on (nil: the first), until fn returns false.
func (r reading) each(bucket string, prefix, from []byte, fn func(key, value []byte) (bool, error)) error {
	b := r.tx.Bucket([]byte(bucket))
	if b == nil {
		return damaged("bucket %s is missing", bucket)
	}
	if from == nil {
		from = prefix
	}
	c := b.Cursor()
	for key, sealed := c.Seek(from); key != nil && bytes.HasPrefix(key, prefix); key, sealed = c.Next() {
		value, _, err := unseal(bucket, key, sealed)
		if err != nil {
			return err
		}
		if more, err := fn(key, value); err != nil || !more {
			return err
		}
	}
	return nil
}

// back is each from behind: the records under a prefix that lie before a key.
func (r reading) back(bucket string, prefix, before []byte, fn func(key, value []byte) (bool, error)) error {
	b := r.tx.Bucket([]byte(bucket))
	if b == nil {
		return damaged("bucket %s is missing", bucket)
	}
	c := b.Cursor()
	key, sealed := c.Seek(before)
	if key == nil {
		key, sealed = c.Last()
	}
	for key != nil && bytes.Compare(key, before) >= 0 {
		key, sealed = c.Prev()
	}
	for ; key != nil && bytes.HasPrefix(key, prefix); key, sealed = c.Prev() {
		value, _, err := unseal(bucket, key, sealed)
		if err != nil {
			return err
		}
		if more, err := fn(key, value); err != nil || !more {
			return err
		}
	}
	return nil
}

// keys copies the keys under a prefix: a bucket must not change under a cursor.
func (r reading) keys(bucket string, prefix []byte) ([][]byte, error) {
	var list [][]byte
	err := r.each(bucket, prefix, nil, func(key, _ []byte) (bool, error) {
		list = append(list, bytes.Clone(key))
		return true, nil
	})
	return list, err
}

func get[T any](r reading, bucket string, key []byte) (T, bool, error) {
	var none T
	value, err := r.get(bucket, key)
	if err != nil || value == nil {
		return none, false, err
	}
	v, err := decode[T](bucket, key, value)
	return v, err == nil, err
}

// writing changes the store inside a transaction and keeps the tallies.
type writing struct {
	reading
	head  head
	wrote int
}

func newWriting(tx *bolt.Tx) (*writing, error) {
	w := &writing{reading: reading{tx}}
	h, ok, err := get[head](w.reading, inMeta, keyHead)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, damaged("the head record is missing")
	}
	w.head = h
	return w, nil
}

// finish writes the head back.
func (w *writing) finish() error {
	data, err := encodeHead(w.head)
	if err != nil {
		return fmt.Errorf("encoding the store's head: %w", err)
	}
	return w.putMeta(keyHead, data)
}

// changeHead changes the head of a file that nobody else has yet.
func changeHead(db *bolt.DB, change func(*head)) error {
	return guarded(func() error {
		return db.Update(func(tx *bolt.Tx) error {
			w, err := newWriting(tx)
			if err != nil {
				return err
			}
			change(&w.head)
			return w.finish()
		})
	})
}

func (w *writing) putMeta(key, value []byte) error {
	sealed, _ := seal(inMeta, key, value)
	return w.tx.Bucket([]byte(inMeta)).Put(key, sealed)
}

func (w *writing) bucket(name string) (*bolt.Bucket, *tally, error) {
	b, i := w.tx.Bucket([]byte(name)), indexOf(name)
	if b == nil || i < 0 || i >= len(w.head.Tallies) {
		return nil, nil, damaged("bucket %s is missing", name)
	}
	return b, &w.head.Tallies[i], nil
}

func (w *writing) put(bucket string, key, value []byte) error {
	b, t, err := w.bucket(bucket)
	if err != nil {
		return err
	}
	if err := untally(bucket, b, t, key); err != nil {
		return err
	}
	sealed, sum := seal(bucket, key, value)
	w.wrote++
	t.add(sum)
	return b.Put(key, sealed)
}

func (w *writing) putJSON(bucket string, key []byte, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return fmt.Errorf("encoding a record of %s: %w", bucket, err)
	}
	return w.put(bucket, key, data)
}

func (w *writing) delete(bucket string, key []byte) error {
	b, t, err := w.bucket(bucket)
	if err != nil {
		return err
	}
	if err := untally(bucket, b, t, key); err != nil {
		return err
	}
	w.wrote++
	return b.Delete(key)
}

// empty drops all records of a bucket at once.
func (w *writing) empty(bucket string) error {
	_, t, err := w.bucket(bucket)
	if err != nil {
		return err
	}
	w.wrote++
	*t = tally{}
	if err := w.tx.DeleteBucket([]byte(bucket)); err != nil {
		return err
	}
	_, err = w.tx.CreateBucket([]byte(bucket))
	return err
}

func untally(bucket string, b *bolt.Bucket, t *tally, key []byte) error {
	old := b.Get(key)
	if old == nil {
		return nil
	}
	_, sum, err := unseal(bucket, key, old)
	if err != nil {
		return err
	}
	t.drop(sum)
	return nil
}
