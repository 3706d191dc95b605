package rehearsal

import (
	"context"
	"fmt"
	"sync"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/rules"
)

// Rehearsal holds what all talks share. It is safe for concurrent use.
type Rehearsal struct {
	engine *conversation.Engine
	kb     *kb.KB
	words  *words

	mu     sync.Mutex
	models map[string]*rules.Model
	sound  map[string]bool // bikes without a fault that have been seen to work
}

// New prepares rehearsals of a bot.
func New(e *conversation.Engine) (*Rehearsal, error) {
	w, err := loadWords()
	if err != nil {
		return nil, err
	}
	return &Rehearsal{engine: e, kb: e.KB(), words: w, models: map[string]*rules.Model{}, sound: map[string]bool{}}, nil
}

// model is the rules for a kit, with the figures only its owner knows.
func (r *Rehearsal) model(kit string, label float64) (*rules.Model, error) {
	key := fmt.Sprintf("%s %g", kit, label)
	r.mu.Lock()
	defer r.mu.Unlock()
	if m, ok := r.models[key]; ok {
		return m, nil
	}
	k := r.kb.Kit(kit)
	if k == nil {
		return nil, fmt.Errorf("preparing the rules for a bike: there is no kit %q", kit)
	}
	asked := map[string]float64{}
	for _, a := range k.Ask {
		asked[a.Figure] = label
	}
	m, err := rules.NewModel(r.kb, k, asked)
	if err != nil {
		return nil, fmt.Errorf("preparing the rules for %q: %w", kit, err)
	}
	r.models[key] = m
	return m, nil
}

// works says whether an owner has nothing to complain of. Once its last fault is
// mended a bike is the sound one of its kit and seed, whatever the fault was.
func (r *Rehearsal) works(o *owner) (bool, error) {
	if o.bike.Faulty() {
		return o.bike.Works()
	}
	key := fmt.Sprintf("%s %d", o.c.Kit, o.c.Seed)
	r.mu.Lock()
	ok, known := r.sound[key]
	r.mu.Unlock()
	if known {
		return ok, nil
	}
	ok, err := o.bike.Works()
	if err == nil {
		r.mu.Lock()
		r.sound[key] = ok
		r.mu.Unlock()
	}
	return ok, err
}

// Run lets the owners of all cases talk, so many at a time, and returns the
// talks in the order of the cases. done, if given, is told how many are
// finished; it is called from one goroutine at a time. A context that ends
// leaves off with its error.
func (r *Rehearsal) Run(ctx context.Context, cases []Case, workers int, done func(n int)) ([]Talk, error) {
	return each(ctx, cases, workers, done, func(c Case) (Talk, error) {
		t, err := r.Talk(c)
		if err != nil {
			return t, fmt.Errorf("rehearsing %s: %w", c, err)
		}
		t.Lines = nil // a few thousand talks in full would fill the memory
		return t, nil
	})
}

// each works on items side by side and keeps their order.
func each[A, B any](ctx context.Context, items []A, workers int, done func(n int), work func(A) (B, error)) ([]B, error) {
	out := make([]B, len(items))
	errs := make([]error, len(items))
	next := make(chan int)
	var group sync.WaitGroup
	var mu sync.Mutex
	finished := 0
	for range max(1, workers) {
		group.Go(func() {
			for i := range next {
				out[i], errs[i] = work(items[i])
				mu.Lock()
				finished++
				if done != nil {
					done(finished)
				}
				mu.Unlock()
			}
		})
	}
feed:
	for i := range items {
		select {
		case next <- i:
		case <-ctx.Done():
			break feed
		}
	}
	close(next)
	group.Wait()
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	for _, err := range errs {
		if err != nil {
			return nil, err
		}
	}
	return out, nil
}
