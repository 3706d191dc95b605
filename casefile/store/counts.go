package store

import (
	"strconv"
	"strings"
)

// Counts are kept for good: they say how often something was so, of whom and
// when it is not said. A name is words parted by "/".
func closedCount(c Case) string {
	if c.NotFound {
		return countName("closed", c.Kit, "not-found", "")
	}
	return countName("closed", c.Kit, c.Cause, c.Remedy)
}

func endedCount(t Talk) string { return countName("talk", t.Kit, string(t.Phase)) }

func countName(words ...string) string {
	for i, w := range words {
		words[i] = strings.ReplaceAll(w, "/", "_")
	}
	return strings.Join(words, "/")
}

func (w *writing) count(name string) error {
	value, err := w.get(inCounts, []byte(name))
	if err != nil {
		return err
	}
	n, _ := strconv.ParseUint(string(value), 10, 64) // none yet reads as 0
	return w.put(inCounts, []byte(name), strconv.AppendUint(nil, n+1, 10))
}

// Counts returns the anonymous counts: closed/KIT/CAUSE/REMEDY for every time a
// case was closed, and talk/KIT/PHASE for every conversation erased since.
func (s *Store) Counts() (map[string]uint64, error) {
	all := map[string]uint64{}
	err := s.view(func(r reading) error {
		return r.each(inCounts, nil, nil, func(key, value []byte) (bool, error) {
			n, err := strconv.ParseUint(string(value), 10, 64)
			if err != nil {
				return false, damaged("count %q is %q", key, value)
			}
			all[string(key)] = n
			return true, nil
		})
	})
	return all, err
}
