package demostore

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"
	"time"

	"triagebot/bench"
	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/mining/demo"
	"triagebot/mining/feed"
	"triagebot/rehearsal"
)

// ErrNotEmpty is returned for a store that holds anything.
var ErrNotEmpty = errors.New("there are talks in it already; the demo needs a file of its own")

// Filled says what was put in.
type Filled struct {
	Talks, Solved, Waiting, Taken, Closed int
	Unnoticed                             int // faults that nobody noticed
}

// mark is the setting that tells a demo from the real thing.
type mark struct {
	Seed  uint64 `json:"seed"`
	Start string `json:"start"`
	Weeks int    `json:"weeks"`
}

// Fill puts the invented talks and cases into an empty store. done, if given, is
// told how many faults of how many have been gone through.
func Fill(ctx context.Context, s *store.Store, e *conversation.Engine, set demo.Settings, done func(n, of int)) (Filled, error) {
	f := &filler{ctx: ctx, store: s, engine: e, kb: e.KB(), set: set}
	if err := f.begin(); err != nil {
		return f.Filled, fmt.Errorf("filling %q: %w", s.Path(), err)
	}
	if err := f.all(done); err != nil {
		return f.Filled, fmt.Errorf("filling %q with invented talks: %w", s.Path(), err)
	}
	return f.Filled, nil
}

type filler struct {
	Filled
	ctx    context.Context
	store  *store.Store
	engine *conversation.Engine
	kb     *kb.KB
	set    demo.Settings
}

func (f *filler) begin() error {
	ids, _, err := f.store.Talks("", 1)
	if err != nil {
		return err
	}
	if len(ids) > 0 {
		return ErrNotEmpty
	}
	value, err := json.Marshal(mark{f.set.Seed, f.set.Start.String(), f.set.Weeks})
	if err != nil {
		return err
	}
	if err := f.store.Set(f.ctx, feed.SettingDemo, string(value)); err != nil {
		return err
	}
	var fleet strings.Builder
	lines := json.NewEncoder(&fleet)
	for _, b := range demo.Fleet(f.kb, f.set) {
		if err := lines.Encode(b); err != nil {
			return err
		}
	}
	return f.store.Set(f.ctx, feed.SettingFleet, fleet.String())
}

// talked is one owner's talk, ready to be kept.
type talked struct {
	said []rehearsal.Said
	err  error
}

// all lets owners talk side by side, and keeps their talks in the order of days.
func (f *filler) all(done func(n, of int)) error {
	r, err := rehearsal.New(f.engine)
	if err != nil {
		return err
	}
	var faults []demo.Failure
	for _, x := range demo.Failures(f.kb, f.set) {
		if slices.Contains(bench.Causes(x.Kit), x.Cause) {
			faults = append(faults, x)
		}
	}
	workers := runtime.GOMAXPROCS(0)
	ahead := make(chan chan talked, 4*workers) // bounds how many talks lie ready
	slots := make(chan struct{}, workers)
	ctx, stop := context.WithCancel(f.ctx)
	defer stop()
	go func() {
		defer close(ahead)
		for i, x := range faults {
			result := make(chan talked, 1)
			select {
			case ahead <- result:
			case <-ctx.Done():
				return
			}
			slots <- struct{}{}
			go func() {
				defer func() { <-slots }()
				var t talked
				c := rehearsal.Case{Kit: x.Kit, Sort: rehearsal.Single, Causes: []string{x.Cause}, Seed: f.set.Seed*1_000_003 + uint64(i)}
				_, t.err = r.Live(c, rehearsal.Scene{From: f.hour(i, x), First: f.first(i, x), Heard: func(s rehearsal.Said) { t.said = append(t.said, s) }})
				result <- t
			}()
		}
	}()
	n := 0
	for result := range ahead {
		t := <-result
		if t.err != nil {
			return t.err
		}
		if err := f.keep(n, faults[n], t.said); err != nil {
			return err
		}
		if n++; done != nil {
			done(n, len(faults))
		}
	}
	return f.ctx.Err()
}

// first is what some owners say before they are asked to say it otherwise: words
// for a symptom of the fault that no rule knows.
func (f *filler) first(i int, x demo.Failure) string {
	l, cause := f.lots(i, "first"), f.kb.Cause(x.Cause)
	if cause == nil || l.Float64() >= oddWords {
		return ""
	}
	for _, w := range demo.Wordings() {
		shows := slices.ContainsFunc(cause.Shows, func(s kb.Show) bool { return s.Of == w.Symptom && s.Present > 0.5 })
		if shows && l.Float64() < 0.6 {
			return "hi, " + w.Text
		}
	}
	return ""
}

// hour is when an owner begins to talk: by day, and not all at once.
func (f *filler) hour(i int, x demo.Failure) time.Time {
	l := f.lots(i, "hour")
	return time.Unix(int64(x.Day)*86400, 0).UTC().Add(time.Duration((7 + 14*l.Float64()) * float64(time.Hour))).Truncate(time.Second)
}
