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

	mu   sync.Mutex
	all  map[string]*address
	plan plan // those that wait for their time
}

// address is where messages wait for.
type address struct {
	to    string
	at    time.Time
	busy  bool   // a sender has it
	again bool   // more came meanwhile
	sent  uint64 // number of a message the chat has and the store does not know of yet
}

// firstLook bounds one look at the outbox when starting.
const firstLook = 1000

func newOutbox(ctx context.Context, c Config) (*outbox, error) {
	b := &outbox{c: c, ctx: ctx, halt: make(chan struct{}), poke: make(chan struct{}, 1), work: make(chan *address), all: map[string]*address{}}
	var after store.Outgoing
	for {
		list, err := c.Store.Outbox(after, firstLook)
		if err != nil {
			return nil, err
		}
		for _, o := range list {
			if o.Failed == "" {
				b.wake(o.To)
			}
		}
		if len(list) < firstLook {
			break
		}
		after = list[len(list)-1]
	}
	b.running.Go(b.dispatch)
	for range c.Senders {
		b.running.Go(b.serve)
	}
	return b, nil
}

// wake says that there is something for these addresses.
func (b *outbox) wake(addresses ...string) {
	b.mu.Lock()
	for _, to := range addresses {
		switch a := b.all[to]; {
		case a == nil:
			a = &address{to: to, at: b.c.Now()}
			b.all[to] = a
			heap.Push(&b.plan, a)
		case a.busy:
			a.again = true
		}
	}
	b.mu.Unlock()
	b.nudge()
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
	first.busy, first.again = true, false
	return first, time.Time{}, 0
}

// longestPause is the most a chat may ask for.
const longestPause = time.Hour

func (b *outbox) serve() {
	for {
		select {
		case a := <-b.work:
			at, more := b.send(a)
			b.putBack(a, at, more)
		case <-b.halt:
			return
		}
	}
}

func (b *outbox) putBack(a *address, at time.Time, more bool) {
	b.mu.Lock()
	a.busy = false
	if more || a.again {
		a.at = at
		heap.Push(&b.plan, a)
	} else {
		delete(b.all, a.to)
	}
	b.mu.Unlock()
	b.nudge()
}

// send tries the first message for an address and says when to come back.
func (b *outbox) send(a *address) (at time.Time, more bool) {
	o, ok, err := b.c.Store.Waiting(a.to)
	now := b.c.Now()
	switch {
	case errors.Is(err, store.ErrClosed):
		return now, false
	case err != nil:
		b.c.Log.Error("the outbox cannot be read", "error", err)
		return now.Add(b.c.LastRetry), true
	case !ok:
		return now, false
	case o.Next.After(now) && o.Next.Sub(now) <= longestPause:
		return o.Next, true
	}
	if a.sent != o.Number {
		if err := b.c.Sender.Send(b.ctx, o); err != nil {
			return b.failed(o, err)
		}
	}
	if err := b.c.Store.Sent(context.WithoutCancel(b.ctx), o); err != nil {
		a.sent = o.Number
		b.c.Log.Error("a message was sent and that could not be kept", "nonce", o.Nonce, "error", err)
		return now.Add(b.c.FirstRetry), true
	}
	a.sent = 0
	return now, true
}

// failed keeps the failure and says when to try again.
func (b *outbox) failed(o store.Outgoing, err error) (time.Time, bool) {
	if b.ctx.Err() != nil { // stopped while sending: no attempt of the chat's making
		return b.c.Now(), false
	}
	o.Attempts++
	pause := b.pause(o.Attempts, err)
	o.Next = b.c.Now().Add(pause)
	if permanent := (*PermanentError)(nil); errors.As(err, &permanent) {
		o.Failed, o.Next = permanent.Error(), b.c.Now()
		b.c.Log.Error("a message is refused for good", "nonce", o.Nonce, "attempts", o.Attempts)
	}
	if err := b.c.Store.Tried(b.ctx, o); err != nil {
		b.c.Log.Error("a failed attempt could not be kept", "nonce", o.Nonce, "error", err)
		return b.c.Now().Add(pause), true
	}
	return o.Next, true
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
