package turns

import (
	"context"
	"sync"
)

// waiting is a message that waits for its turn.
type waiting struct {
	in    Incoming
	aside *Aside // instead of a message
	done  func(error)
}

// line is the messages of one conversation that wait; while a worker has it,
// no other may.
type line struct {
	id   string
	list []waiting
}

// lines keeps the order within conversations while workers go through many of
// them. Only conversations with messages waiting are in it.
type lines struct {
	room   chan struct{}
	mu     sync.Mutex
	some   *sync.Cond
	open   map[string]*line
	ready  []*line // with a message and without a worker, longest waiting first
	closed bool
}

func newLines(room int) *lines {
	l := &lines{room: make(chan struct{}, room), open: map[string]*line{}}
	l.some = sync.NewCond(&l.mu)
	return l
}

func (l *lines) enter(ctx context.Context, w waiting) error {
	select {
	case l.room <- struct{}{}:
	case <-ctx.Done():
		return ctx.Err()
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		<-l.room
		return ErrClosed
	}
	id := w.in.Conversation
	if has := l.open[id]; has != nil {
		has.list = append(has.list, w)
		return nil
	}
	fresh := &line{id, []waiting{w}}
	l.open[id] = fresh
	l.ready = append(l.ready, fresh)
	l.some.Signal()
	return nil
}

// next gives a worker the first message of a line; false when there will be none.
func (l *lines) next() (*line, waiting, bool) {
	l.mu.Lock()
	defer l.mu.Unlock()
	for len(l.ready) == 0 {
		if l.closed {
			return nil, waiting{}, false
		}
		l.some.Wait()
	}
	first := l.ready[0]
	l.ready[0] = nil
	l.ready = l.ready[1:]
	return first, first.list[0], true
}

// finish gives the line back. A conversation with more to say goes to the end.
func (l *lines) finish(x *line) {
	l.mu.Lock()
	x.list[0] = waiting{}
	x.list = x.list[1:]
	if len(x.list) == 0 {
		delete(l.open, x.id)
	} else {
		l.ready = append(l.ready, x)
		l.some.Signal()
	}
	l.mu.Unlock()
	<-l.room
}

func (l *lines) close() {
	l.mu.Lock()
	l.closed = true
	l.some.Broadcast()
	l.mu.Unlock()
}
