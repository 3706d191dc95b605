package desk

import (
	"sync"

	"triagebot/casefile/store"
)

// Change is something that happened and is durable.
type Change struct {
	Case         uint64 // 0 when it concerns none
	Conversation string
	Kind         string // a [store.Deed], ChangeTurn, or LookAgain
}

const (
	// ChangeTurn: a talk went on, and nothing else happened to its case.
	ChangeTurn = "turn"
	// LookAgain: changes were left out because they were not fetched in time;
	// whoever shows something must read it anew.
	LookAgain = "look-again"
)

// waitingChanges is how many changes wait for one who watches.
const waitingChanges = 64

// Feed tells whoever watches of every change once. It never waits for them.
type Feed struct {
	mu       sync.Mutex
	watchers map[*watcher]struct{}
}

type watcher struct {
	to     chan Change
	missed bool // the last that waits is LookAgain
}

// NewFeed makes a feed that nobody watches yet.
func NewFeed() *Feed { return &Feed{watchers: map[*watcher]struct{}{}} }

// Turn is for turns.Config.Happened.
func (f *Feed) Turn(t store.Turn, done store.Committed) {
	kind := ChangeTurn
	if done.Deed != "" {
		kind = string(done.Deed)
	}
	f.tell(Change{done.Case, t.Conversation, kind})
}

func (f *Feed) tell(c Change) {
	f.mu.Lock()
	defer f.mu.Unlock()
	for w := range f.watchers {
		switch {
		case w.missed && len(w.to) > 0: // whoever reads LookAgain sees this change as well
		case len(w.to) == waitingChanges:
			w.missed = true
			w.to <- Change{Kind: LookAgain}
		default:
			w.missed = false
			w.to <- c
		}
	}
}

// Watch returns the changes from now on. The channel is closed by the function
// returned, which may be called more than once.
func (f *Feed) Watch() (<-chan Change, func()) {
	w := &watcher{to: make(chan Change, waitingChanges+1)}
	f.mu.Lock()
	f.watchers[w] = struct{}{}
	f.mu.Unlock()
	return w.to, func() {
		f.mu.Lock()
		defer f.mu.Unlock()
		if _, ok := f.watchers[w]; ok {
			delete(f.watchers, w)
			close(w.to)
		}
	}
}

// Watch tells of every change of talks and cases; see [Feed].
func (d *Desk) Watch() (<-chan Change, func()) { return d.c.Feed.Watch() }
