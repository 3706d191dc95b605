package turns

import (
	"container/heap"
	"context"
	"errors"
	"sync"
	"time"

	"triagebot/casefile/store"
)

// outbox sends what lies in the store's outbox: per address one after the
// other, addresses side by side. In memory is only which addresses have
// something and when to try.
type outbox struct {
	c       Config
	ctx     context.Context // ends what is being sent
	halt    chan struct{}   // ends the outbox once what is being sent is sent
	poke    chan struct{}
	work    chan *address
	running sync.WaitGroup

	mu    sync.Mutex
	all   map[string]*address
	plan  plan // those that wait for their time
	fresh int
}

// address has messages waiting, first to last.
type address struct {
	to   string
	at   time.Time // when to try the first
	busy bool      // a sender has it
	list []letter
	sent uint64 // number of a message the chat has and the store does not know of yet
}

// letter is a message of the outbox; a fresh one is kept in memory for its
// first attempt.
type letter struct {
	number uint64
	fresh  *store.Outgoing
}

// mostFresh bounds the messages in memory; more are read from the store.
const mostFresh = 1024

// firstLook bounds one look at the outbox when starting.
const firstLook = 1000

func newOutbox(ctx context.Context, c Config) (*outbox, error) {
	b := &outbox{c: c, ctx: ctx, halt: make(chan struct{}), poke: make(chan struct{}, 1), work: make(chan *address), all: map[string]*address{}}
	after := uint64(0)
	for {
		list, err := c.Store.Outbox(after, firstLook)
		if err != nil {
			return nil, err
		}
		for _, o := range list {
			after = o.Number
			if o.Failed == "" {
				b.add(o, false)
			}
		}
		if len(list) < firstLook {
			break
		}
	}
	b.running.Go(b.dispatch)
	for range c.Senders {
		b.running.Go(b.serve)
	}
	return b, nil
}

// add has a message sent after those that wait for the same address.
func (b *outbox) add(o store.Outgoing, fresh bool) {
	b.mu.Lock()
	l := letter{number: o.Number}
	if fresh && b.fresh < mostFresh {
		b.fresh++
		l.fresh = &o
	}
	a := b.all[o.To]
	if a == nil {
		a = &address{to: o.To, at: b.c.Now()}
		b.all[o.To] = a
		heap.Push(&b.plan, a)
	}
	a.list = append(a.list, l)
	b.mu.Unlock()
	b.nudge()
}

// reread has every message read from the store again before it is sent: it may
// be there no more.
func (b *outbox) reread() {
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, a := range b.all {
		for i := range a.list {
			a.list[i].fresh = nil
		}
	}
	b.fresh = 0
}

func (b *outbox) nudge() {
	select {
	case b.poke <- struct{}{}:
	default:
	}
}

// dispatch gives addresses whose time has come to the senders.
func (b *outbox) dispatch() {
	var (
		timer <-chan time.Time
		armed time.Time
	)
	for {
		a, next, wait := b.due()
		switch {
		case a != nil:
			select {
			case b.work <- a:
				continue
			case <-b.halt:
				return
			}
		case wait <= 0:
			timer, armed = nil, time.Time{}
		case !next.Equal(armed): // one timer for a time, however often there is news
			timer, armed = b.c.After(wait), next
		}
		select {
		case <-timer:
			timer, armed = nil, time.Time{}
		case <-b.poke:
		case <-b.halt:
			return
		}
	}
}

// due takes the first address whose time has come, or says when that will be.
// A clock that was set back must not make anybody wait longer than the longest
// pause.
func (b *outbox) due() (a *address, next time.Time, wait time.Duration) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if len(b.plan) == 0 {
		return nil, time.Time{}, 0
	}
	now, first := b.c.Now(), b.plan[0]
	if wait := first.at.Sub(now); wait > 0 {
		if wait > longestPause {
			wait = b.c.LastRetry
			first.at = now.Add(wait)
			heap.Fix(&b.plan, 0)
			b.nudge() // another may be first now
		}
		return nil, first.at, wait
	}
	heap.Pop(&b.plan)
	first.busy = true
	return first, time.Time{}, 0
}

// longestPause is the most a chat may ask for.
const longestPause = time.Hour

func (b *outbox) serve() {
	for {
		select {
		case a := <-b.work:
			at, done := b.send(a)
			b.putBack(a, at, done)
		case <-b.halt:
			return
		}
	}
}

// first takes the first letter of an address out of what is kept in memory.
func (b *outbox) first(a *address) letter {
	b.mu.Lock()
	defer b.mu.Unlock()
	l := a.list[0]
	if l.fresh != nil {
		b.fresh--
		a.list[0].fresh = nil
	}
	return l
}

// putBack plans the next attempt, of the same message or of the next.
func (b *outbox) putBack(a *address, at time.Time, done bool) {
	b.mu.Lock()
	a.busy, a.at = false, at
	if done {
		a.list = a.list[1:]
	}
	if len(a.list) > 0 {
		heap.Push(&b.plan, a)
	} else {
		delete(b.all, a.to)
	}
	b.mu.Unlock()
	b.nudge()
}

// send tries the first message for an address. It says when to come back, and
// whether it is done with the message.
func (b *outbox) send(a *address) (at time.Time, done bool) {
	l := b.first(a)
	now := b.c.Now()
	o, ok, err := store.Outgoing{}, true, error(nil)
	if l.fresh != nil {
		o = *l.fresh
	} else {
		o, ok, err = b.c.Store.Outgoing(l.number)
	}
	switch {
	case err != nil:
		b.c.Log.Error("the outbox cannot be read", "error", err)
		return now.Add(b.c.LastRetry), false
	case !ok: // forgotten
		return now, true
	case o.Next.After(now) && o.Next.Sub(now) <= longestPause:
		return o.Next, false
	}
	if a.sent != o.Number {
		if err := b.c.Sender.Send(b.ctx, o); err != nil {
			return b.failed(o, err)
		}
	}
	if err := b.c.Store.Sent(context.WithoutCancel(b.ctx), o); err != nil {
		a.sent = o.Number
		b.c.Log.Error("a message was sent and that could not be kept", "nonce", o.Nonce, "error", err)
		return now.Add(b.c.FirstRetry), false
	}
	return now, true
}

// failed keeps the failure and says when to try again, and whether never.
func (b *outbox) failed(o store.Outgoing, err error) (time.Time, bool) {
	if b.ctx.Err() != nil { // stopped while sending: no attempt of the chat's making
		return b.c.Now(), false
	}
	o.Attempts++
	done := false
	pause := b.pause(o.Attempts, err)
	o.Next = b.c.Now().Add(pause)
	if permanent := (*PermanentError)(nil); errors.As(err, &permanent) {
		o.Failed, o.Next, done = permanent.Error(), b.c.Now(), true
		b.c.Log.Error("a message is refused for good", "nonce", o.Nonce, "attempts", o.Attempts)
	}
	if err := b.c.Store.Tried(b.ctx, o); err != nil {
		b.c.Log.Error("a failed attempt could not be kept", "nonce", o.Nonce, "error", err)
	}
	return o.Next, done
}

// pause doubles from attempt to attempt; between half and the whole of it is
// waited, so that those who failed together do not come back together.
func (b *outbox) pause(attempts int, err error) time.Duration {
	if told := (*RetryError)(nil); errors.As(err, &told) {
		return min(max(told.After, 0), longestPause)
	}
	d := b.c.LastRetry
	if n := attempts - 1; n < 30 && b.c.FirstRetry<<n < d {
		d = b.c.FirstRetry << n
	}
	b.mu.Lock()
	jitter := b.c.Jitter()
	b.mu.Unlock()
	return d/2 + time.Duration(jitter*float64(d)/2)
}

// plan is a heap of addresses by their time.
type plan []*address

func (p plan) Len() int           { return len(p) }
func (p plan) Less(i, j int) bool { return p[i].at.Before(p[j].at) }
func (p plan) Swap(i, j int)      { p[i], p[j] = p[j], p[i] }
func (p *plan) Push(x any)        { *p = append(*p, x.(*address)) }
func (p *plan) Pop() any {
	old := *p
	last := old[len(old)-1]
	old[len(old)-1] = nil
	*p = old[:len(old)-1]
	return last
}
