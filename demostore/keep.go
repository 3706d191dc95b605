package demostore

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math/rand/v2"
	"time"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/mining/demo"
	"triagebot/rehearsal"
)

// lots are the draws for one purpose of one talk.
func (f *filler) lots(i int, purpose string) *rand.Rand {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d %s", i, purpose)
	return rand.New(rand.NewPCG(f.set.Seed, h.Sum64()))
}

// keep puts one talk into the store as turns, and lets volunteers work on it if
// it goes to a person.
func (f *filler) keep(i int, x demo.Failure, said []rehearsal.Said) error {
	if len(said) == 0 {
		f.Unnoticed++
		return nil
	}
	f.Talks++
	id, st := fmt.Sprintf("demo-%05d", i), conversation.NewState()
	var done store.Committed
	for n, s := range said {
		for _, e := range s.Events {
			st.Apply(e)
		}
		t := store.Turn{
			Conversation: id, Owner: "demo:rider-" + x.Bike, Message: fmt.Sprintf("%s-%d", id, n), Base: uint64(n),
			Time: s.Time, Events: s.Events, Kit: st.Kit, Phase: st.Phase,
		}
		if st.Phase == conversation.Over || st.Phase == conversation.Stopped {
			c, err := casefile.Build(f.engine, st)
			if err != nil {
				return err
			}
			document, err := json.Marshal(c)
			if err != nil {
				return err
			}
			t.HandOver = &store.HandOver{Reason: st.Reason, Document: document, Anew: true}
		}
		var err error
		if done, err = f.store.Commit(f.ctx, t); err != nil {
			return err
		}
	}
	if done.Case == 0 {
		if st.Reason == conversation.ReasonCured {
			f.Solved++
		}
		return nil
	}
	return f.work(i, x, done.Case, st.Last)
}

// work is what volunteers do to a case until the year is over.
func (f *filler) work(i int, x demo.Failure, id uint64, from time.Time) error {
	l, end := f.lots(i, "work"), time.Unix(int64(f.set.Start)*86400, 0).UTC().AddDate(0, 0, 7*f.set.Weeks)
	now := from
	wait := func(hours float64) bool {
		now = now.Add(time.Duration(hours * l.ExpFloat64() * float64(time.Hour))).Truncate(time.Second)
		return now.Before(end)
	}
	act := func(a store.Act) error {
		a.Time = now
		_, _, err := f.store.Act(f.ctx, id, a)
		return err
	}
	if !wait(takeHours) {
		f.Waiting++
		return nil
	}
	who := volunteers[l.IntN(len(volunteers))]
	if err := act(store.Act{Who: who, Deed: store.DeedTake}); err != nil {
		return err
	}
	if l.Float64() < noted && wait(workHours/4) {
		if err := act(store.Act{Who: who, Deed: store.DeedNote, Text: notes[l.IntN(len(notes))]}); err != nil {
			return err
		}
	}
	if l.Float64() < handed && wait(workHours/4) {
		to := volunteers[l.IntN(len(volunteers))]
		if err := act(store.Act{Who: who, Deed: store.DeedHandOn, To: to}); err != nil {
			return err
		}
		who = to
	}
	if !wait(workHours) {
		f.Taken++
		return nil
	}
	f.Closed++
	return act(f.closing(l, x, who, now))
}

// closing says what the volunteer found: mostly what it was.
func (f *filler) closing(l *rand.Rand, x demo.Failure, who string, now time.Time) store.Act {
	a := store.Act{Who: who, Deed: store.DeedClose}
	if l.Float64() < bikeKnown {
		a.Bike = &store.Bike{Kit: x.Kit, Mark: x.Bike, Distance: x.Distance, Built: x.Built.Month()}
	}
	cause, at := f.kb.Cause(x.Cause), l.Float64()
	if at >= found+mistaken || cause == nil {
		a.NotFound = true
		return a
	}
	if at >= found && len(cause.Twins) > 0 {
		if other := f.kb.Cause(cause.Twins[l.IntN(len(cause.Twins))].Cause); other != nil {
			cause = other
		}
	}
	a.Cause, a.Remedy, a.Replaced = cause.ID, cause.Remedy, l.Float64() < renewed
	return a
}
