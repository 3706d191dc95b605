package store

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
)

// Contents says what a checked file holds.
type Contents struct {
	Layout        int
	Conversations uint64
	Turns         uint64
	Cases         uint64
	Outgoing      uint64
	Bytes         int64
}

// Verify checks a file that no process has open: every page, every record, and
// that none is missing. Opening a store does the same.
func Verify(path string) (Contents, error) {
	// Who has a store open has made its lock file; a backup has none and needs none.
	if _, err := os.Stat(lockName(path)); err == nil {
		l, err := lock(path, nil)
		if err != nil {
			return Contents{}, err
		}
		defer l.release()
	}
	return check(path)
}

func check(path string) (Contents, error) {
	f, err := os.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return Contents{}, fmt.Errorf("opening %q: %w", path, ErrMissing)
	}
	if err != nil {
		return Contents{}, fmt.Errorf("opening the store: %w", err)
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return Contents{}, fmt.Errorf("opening the store: %w", err)
	}
	c, err := checkRecords(f, info.Size())
	if v := (*VersionError)(nil); errors.As(err, &v) {
		v.Path = path
		return c, v
	}
	if err != nil {
		return c, fmt.Errorf("checking %q: %w", path, err)
	}
	return c, nil
}

// census is what a scan finds.
type census struct {
	tallies map[string]*tally
	meta    map[string][]byte
}

func checkRecords(f *os.File, size int64) (Contents, error) {
	found := census{tallies: map[string]*tally{}, meta: map[string][]byte{}}
	if err := scan(f, size, found.take); err != nil {
		return Contents{}, err
	}
	version, err := decodeLayout(found.meta[string(keyLayout)])
	if err != nil {
		return Contents{}, err
	}
	if version > layout {
		return Contents{}, &VersionError{Found: version, Known: layout}
	}
	h, err := decode[head](inMeta, keyHead, found.meta[string(keyHead)])
	if err != nil {
		return Contents{}, err
	}
	want := bucketsOf(version)
	if len(h.Tallies) != len(want) || len(found.tallies) != len(want)+1 || len(found.meta) != 2 {
		return Contents{}, damaged("the buckets are not those of layout %d", version)
	}
	for i, name := range want {
		got := found.tallies[name]
		if got == nil || *got != h.Tallies[i] {
			return Contents{}, damaged("records of %s are missing or doubled", name)
		}
	}
	return Contents{
		Layout: version, Bytes: size, Conversations: found.tallies[inTalks].Count, Turns: found.tallies[inEvents].Count,
		Cases: found.tallies[inCases].Count, Outgoing: found.tallies[inOutbox].Count,
	}, nil
}

func (c *census) take(bucket string, key, sealed []byte) error {
	t := c.tallies[bucket]
	if t == nil {
		t = &tally{}
		c.tallies[bucket] = t
	}
	if key == nil {
		return nil // the bucket itself
	}
	value, sum, err := unseal(bucket, key, sealed)
	if err != nil {
		return err
	}
	if bucket == inMeta {
		c.meta[string(key)] = append([]byte(nil), value...)
		return nil
	}
	t.add(sum)
	return nil
}
