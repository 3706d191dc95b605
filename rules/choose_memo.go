package rules

const (
	memoSize  = 1 << 14
	memoProbe = 4
)

// memo remembers what was found about nodes, by a hash of what led there in
// whatever order.
type memo struct {
	entries []memoEntry
	turn    uint32
}

type memoEntry struct {
	key     uint64
	turn    uint32
	stage   int32
	done    bool
	up, low float64
}

func (m *memo) reset() {
	if m.entries == nil {
		m.entries = make([]memoEntry, memoSize)
	}
	m.turn++
	if m.turn == 0 {
		clear(m.entries)
		m.turn = 1
	}
}

func (m *memo) find(key uint64) *memoEntry {
	for i := uint64(0); i < memoProbe; i++ {
		e := &m.entries[(key+i)%memoSize]
		if e.turn == m.turn && e.key == key {
			return e
		}
	}
	return nil
}

func (m *memo) store(key uint64, up, low float64, stage int32, done bool) {
	var at *memoEntry
	for i := uint64(0); i < memoProbe; i++ {
		e := &m.entries[(key+i)%memoSize]
		if e.turn != m.turn || e.key == key {
			at = e
			break
		}
	}
	if at == nil {
		at = &m.entries[key%memoSize]
	}
	*at = memoEntry{key: key, turn: m.turn, stage: stage, done: done, up: up, low: low}
}
