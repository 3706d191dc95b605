package store

import (
	"encoding/json"
	"strconv"
)

// head is what the store knows of itself. It is written with every
// transaction.
type head struct {
	Epoch    string  `json:"epoch"` // differs after a restore, so that nonces do
	Turn     uint64  `json:"turn"`
	Outgoing uint64  `json:"outgoing"`
	Case     uint64  `json:"case"`
	Nameless uint64  `json:"nameless,omitempty"` // figures that lost their conversation
	SeenB    bool    `json:"seen_b"`             // which of the two sets of ids is being filled
	Erased   bool    `json:"erased,omitempty"`   // words were erased and the file was not written anew since
	Tallies  []tally `json:"tallies"`
}

// tally is the number of records in a bucket and the sum of their checksums.
// A record that is lost or turns up twice shows here although every record
// that is left is sound.
type tally struct {
	Count uint64 `json:"n"`
	Sum   uint64 `json:"sum"`
}

func (t *tally) add(sum uint32)  { t.Count++; t.Sum += uint64(sum) }
func (t *tally) drop(sum uint32) { t.Count--; t.Sum -= uint64(sum) }

var (
	keyHead   = []byte("head")
	keyLayout = []byte("layout")
)

// layout is the version of the file's layout that this program writes.
const layout = 4

func encodeLayout(n int) []byte { return strconv.AppendInt(nil, int64(n), 10) }

func decodeLayout(b []byte) (int, error) {
	n, err := strconv.Atoi(string(b))
	if err != nil || n < 1 {
		return 0, damaged("layout %q is no version", b)
	}
	return n, nil
}

func encodeHead(h head) ([]byte, error) { return json.Marshal(h) }

func indexOf(bucket string) int {
	for i, b := range tallied {
		if b == bucket {
			return i
		}
	}
	return -1
}

// bucketsOf lists the tallied buckets of a layout.
func bucketsOf(version int) []string {
	return tallied[:len(tallied)-(layout-version)] // each layout so far added one
}
