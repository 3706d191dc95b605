package store

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"strings"
)

// The buckets of the current layout. Keys are listed in DEVELOPERS.md.
const (
	inMeta      = "meta"
	inEvents    = "events"
	inTalks     = "talks"
	inOwners    = "owners"
	inCases     = "cases"
	inStates    = "case-states"
	inDocuments = "case-documents"
	inOutbox    = "outbox"
	inSeenA     = "seen-a"
	inSeenB     = "seen-b"
	inSettings  = "settings"
	inCounts    = "counts"
	inPhotos    = "photos"
	inGists     = "gists"
)

// tallied are the buckets whose records are counted, in the order of their
// tallies; meta holds the tallies themselves. New ones go to the end.
var tallied = []string{
	inEvents, inTalks, inOwners, inCases, inDocuments, inOutbox, inSeenA, inSeenB, inSettings, inCounts, inStates, inPhotos, inGists,
}

var castagnoli = crc32.MakeTable(crc32.Castagnoli)

const sealSize = 4

// checksum covers the place of a record as well as its value, so that a record
// cannot turn up under another key.
func checksum(bucket string, key, value []byte) uint32 {
	sum := crc32.Update(0, castagnoli, []byte(bucket))
	sum = crc32.Update(sum, castagnoli, []byte{0, byte(len(key) >> 8), byte(len(key))})
	sum = crc32.Update(sum, castagnoli, key)
	return crc32.Update(sum, castagnoli, value)
}

func seal(bucket string, key, value []byte) ([]byte, uint32) {
	sum := checksum(bucket, key, value)
	out := make([]byte, 0, len(value)+sealSize)
	return binary.LittleEndian.AppendUint32(append(out, value...), sum), sum
}

// unseal returns the value inside; it shares the sealed bytes.
func unseal(bucket string, key, sealed []byte) ([]byte, uint32, error) {
	if len(sealed) < sealSize {
		return nil, 0, damaged("record %q in %s has no checksum", key, bucket)
	}
	value, tail := sealed[:len(sealed)-sealSize], sealed[len(sealed)-sealSize:]
	sum := binary.LittleEndian.Uint32(tail)
	if sum != checksum(bucket, key, value) {
		return nil, 0, damaged("record %q in %s does not match its checksum", key, bucket)
	}
	return value, sum, nil
}

// mostName bounds ids and handles: they become keys, and a key is kept in
// every level of the tree.
const mostName = 200

func checkName(what, name string) error {
	if name == "" || len(name) > mostName || strings.ContainsRune(name, 0) {
		return fmt.Errorf("%s %q: must have 1 to %d bytes and no zero byte", what, name, mostName)
	}
	return nil
}

// under is the start of all keys that belong to a name.
func under(name string) []byte { return append([]byte(name), 0) }

func numbered(name string, n uint64) []byte {
	return binary.BigEndian.AppendUint64(under(name), n)
}

func paired(a, b string) []byte { return append(under(a), b...) }

func number(n uint64) []byte { return binary.BigEndian.AppendUint64(nil, n) }

// lastNumber reads the number at the end of a key.
func lastNumber(key []byte) uint64 {
	if len(key) < 8 {
		return 0
	}
	return binary.BigEndian.Uint64(key[len(key)-8:])
}

func decode[T any](bucket string, key, value []byte) (T, error) {
	var v T
	if err := json.Unmarshal(value, &v); err != nil {
		return v, damaged("record %q in %s does not read (%v)", key, bucket, err)
	}
	return v, nil
}
