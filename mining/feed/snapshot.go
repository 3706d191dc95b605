package feed

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"sync"
	"time"

	"triagebot/mining"
	"triagebot/mining/plots"
)

// Snapshot is a report as it was at one time, with its files. It is never
// changed.
type Snapshot struct {
	Report *mining.Report
	At     time.Time
	JSON   []byte
	Patch  []byte            // the wording to add, as YAML
	Tables map[string][]byte // CSV by name
	Names  []string          // of the tables, in their order

	change   uint64
	pictures []*plots.Picture
	months   map[series]map[string]*int

	mu    sync.Mutex
	drawn map[string][]byte
}

// series is one thing counted by month.
type series struct {
	kind    mining.Kind
	id, kit string
}

// Months are the counts of one thing on one kit by the months in which there
// were any; nil where there were too few to show.
func (s *Snapshot) Months(kind mining.Kind, id, kit string) map[string]*int {
	return s.months[series{kind, id, kit}]
}

func byMonth(r *mining.Report) map[series]map[string]*int {
	all := map[series]map[string]*int{}
	for _, c := range r.Counts {
		if c.By != "month" {
			continue
		}
		key := series{c.Kind, c.ID, c.Kit}
		if all[key] == nil {
			all[key] = map[string]*int{}
		}
		all[key][c.Value] = c.N
	}
	return all
}

// Snapshot is the last report made; nil before the first.
func (f *Feed) Snapshot() *Snapshot { return f.last.Load() }

// Refresh makes the report anew if anything changed since the last.
func (f *Feed) Refresh(o mining.Options, now time.Time) (*Snapshot, error) {
	f.refreshing.Lock()
	defer f.refreshing.Unlock()
	if s := f.last.Load(); s != nil && s.change == f.Change() {
		return s, nil
	}
	s := &Snapshot{At: now, Tables: map[string][]byte{}, drawn: map[string][]byte{}}
	var err error
	s.change, err = f.With(func(a *mining.Aggregate) error {
		if s.Report, err = mining.NewReport(a, o); err != nil {
			return err
		}
		s.pictures, err = plots.All(a, s.Report, nil, o)
		return err
	})
	if err != nil {
		return nil, err
	}
	write := func(to func(io.Writer) error) []byte {
		var b bytes.Buffer
		if e := to(&b); e != nil && err == nil {
			err = e
		}
		return b.Bytes()
	}
	s.months = byMonth(s.Report)
	s.JSON, s.Patch = write(s.Report.WriteJSON), write(s.Report.WritePatch)
	for _, t := range s.Report.Tables() {
		s.Names = append(s.Names, t.Name)
		s.Tables[t.Name] = write(t.WriteCSV)
	}
	if err != nil {
		return nil, err
	}
	f.last.Store(s)
	return s, nil
}

// Picture is one picture by its file's name, which ends in .svg or .png; false
// when there is none. It is drawn when it is first asked for.
func (s *Snapshot) Picture(name string) ([]byte, bool, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if data, ok := s.drawn[name]; ok {
		return data, true, nil
	}
	for _, p := range s.pictures {
		var b bytes.Buffer
		var err error
		switch name {
		case p.Name + ".svg":
			err = p.WriteSVG(&b)
		case p.Name + ".png":
			err = p.WritePNG(&b)
		default:
			continue
		}
		if err == nil {
			s.drawn[name] = b.Bytes()
		}
		return b.Bytes(), true, err
	}
	return nil, false, nil
}

// Pictures are the names and titles of the pictures.
func (s *Snapshot) Pictures() (list []struct{ Name, Title string }) {
	for _, p := range s.pictures {
		list = append(list, struct{ Name, Title string }{p.Name, p.Title})
	}
	return list
}

// Changed is a change that Run is told of: a conversation, or "" when everything
// must be looked at again.
type Changed string

// Run follows a store: it catches up, then takes in changes and makes the report
// anew, after each change but at most once in pause. It ends with its context.
func (f *Feed) Run(ctx context.Context, changes <-chan Changed, o mining.Options, now func() time.Time, after func(time.Duration) <-chan time.Time, pause time.Duration) error {
	if err := f.CatchUp(ctx); err != nil && ctx.Err() == nil {
		return fmt.Errorf("catching up with the ended talks: %w", err)
	}
	if _, err := f.Refresh(o, now()); err != nil {
		return err
	}
	var due <-chan time.Time
	again := false
	for {
		select {
		case <-ctx.Done():
			return nil
		case id, ok := <-changes:
			if !ok {
				return nil
			}
			if id == "" {
				again = true // in a while: when much happens, this is said often
			} else if err := f.Look(ctx, string(id)); err != nil { // the next start mends it
				f.c.Log.Error("a change could not be taken into the statistics", "error", err)
			}
			if due == nil {
				due = after(pause)
			}
		case <-due:
			due = nil
			if again {
				again = false
				f.Forgotten()
				if err := f.CatchUp(ctx); err != nil && ctx.Err() == nil {
					f.c.Log.Error("the ended talks could not be looked through", "error", err)
				}
			}
			if _, err := f.Refresh(o, now()); err != nil {
				f.c.Log.Error("the statistics could not be worked out", "error", err)
			}
		}
	}
}
