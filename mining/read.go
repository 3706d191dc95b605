package mining

import (
	"bufio"
	"fmt"
	"io"
	"iter"
)

// longest is the longest line taken: a record is a few kilobytes.
const longest = 4 << 20

// Records reads JSON lines. After an error it ends. A store gives the same
// sequence without writing it out.
func Records(r io.Reader) iter.Seq2[Record, error] {
	return jsonLines(r, "records", (*Decoder).Record)
}

// Fleet reads the bikes that are running, as JSON lines.
func Fleet(r io.Reader) iter.Seq2[Running, error] {
	return jsonLines(r, "running bikes", (*Decoder).running)
}

func jsonLines[T any](r io.Reader, what string, decode func(*Decoder, []byte) (T, error)) iter.Seq2[T, error] {
	return func(yield func(T, error) bool) {
		in := bufio.NewScanner(r)
		in.Buffer(make([]byte, 64<<10), longest)
		d := NewDecoder()
		for line := 1; in.Scan(); line++ {
			if len(in.Bytes()) == 0 {
				continue
			}
			v, err := decode(d, in.Bytes())
			if err != nil {
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
