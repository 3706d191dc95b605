package store

import (
	"bytes"
	"encoding/binary"
	"hash/fnv"
	"io"
)

// The file's pages are read here as plain bytes, by the layout of bbolt's file
// format 2. bbolt maps the file and trusts it: a missing page is a bus error
// that no recover catches, a wrong offset a fault. Here both are an error.

const (
	boltMagic   = 0xED0CDAED
	boltVersion = 2
	noFreelist  = ^uint64(0)

	pageHeader  = 16
	elementSize = 16
	bucketSize  = 16
	metaSize    = 64

	branchPage = 1
	leafPage   = 2
	metaPage   = 4

	freelistPage = 16

	deepest = 40
)

var order = binary.NativeEndian

// meta is one of the two heads that bbolt writes in turn.
type meta struct {
	pageSize int
	root     uint64
	freelist uint64
	high     uint64 // pages in use lie below
	tx       uint64
}

func parseMeta(page []byte) (meta, bool) {
	b := page[pageHeader : pageHeader+metaSize]
	h := fnv.New64a()
	_, _ = h.Write(b[:metaSize-8])
	ok := order.Uint16(page[8:]) == metaPage && order.Uint32(b) == boltMagic && order.Uint32(b[4:]) == boltVersion && order.Uint64(b[56:]) == h.Sum64()
	return meta{
		pageSize: int(order.Uint32(b[8:])), root: order.Uint64(b[16:]),
		freelist: order.Uint64(b[32:]), high: order.Uint64(b[40:]), tx: order.Uint64(b[48:]),
	}, ok
}

// pages walks the tree of one file.
type pages struct {
	in   io.ReaderAt
	meta meta
	used []bool
	each func(bucket string, key, value []byte) error
}

// scan reads every record of the file in the order of the tree. The slices
// given to each are valid during the call.
func scan(in io.ReaderAt, size int64, each func(bucket string, key, value []byte) error) error {
	m, err := newestMeta(in, size)
	if err != nil {
		return err
	}
	p := &pages{in: in, meta: m, used: make([]bool, m.high), each: each}
	p.used[0], p.used[1] = true, true
	if _, _, err = p.walk(m.root, "", 0); err != nil || m.freelist == noFreelist {
		return err
	}
	return p.free()
}

// free checks the list of free pages. This program writes none, but a file that
// another bbolt tool had open has one, and a page in use that is listed as free
// would be written over.
func (p *pages) free() error {
	buf, err := p.page(p.meta.freelist)
	if err != nil {
		return err
	}
	count, list := uint64(order.Uint16(buf[10:])), buf[pageHeader:]
	if count == 1<<16-1 { // too many for the page's head
		count, list = order.Uint64(list), list[8:]
	}
	if order.Uint16(buf[8:]) != freelistPage || count > uint64(len(list)/8) {
		return damaged("the list of free pages does not read")
	}
	for i := range count {
		id := order.Uint64(list[8*i:])
		if id >= p.meta.high || p.used[id] {
			return damaged("page %d is said to be free and is not", id)
		}
		p.used[id] = true
	}
	return nil
}

// newestMeta insists on both heads: with one of them damaged bbolt would fall
// back to the other without a word, and the last turns would be gone.
func newestMeta(in io.ReaderAt, size int64) (meta, error) {
	first := make([]byte, pageHeader+metaSize)
	if _, err := in.ReadAt(first, 0); err != nil {
		return meta{}, damaged("the file has %d bytes, too few for a store", size)
	}
	a, ok := parseMeta(first)
	if !ok {
		return meta{}, damaged("the first head is not sound")
	}
	if a.pageSize < 1024 || a.pageSize > 1<<16 || a.pageSize&(a.pageSize-1) != 0 {
		return meta{}, damaged("the pages have %d bytes", a.pageSize)
	}
	second := make([]byte, pageHeader+metaSize)
	if _, err := in.ReadAt(second, int64(a.pageSize)); err != nil {
		return meta{}, damaged("the second head is missing")
	}
	b, ok := parseMeta(second)
	if !ok || b.pageSize != a.pageSize {
		return meta{}, damaged("the second head is not sound")
	}
	newer, older := a, b
	if b.tx > a.tx {
		newer, older = b, a
	}
	switch {
	case newer.tx == older.tx:
		return meta{}, damaged("the two heads are of the same change")
	case newer.high < 3 || newer.high > uint64(size)/uint64(newer.pageSize):
		return meta{}, damaged("the file has %d bytes and should have at least %d pages of %d", size, newer.high, newer.pageSize)
	}
	return newer, nil
}

// page reads a page with what belongs to it, and checks that no other claimed it.
func (p *pages) page(id uint64) ([]byte, error) {
	if id >= p.meta.high {
		return nil, damaged("page %d lies outside the file", id)
	}
	size := p.meta.pageSize
	buf := make([]byte, size)
	if _, err := p.in.ReadAt(buf, int64(id)*int64(size)); err != nil {
		return nil, damaged("page %d cannot be read (%v)", id, err)
	}
	more := uint64(order.Uint32(buf[12:]))
	if order.Uint64(buf) != id || id+more >= p.meta.high {
		return nil, damaged("page %d is not what it says", id)
	}
	for n := id; n <= id+more; n++ {
		if p.used[n] {
			return nil, damaged("page %d belongs to two places", n)
		}
		p.used[n] = true
	}
	if more > 0 {
		buf = append(buf, make([]byte, more*uint64(size))...)
		if _, err := p.in.ReadAt(buf[size:], int64(id+1)*int64(size)); err != nil {
			return nil, damaged("page %d cannot be read (%v)", id+1, err)
		}
	}
	return buf, nil
}

// walk reads the tree under a page and returns its first and last key.
func (p *pages) walk(id uint64, bucket string, depth int) (first, last []byte, err error) {
	if depth > deepest {
		return nil, nil, damaged("the tree at page %d is too deep", id)
	}
	buf, err := p.page(id)
	if err != nil {
		return nil, nil, err
	}
	kind := order.Uint16(buf[8:])
	list, used, err := elements(buf, id)
	if err != nil {
		return nil, nil, err
	}
	if (used+p.meta.pageSize-1)/p.meta.pageSize != len(buf)/p.meta.pageSize {
		return nil, nil, damaged("page %d is longer than what is in it", id)
	}
	if len(list) == 0 {
		if depth > 0 || kind == branchPage {
			return nil, nil, damaged("page %d is empty", id)
		}
		return nil, nil, nil
	}
	first, last = list[0].key, list[len(list)-1].key
	if kind == leafPage {
		return first, last, p.leaf(list, bucket)
	}
	var before []byte
	for _, e := range list {
		from, to, err := p.walk(e.page, bucket, depth+1)
		if err != nil {
			return nil, nil, err
		}
		if !bytes.Equal(from, e.key) || before != nil && bytes.Compare(before, from) >= 0 {
			return nil, nil, damaged("page %d does not lead where it says", id)
		}
		before = to
	}
	return first, before, nil
}

func (p *pages) leaf(list []element, bucket string) error {
	for _, e := range list {
		var err error
		switch {
		case bucket == "" && e.flags == 1:
			err = p.bucket(string(e.key), e.value)
		case bucket != "" && e.flags == 0:
			err = p.each(bucket, e.key, e.value)
		default:
			err = damaged("record %q is not where it belongs", e.key)
		}
		if err != nil {
			return err
		}
	}
	return nil
}

// bucket reads a bucket: its own tree, or a small one's records beside its name.
func (p *pages) bucket(name string, value []byte) error {
	if name == "" || len(value) < bucketSize {
		return damaged("bucket %q does not read", name)
	}
	if err := p.each(name, nil, nil); err != nil {
		return err
	}
	root, inline := order.Uint64(value), value[bucketSize:]
	if order.Uint64(value[8:]) != 0 {
		return damaged("bucket %q has a sequence, which nobody counts", name)
	}
	if root != 0 {
		if len(inline) != 0 {
			return damaged("bucket %q does not read", name)
		}
		_, _, err := p.walk(root, name, 0)
		return err
	}
	if len(inline) < pageHeader || order.Uint64(inline) != 0 || order.Uint16(inline[8:]) != leafPage || order.Uint32(inline[12:]) != 0 {
		return damaged("bucket %q does not read", name)
	}
	list, used, err := elements(inline, 0)
	if err != nil {
		return err
	}
	if used != len(inline) {
		return damaged("bucket %q is longer than what is in it", name)
	}
	return p.leaf(list, name)
}

type element struct {
	flags      uint32
	key, value []byte
	page       uint64
}

// elements takes a page apart. bbolt packs keys and values without a gap, so
// every offset is known beforehand.
func elements(buf []byte, id uint64) ([]element, int, error) {
	kind, count := order.Uint16(buf[8:]), int(order.Uint16(buf[10:]))
	if kind != branchPage && kind != leafPage {
		return nil, 0, damaged("page %d is of no known kind", id)
	}
	at := pageHeader + count*elementSize
	if at > len(buf) {
		return nil, 0, damaged("page %d says it has %d records", id, count)
	}
	list := make([]element, count)
	for i := range list {
		head := pageHeader + i*elementSize
		b := buf[head : head+elementSize]
		e, pos, keySize, valueSize := &list[i], uint64(order.Uint32(b)), uint64(order.Uint32(b[4:])), uint64(0)
		if kind == leafPage {
			e.flags, pos, keySize, valueSize = order.Uint32(b), uint64(order.Uint32(b[4:])), uint64(order.Uint32(b[8:])), uint64(order.Uint32(b[12:]))
		} else {
			e.page = order.Uint64(b[8:])
		}
		if uint64(head)+pos != uint64(at) || keySize == 0 || keySize+valueSize > uint64(len(buf)-at) {
			return nil, 0, damaged("record %d of page %d is not where it should be", i, id)
		}
		mid, end := at+int(keySize), at+int(keySize+valueSize)
		e.key, e.value = buf[at:mid], buf[mid:end]
		if i > 0 && bytes.Compare(list[i-1].key, e.key) >= 0 {
			return nil, 0, damaged("the records of page %d are out of order", id)
		}
		at = end
	}
	return list, at, nil
}
