package discord

import (
	"container/heap"
	"context"
	"sync"
	"time"
)

// lanes work through what comes in: what belongs together one after the other,
// lanes side by side on a fixed number of workers. A job that fails is tried
// again, and what is behind it in its lane waits for it.
type lanes struct {
	now   func() time.Time
	after func(time.Duration) <-chan time.Time
	broke func(panicked any)
	most  int

	mu    sync.Mutex
	open  map[string]*lane
	plan  lanePlan // lanes with work that nobody has, by the time to do it
	count int
	poke  chan struct{}
	empty chan struct{} // told when nothing waits any more
	work  chan *lane
}

type lane struct {
	id    string
	at    time.Time
	pause time.Duration
	jobs  []func(context.Context) error
}

// Pauses of a job that fails.
const (
	firstAgain = 500 * time.Millisecond
	lastAgain  = time.Minute
)

func newLanes(now func() time.Time, after func(time.Duration) <-chan time.Time, most int, broke func(any)) *lanes {
	return &lanes{now: now, after: after, most: most, broke: broke, open: map[string]*lane{}, poke: make(chan struct{}, 1), empty: make(chan struct{}, 1), work: make(chan *lane)}
}

// add puts a job at the end of its lane; false when there is no room. What was
// fetched is let in all the same: how much that is has bounds of its own.
func (l *lanes) add(id string, fetched bool, job func(context.Context) error) bool {
	l.mu.Lock()
	if l.count >= l.most && !fetched {
		l.mu.Unlock()
		return false
	}
	l.count++
	if x := l.open[id]; x != nil {
		x.jobs = append(x.jobs, job)
		l.mu.Unlock()
		return true
	}
	x := &lane{id: id, at: l.now(), jobs: []func(context.Context) error{job}}
	l.open[id] = x
	heap.Push(&l.plan, x)
	l.mu.Unlock()
	l.nudge()
	return true
}

func (l *lanes) nudge() {
	select {
	case l.poke <- struct{}{}:
	default:
	}
}

// run serves the lanes until ctx ends; jobs in hand are finished.
func (l *lanes) run(ctx context.Context, workers int) {
	var all sync.WaitGroup
	for range workers {
		all.Go(func() {
			for {
				select {
				case x := <-l.work:
					l.serve(ctx, x)
				case <-ctx.Done():
					return
				}
			}
		})
	}
	for ctx.Err() == nil {
		x, wait := l.due()
		if x != nil {
			select {
			case l.work <- x:
			case <-ctx.Done():
			}
			continue
		}
		var timer <-chan time.Time
		if wait > 0 {
			timer = l.after(wait)
		}
		select {
		case <-timer:
		case <-l.poke:
		case <-ctx.Done():
		}
	}
	all.Wait()
}

func (l *lanes) due() (*lane, time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if len(l.plan) == 0 {
		return nil, 0
	}
	if wait := l.plan[0].at.Sub(l.now()); wait > 0 {
		return nil, min(wait, lastAgain)
	}
	return heap.Pop(&l.plan).(*lane), 0
}

// serve does the first job of a lane.
func (l *lanes) serve(ctx context.Context, x *lane) {
	l.mu.Lock()
	job := x.jobs[0]
	l.mu.Unlock()
	err := l.guarded(ctx, job)
	l.mu.Lock()
	defer l.nudge()
	defer l.mu.Unlock()
	if err != nil {
		x.pause = min(max(2*x.pause, firstAgain), lastAgain)
		x.at = l.now().Add(x.pause)
		heap.Push(&l.plan, x)
		return
	}
	x.pause = 0
	x.jobs[0] = nil
	x.jobs = x.jobs[1:]
	if l.count--; l.count == 0 {
		select {
		case l.empty <- struct{}{}:
		default:
		}
	}
	if len(x.jobs) == 0 {
		delete(l.open, x.id)
		return
	}
	x.at = l.now()
	heap.Push(&l.plan, x)
}

// guarded runs a job. One that breaks down is done with: it would the next time
// as well.
func (l *lanes) guarded(ctx context.Context, job func(context.Context) error) (err error) {
	defer func() {
		if p := recover(); p != nil {
			l.broke(p)
			err = nil
		}
	}()
	return job(ctx)
}

// lanePlan is a heap of lanes by their time.
type lanePlan []*lane

func (p lanePlan) Len() int           { return len(p) }
func (p lanePlan) Less(i, j int) bool { return p[i].at.Before(p[j].at) }
func (p lanePlan) Swap(i, j int)      { p[i], p[j] = p[j], p[i] }
func (p *lanePlan) Push(x any)        { *p = append(*p, x.(*lane)) }
func (p *lanePlan) Pop() any {
	old := *p
	last := old[len(old)-1]
	old[len(old)-1] = nil
	*p = old[:len(old)-1]
	return last
}

func (l *lanes) waiting() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.count
}
