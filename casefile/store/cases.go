package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
)

// Bot is who acts where no person does.
const Bot = "triagebot"

// handOver opens the conversation's case, or brings it up to date. It says
// whether that is news to the volunteers.
func (w *writing) handOver(t Turn, id uint64) (_ uint64, news bool, err error) {
	c, found, err := get[Case](w.reading, inCases, number(id))
	if err != nil {
		return 0, false, err
	}
	act := Act{Time: t.Time, Who: Bot, Deed: DeedRenew, Text: t.HandOver.Reason}
	if !found {
		w.head.Case++
		id, act.Deed = w.head.Case, DeedOpen
		c = Case{ID: id, Conversation: t.Conversation, Owner: t.Owner, Opened: t.Time}
	}
	if err := w.put(inDocuments, number(id), t.HandOver.Document); err != nil {
		return 0, false, err
	}
	if found && c.State != Closed && !t.HandOver.Anew {
		return id, false, nil
	}
	before := c.State
	if c, err = c.After(act); err != nil {
		return 0, false, err
	}
	c.Kit, c.Reason = t.Kit, t.HandOver.Reason
	return id, true, w.putCase(c, before)
}

// putCase keeps a case and the list of cases by state.
func (w *writing) putCase(c Case, before State) error {
	if before != c.State {
		if before != "" {
			if err := w.delete(inStates, numbered(string(before), c.ID)); err != nil {
				return err
			}
		}
		if err := w.put(inStates, numbered(string(c.State), c.ID), nil); err != nil {
			return err
		}
	}
	return w.putJSON(inCases, number(c.ID), c)
}

// after is the case as an act leaves it; nothing is written.
func (w *writing) after(id uint64, a Act) (Case, error) {
	c, ok, err := get[Case](w.reading, inCases, number(id))
	if err != nil {
		return c, err
	}
	if !ok {
		return c, fmt.Errorf("case %d: %w", id, ErrNoCase)
	}
	return c.After(a)
}

// acted keeps a case after an act.
func (w *writing) acted(after Case, id uint64) error {
	before, _, err := get[Case](w.reading, inCases, number(id))
	if err != nil {
		return err
	}
	if after.State == Closed && before.State != Closed {
		if err := w.count(closedCount(after)); err != nil {
			return err
		}
	}
	return w.putCase(after, before.State)
}

// Act does something to a case and queues what is to be told of it, in one
// transaction. Of two who take a case at once one gets a [TakenError]; see
// [Case.After] for the other refusals.
func (s *Store) Act(ctx context.Context, id uint64, a Act, tell ...Outgoing) (Case, []Outgoing, error) {
	for _, o := range tell {
		if err := checkName("address", o.To); err != nil {
			return Case{}, nil, fmt.Errorf("acting on case %d: %w", id, err)
		}
	}
	var (
		after  Case
		queued []Outgoing
	)
	err := s.update(ctx, func(w *writing) (err error) {
		queued = nil
		if after, err = w.after(id, a); err != nil {
			return err
		}
		if err := w.acted(after, id); err != nil {
			return err
		}
		for _, o := range tell {
			o.Case, o.Conversation = id, after.Conversation
			o, err := w.queue(o)
			if err != nil {
				return err
			}
			queued = append(queued, o)
		}
		return nil
	})
	if err != nil {
		return Case{}, nil, err
	}
	return after, queued, nil
}

// Case returns a case and its document, or [ErrNoCase].
func (s *Store) Case(id uint64) (c Case, document json.RawMessage, err error) {
	err = s.view(func(r reading) error {
		var ok bool
		if c, ok, err = get[Case](r, inCases, number(id)); err != nil {
			return err
		}
		if !ok {
			return fmt.Errorf("case %d: %w", id, ErrNoCase)
		}
		d, err := r.get(inDocuments, number(id))
		document = bytes.Clone(d)
		return err
	})
	return c, document, err
}

// Cases lists up to limit cases in a state after the given number, oldest first.
func (s *Store) Cases(state State, after uint64, limit int) (list []Case, err error) {
	err = s.view(func(r reading) error {
		return r.each(inStates, under(string(state)), numbered(string(state), after+1), func(key, _ []byte) (bool, error) {
			c, ok, err := get[Case](r, inCases, number(lastNumber(key)))
			if err != nil {
				return false, err
			}
			if !ok {
				return false, damaged("case %d is listed and missing", lastNumber(key))
			}
			list = append(list, c)
			return len(list) < limit, nil
		})
	})
	return list, err
}

// CasesBefore lists up to limit cases in a state before the given number, newest
// first; 0 begins with the newest.
func (s *Store) CasesBefore(state State, before uint64, limit int) (list []Case, err error) {
	if before == 0 {
		before = math.MaxUint64
	}
	err = s.view(func(r reading) error {
		return r.back(inStates, under(string(state)), numbered(string(state), before), func(key, _ []byte) (bool, error) {
			c, ok, err := get[Case](r, inCases, number(lastNumber(key)))
			if err != nil {
				return false, err
			}
			if !ok {
				return false, damaged("case %d is listed and missing", lastNumber(key))
			}
			list = append(list, c)
			return len(list) < limit, nil
		})
	})
	return list, err
}
