package rules

const (
	memoSize  = 1 << 14 // a power of two
	memoProbe = 4
)

// huntMemo remembers what was found at nodes, by what led there: the same
// answers in another order lead to the same node. Two nodes with one key are
// possible but not to be expected within any number of hunts.
type huntMemo struct {
	entries []huntMemoEntry
	turn    uint32 // entries of an earlier turn count as free
}

type huntMemoEntry struct {
	key     uint64
	turn    uint32
	done    bool // the stage went through to the end
	stage   int
	up, low float64
	act     huntAct // the first step of the plan that costs up
}

// huntAct is an action by its place in the hunt.
type huntAct struct {
	kind  ActionKind
	index int32
}

func (m *huntMemo) reset() {
	if m.entries == nil {
		m.entries = make([]huntMemoEntry, memoSize)
	}
	m.turn++
	if m.turn == 0 {
		clear(m.entries)
		m.turn = 1
	}
}

func (m *huntMemo) find(key uint64) *huntMemoEntry {
	for i := range uint64(memoProbe) {
		if e := &m.entries[(key+i)%memoSize]; e.turn == m.turn && e.key == key {
			return e
		}
	}
	return nil
}

// store replaces what it must: an older entry is worth less than this one.
func (m *huntMemo) store(e huntMemoEntry) {
	e.turn = m.turn
	at := &m.entries[e.key%memoSize]
	for i := range uint64(memoProbe) {
		if o := &m.entries[(e.key+i)%memoSize]; o.turn != m.turn || o.key == e.key {
			at = o
			break
		}
	}
	*at = e
}
