package feed

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"iter"
	"log/slog"
	"strings"
	"sync"
	"sync/atomic"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/mining"
)

// The settings of a store that tell of its records.
const (
	// SettingDemo is set when the store holds invented talks; every record is
	// marked then.
	SettingDemo = "demo"
	// SettingFleet holds the bikes that are running, as JSON lines.
	SettingFleet = "fleet"
)

// Config is what a feed needs.
type Config struct {
	Store  *store.Store
	Engine *conversation.Engine
	Log    *slog.Logger // gets no words and no handles
}

// Feed keeps an aggregate over a store's ended talks. It is safe for concurrent
// use.
type Feed struct {
	c    Config
	demo bool

	mu     sync.Mutex // for what follows, and for the order of looks
	total  *mining.Aggregate
	known  map[string]bool // conversations whose record is in total
	stale  bool            // a record that is in total is not in the store any more
	change uint64

	refreshing sync.Mutex
	last       atomic.Pointer[Snapshot]
}

// New is a feed that has read nothing yet.
func New(c Config) (*Feed, error) {
	if c.Store == nil || c.Engine == nil || c.Log == nil {
		return nil, errors.New("starting to mine a store: store, engine and log must be given")
	}
	demo, err := c.Store.Setting(SettingDemo)
	if err != nil {
		return nil, err
	}
	return &Feed{c: c, demo: demo != "", total: mining.NewAggregate(), known: map[string]bool{}}, nil
}

// Demo says whether the talks of the store are invented.
func (f *Feed) Demo() bool { return f.demo }

// CatchUp reads all records, makes those that are missing, and takes away those
// of talks that went on while nobody looked.
func (f *Feed) CatchUp(ctx context.Context) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	if err := f.read(); err != nil {
		return err
	}
	open := map[string]bool{}
	for _, state := range []store.State{store.Waiting, store.Taken} {
		err := pages(func(after uint64) (uint64, bool, error) {
			list, err := f.c.Store.Cases(state, after, atATime)
			for _, c := range list {
				open[c.Conversation] = true
				after = c.ID
			}
			return after, len(list) == atATime, err
		})
		if err != nil {
			return err
		}
	}
	after := ""
	for {
		ids, talks, err := f.c.Store.Talks(after, atATime)
		if err != nil {
			return err
		}
		for i, id := range ids {
			after = id
			ended := talks[i].Phase == conversation.Done
			if talks[i].Case != 0 {
				ended = !open[id]
			}
			if ended == f.known[id] {
				continue
			}
			if err := ctx.Err(); err != nil {
				return err
			}
			if err := f.look(ctx, id); err != nil {
				return err
			}
		}
		if len(ids) < atATime {
			break
		}
	}
	if f.stale {
		return f.read()
	}
	return nil
}

// atATime bounds one look into the store.
const atATime = 1000

func pages(page func(after uint64) (uint64, bool, error)) error {
	for after, more := uint64(0), true; more; {
		var err error
		if after, more, err = page(after); err != nil {
			return err
		}
	}
	return nil
}

// read counts the records of the store anew.
func (f *Feed) read() error {
	f.total, f.known, f.stale = mining.NewAggregate(), map[string]bool{}, false
	f.change++
	d := mining.NewDecoder()
	err := f.c.Store.EachGist(func(id string, k store.Gist) error {
		r, err := joined(d, k)
		if err != nil {
			return err
		}
		f.total.Add(r)
		if id != "" {
			f.known[id] = true
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("reading the records of the store: %w", err)
	}
	for b, err := range f.Fleet() {
		if err != nil {
			return err
		}
		f.total.AddRunning(b)
	}
	return nil
}

// Look takes a change of a conversation in.
func (f *Feed) Look(ctx context.Context, conversation string) error {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.look(ctx, conversation)
}

func (f *Feed) look(ctx context.Context, id string) error {
	r, ended, err := f.record(id)
	if err != nil {
		return fmt.Errorf("making the record of a talk: %w", err)
	}
	had := f.known[id]
	switch {
	case !ended && !had:
		return nil
	case !ended:
		f.stale = true
		delete(f.known, id)
		f.change++
		return f.c.Store.DropGist(ctx, id)
	}
	k, err := parted(r)
	if err != nil {
		return err
	}
	if had {
		old, ok, err := f.c.Store.Gist(id)
		if err != nil {
			return err
		}
		if ok && bytes.Equal(old.Counted, k.Counted) && bytes.Equal(old.Words, k.Words) {
			return nil
		}
		f.stale = true // counted otherwise before
	}
	if err := f.c.Store.KeepGist(ctx, id, k); err != nil {
		return err
	}
	f.change++
	f.known[id] = true
	if !f.stale {
		f.total.Add(r)
	}
	return nil
}

// Forgotten has everything counted anew: somebody's words left the store.
func (f *Feed) Forgotten() {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.stale = true
	f.change++
}

// Change grows with every change of what is counted.
func (f *Feed) Change() uint64 {
	f.mu.Lock()
	defer f.mu.Unlock()
	return f.change
}

// With hands the aggregate to work that must not outlive the call, and says
// which change it is of.
func (f *Feed) With(work func(*mining.Aggregate) error) (uint64, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.stale {
		if err := f.read(); err != nil {
			return f.change, err
		}
	}
	return f.change, work(f.total)
}

// Records are those of all ended talks, as the store keeps them.
func (f *Feed) Records() iter.Seq2[mining.Record, error] {
	return func(yield func(mining.Record, error) bool) {
		d := mining.NewDecoder()
		err := f.c.Store.EachGist(func(_ string, k store.Gist) error {
			r, err := joined(d, k)
			if err == nil && !yield(r, nil) {
				err = errEnough
			}
			return err
		})
		if err != nil && !errors.Is(err, errEnough) {
			yield(mining.Record{}, fmt.Errorf("reading the records of the store: %w", err))
		}
	}
}

var errEnough = errors.New("enough")

// Fleet are the bikes that are running, as far as the store knows.
func (f *Feed) Fleet() iter.Seq2[mining.Running, error] {
	fleet, err := f.c.Store.Setting(SettingFleet)
	if err != nil {
		return func(yield func(mining.Running, error) bool) { yield(mining.Running{}, err) }
	}
	return mining.Fleet(strings.NewReader(fleet))
}

// words is the part of a record that goes with its owner.
type words struct {
	Bike      string   `json:"bike,omitempty"`
	Unmatched []string `json:"unmatched,omitempty"`
}

func parted(r mining.Record) (store.Gist, error) {
	w := words{r.Bike, r.Unmatched}
	r.Bike, r.Unmatched = "", nil
	var k store.Gist
	var err error
	if k.Counted, err = json.Marshal(r); err != nil {
		return k, fmt.Errorf("writing a record: %w", err)
	}
	if w.Bike != "" || len(w.Unmatched) > 0 {
		if k.Words, err = json.Marshal(w); err != nil {
			return k, fmt.Errorf("writing a record: %w", err)
		}
	}
	return k, nil
}

func joined(d *mining.Decoder, k store.Gist) (mining.Record, error) {
	r, err := d.Record(k.Counted)
	if err != nil || len(k.Words) == 0 {
		return r, err
	}
	var w words
	err = json.Unmarshal(k.Words, &w)
	r.Bike, r.Unmatched = w.Bike, w.Unmatched
	return r, err
}

// record is that of a conversation, if it has ended.
func (f *Feed) record(id string) (mining.Record, bool, error) {
	talk, ok, err := f.c.Store.Talk(id)
	if err != nil || !ok || talk.Case == 0 && talk.Phase != conversation.Done {
		return mining.Record{}, false, err
	}
	cl := mining.Closing{Closed: talk.Last}
	var c *casefile.Case
	if talk.Case != 0 {
		life, document, err := f.c.Store.Case(talk.Case)
		if err != nil || life.State != store.Closed {
			return mining.Record{}, false, err
		}
		cl = closing(life)
		if c, err = casefile.Read(bytes.NewReader(document)); err != nil {
			c = nil // it was not written whole: the events have it all
		}
	}
	_, events, err := f.c.Store.Conversation(id)
	if err != nil {
		return mining.Record{}, false, err
	}
	if c == nil {
		st := conversation.Replay(events)
		if talk.Case == 0 && len(st.Symptoms)+len(st.Answers) == 0 {
			return mining.Record{}, false, nil // somebody looked in and left
		}
		if c, err = casefile.Build(f.c.Engine, st); err != nil {
			f.c.Log.Warn("a record is made of a case that is not whole", "case", talk.Case)
		}
	}
	cl.Unmatched = unmatched(events)
	r := mining.FromCase(c, cl, f.c.Engine.KB())
	r.Demo = f.demo
	return r, true, nil
}

// unmatched are the messages in which somebody told what is wrong and nothing
// was understood. What was not understood as an answer is no wording for a
// symptom.
func unmatched(events []conversation.Event) []string {
	list := []string{}
	said, asked := "", conversation.AskComplaint
	for _, e := range events {
		switch e.Kind {
		case conversation.OwnerSaid:
			if said != "" {
				list = append(list, said)
			}
			said = ""
			if asked == conversation.AskComplaint || asked == conversation.AskWhich {
				said = e.Text
			}
		case conversation.Asked:
			if e.Question != nil {
				asked = e.Question.Kind
			}
		case conversation.BotSaid, conversation.Warned, conversation.Missed:
		default:
			said = "" // something came of it
		}
	}
	return list // the last message was not gone on from, and says little
}

func closing(c store.Case) mining.Closing {
	cl := mining.Closing{Closed: c.Changed, Confirmed: c.Cause, NotFound: c.NotFound, Remedy: c.Remedy, Replaced: c.Replaced, Person: true}
	for _, a := range c.Audit {
		if a.Deed == store.DeedClose {
			cl.Closed = a.Time
		}
	}
	if b := c.Bike; b != nil {
		cl.Kit, cl.Bike, cl.Distance = b.Kit, b.Mark, b.Distance
		cl.Age = mining.MonthsSince(b.Built, cl.Closed)
	}
	return cl
}
