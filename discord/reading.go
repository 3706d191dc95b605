package discord

import (
	"context"
	"fmt"
	"strconv"
	"sync"
	"time"
)

// reading knows up to which message everything has been worked on. After a
// restart, and where the gateway lost something, what is newer is fetched.
type reading struct {
	mu   sync.Mutex
	high uint64            // the newest message seen
	open map[string]uint64 // what is still being worked on, with what it holds back
	low  uint64            // never read behind this: the bot was not there
	kept uint64
}

func newReading() *reading { return &reading{open: map[string]uint64{}} }

// enter holds back the mark at the number given until leave.
func (r *reading) enter(key string, at uint64) {
	r.mu.Lock()
	defer r.mu.Unlock()
	if old, ok := r.open[key]; !ok || at < old {
		r.open[key] = at
	}
}

func (r *reading) leave(key string) {
	r.mu.Lock()
	defer r.mu.Unlock()
	delete(r.open, key)
}

// saw enters a message.
func (r *reading) saw(id string) {
	n := number(id)
	r.enter(id, n-1)
	r.mu.Lock()
	r.high = max(r.high, n)
	r.mu.Unlock()
}

// mark is the newest message with nothing open up to it.
func (r *reading) mark() uint64 {
	r.mu.Lock()
	defer r.mu.Unlock()
	m := r.high
	for _, at := range r.open {
		m = min(m, at)
	}
	return m
}

// after is from where to read again: some minutes before the mark, since what
// the platform sends may be out of order.
func (r *reading) after() uint64 {
	m := r.mark()
	r.mu.Lock()
	defer r.mu.Unlock()
	return max(m-min(m, uint64(disorder.Milliseconds())<<22), r.low)
}

const (
	disorder  = 2 * time.Minute
	keepEvery = 5 * time.Second
	// Settings of the store.
	settingRead  = "discord/read"
	settingFirst = "discord/first"
)

// snowflake is the smallest id of a time.
func snowflake(t time.Time) uint64 {
	const epoch = 1420070400000
	return uint64(max(0, t.UnixMilli()-epoch)) << 22
}

// readFrom takes up the mark of the last run. On the first start it is now:
// nothing that was written before the bot was there is answered.
func (a *Adapter) readFrom() error {
	first, err := a.c.Store.Setting(settingFirst)
	if err != nil {
		return fmt.Errorf("looking up how far was read: %w", err)
	}
	read, err := a.c.Store.Setting(settingRead)
	if err != nil {
		return fmt.Errorf("looking up how far was read: %w", err)
	}
	r := a.reading
	r.mu.Lock()
	r.low, r.high = number(first), number(read)
	r.mu.Unlock()
	if first != "" {
		return nil
	}
	now := snowflake(a.c.Now())
	r.mu.Lock()
	r.low, r.high = now, now
	r.mu.Unlock()
	if err := a.c.Store.Set(context.Background(), settingFirst, strconv.FormatUint(now, 10)); err != nil {
		return fmt.Errorf("keeping when the bot came: %w", err)
	}
	return a.keepRead(context.Background())
}

// keepRead keeps the mark, when it has moved.
func (a *Adapter) keepRead(ctx context.Context) error {
	m := a.reading.mark()
	if a.reading.kept == m {
		return nil
	}
	if err := a.c.Store.Set(ctx, settingRead, strconv.FormatUint(m, 10)); err != nil {
		return err
	}
	a.reading.kept = m
	return nil
}

// keepReading keeps the mark from time to time, and has the gateway begin anew
// once there is room again for what had to be left.
func (a *Adapter) keepReading(ctx context.Context) {
	for {
		select {
		case <-a.c.After(keepEvery):
		case <-ctx.Done():
			return
		}
		if err := a.keepRead(ctx); err != nil && ctx.Err() == nil {
			a.c.Log.Error("how far was read could not be kept", "error", err)
		}
		if a.catch.overflown(a.lanes.waiting() < a.c.Waiting/2) {
			a.c.Log.Warn("more came than could be kept in memory; it is fetched now")
			for _, s := range a.shards {
				if l := s.current(); l != nil {
					l.end(ending{again: true, invalid: true})
				}
			}
		}
	}
}
