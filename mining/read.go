package mining

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"iter"
)

// longest is the longest line taken: a record is a few kilobytes.
const longest = 4 << 20

// Records reads JSON lines. After an error it ends. A store gives the same
// sequence without writing it out.
func Records(r io.Reader) iter.Seq2[Record, error] { return jsonLines[Record](r, "records") }

// Fleet reads the bikes that are running, as JSON lines.
func Fleet(r io.Reader) iter.Seq2[Running, error] { return jsonLines[Running](r, "running bikes") }

func jsonLines[T any](r io.Reader, what string) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		in := bufio.NewScanner(r)
		in.Buffer(make([]byte, 64<<10), longest)
		for line := 1; in.Scan(); line++ {
			if len(in.Bytes()) == 0 {
				continue
			}
			var v T
			if err := json.Unmarshal(in.Bytes(), &v); err != nil {
				yield(v, fmt.Errorf("reading %s: line %d: %w", what, line, err))
				return
			}
			if !yield(v, nil) {
				return
			}
		}
		if err := in.Err(); err != nil {
			var none T
			yield(none, fmt.Errorf("reading %s: %w", what, err))
		}
	}
}
