package store

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"time"

	"triagebot/conversation"
)

// Turn is all that one message of an owner leads to. It is kept whole or not
// at all.
type Turn struct {
	Conversation string
	Owner        string // who the conversation belongs to; the first turn settles it
	Message      string // id of the message; "" when the turn answers none
	Base         uint64 // turns the conversation had when this one was worked out
	Time         time.Time
	Events       []conversation.Event
	Kit          string
	Phase        conversation.Phase // after the events
	Outgoing     []Outgoing
	HandOver     *HandOver // the talk goes to a person with this turn
	Act          *Act      // what somebody does to the conversation's case with this turn; it may be refused as in [Store.Act]
}

// HandOver opens a case with a turn, or brings the document of the
// conversation's case up to date. A closed case waits again for somebody: its
// owner has more to say.
type HandOver struct {
	Reason   string
	Document json.RawMessage
	Anew     bool   // the talk went to a person with this turn, and not before
	Announce string // where volunteers are told of a case that is new or waits again; "" for nowhere
}

// Committed is what the store made of a turn.
type Committed struct {
	Outgoing []Outgoing // with their nonces
	Case     uint64     // 0 when the turn concerns none
	Deed     Deed       // what became of the case with this turn; "" for nothing
}

// Talk is what is kept of a conversation besides its events.
type Talk struct {
	Owner   string             `json:"owner"`
	Turns   uint64             `json:"turns"`
	Log     []uint64           `json:"log"` // the numbers of its turns in the log of all
	Kit     string             `json:"kit,omitempty"`
	Phase   conversation.Phase `json:"phase,omitempty"`
	Started time.Time          `json:"started"`
	Last    time.Time          `json:"last"` // when the owner last wrote
	Case    uint64             `json:"case,omitempty"`
	Nudged  time.Time          `json:"nudged,omitzero"` // the owner said nothing since
}

type turnRecord struct {
	Message string               `json:"message,omitempty"`
	Events  []conversation.Event `json:"events"`
}

// mostSeen is how many ids of messages one of the two sets takes before it
// pushes out the other: the last mostSeen to 2*mostSeen messages are known.
const mostSeen = 100_000

// Commit keeps a turn and returns once it is durable. It returns [ErrSeen] when
// the message was taken already and [ErrStale] when the conversation has not
// Base turns; nothing is kept then.
func (s *Store) Commit(ctx context.Context, t Turn) (Committed, error) {
	if err := t.check(); err != nil {
		return Committed{}, fmt.Errorf("keeping a turn: %w", err)
	}
	t.Outgoing = slices.Clone(t.Outgoing)
	for i := range t.Outgoing {
		t.Outgoing[i].Conversation = t.Conversation
	}
	// Encoded here, by many at once, and not by the one writer.
	e, err := t.encode()
	if err != nil {
		return Committed{}, fmt.Errorf("encoding a turn of %q: %w", t.Conversation, err)
	}
	var done Committed
	err = s.update(ctx, func(w *writing) (err error) {
		done, err = w.turn(t, e)
		return err
	})
	return done, err
}

// encodedTurn is what a turn writes.
type encodedTurn struct {
	record   []byte
	outgoing [][]byte
}

func (t Turn) encode() (e encodedTurn, err error) {
	if e.record, err = json.Marshal(turnRecord{t.Message, t.Events}); err != nil {
		return e, err
	}
	for _, o := range t.Outgoing {
		data, err := json.Marshal(o)
		if err != nil {
			return e, err
		}
		e.outgoing = append(e.outgoing, data)
	}
	return e, nil
}

func (t Turn) check() error {
	if err := checkName("conversation", t.Conversation); err != nil {
		return err
	}
	if err := checkName("owner", t.Owner); err != nil {
		return err
	}
	if t.Message != "" {
		if err := checkName("message", t.Message); err != nil {
			return err
		}
	}
	for _, o := range t.Outgoing {
		if err := checkName("address", o.To); err != nil {
			return err
		}
	}
	if t.HandOver != nil && t.HandOver.Announce != "" {
		return checkName("address", t.HandOver.Announce)
	}
	return nil
}

func (w *writing) turn(t Turn, e encodedTurn) (Committed, error) {
	if t.Message != "" {
		if seen, err := w.seen(t.Message); err != nil || seen {
			return Committed{}, errors.Join(err, when(seen, ErrSeen))
		}
	}
	talk, _, err := get[Talk](w.reading, inTalks, []byte(t.Conversation))
	if err != nil {
		return Committed{}, err
	}
	if talk.Turns != t.Base {
		return Committed{}, ErrStale
	}
	var c Case
	if t.Act != nil { // refused before anything is written
		if c, err = w.after(talk.Case, *t.Act); err != nil {
			return Committed{}, err
		}
	}
	if talk.Turns == 0 {
		talk.Owner, talk.Started = t.Owner, t.Time
		if err := w.put(inOwners, paired(t.Owner, t.Conversation), nil); err != nil {
			return Committed{}, err
		}
	}
	if t.Message != "" {
		if err := w.markSeen(t.Message); err != nil {
			return Committed{}, err
		}
	}
	// In the order they come, turns fill page after page; by conversation each
	// would touch a page of its own.
	w.head.Turn++
	if err := w.put(inEvents, number(w.head.Turn), e.record); err != nil {
		return Committed{}, err
	}
	talk.Turns++
	talk.Log = append(talk.Log, w.head.Turn)
	talk.Kit, talk.Phase = t.Kit, t.Phase
	talk.heard(t)
	var done Committed
	for i, o := range t.Outgoing {
		o, err := w.queueEncoded(o, e.outgoing[i])
		if err != nil {
			return Committed{}, err
		}
		done.Outgoing = append(done.Outgoing, o)
	}
	if t.Act != nil {
		if err := w.acted(c, talk.Case); err != nil {
			return Committed{}, err
		}
		done.Deed = t.Act.Deed
		if t.HandOver != nil {
			if err := w.put(inDocuments, number(talk.Case), t.HandOver.Document); err != nil {
				return Committed{}, err
			}
		}
	} else if t.HandOver != nil {
		id, news, err := w.handOver(t, talk.Case)
		if err != nil {
			return Committed{}, err
		}
		if news {
			done.Deed = DeedRenew
			if talk.Case == 0 {
				done.Deed = DeedOpen
			}
		}
		talk.Case = id
		if to := t.HandOver.Announce; news && to != "" {
			o, err := w.queue(Outgoing{To: to, Conversation: t.Conversation, Kind: KindCase, Case: id, Made: t.Time})
			if err != nil {
				return Committed{}, err
			}
			done.Outgoing = append(done.Outgoing, o)
		}
	}
	done.Case = talk.Case
	return done, w.putJSON(inTalks, []byte(t.Conversation), talk)
}

// heard keeps when the owner last wrote, and that they were nudged since.
func (talk *Talk) heard(t Turn) {
	if t.Message == "" && talk.Turns > 1 {
		if slices.ContainsFunc(t.Events, func(e conversation.Event) bool { return e.Kind == conversation.Nudged }) {
			talk.Nudged = t.Time
		}
		return
	}
	talk.Nudged = time.Time{}
	if t.Time.After(talk.Last) { // the clock may have been set back
		talk.Last = t.Time
	}
}

func when(yes bool, err error) error {
	if yes {
		return err
	}
	return nil
}

func (r reading) seen(id string) (bool, error) {
	for _, bucket := range []string{inSeenA, inSeenB} {
		if v, err := r.get(bucket, []byte(id)); err != nil || v != nil {
			return v != nil, err
		}
	}
	return false, nil
}

// markSeen keeps an id in the set being filled; a full set takes the place of
// the other, whose ids are older than all of its own.
func (w *writing) markSeen(id string) error {
	filling, other := inSeenA, inSeenB
	if w.head.SeenB {
		filling, other = other, filling
	}
	if w.head.Tallies[indexOf(filling)].Count >= seenLimit {
		if err := w.empty(other); err != nil {
			return err
		}
		w.head.SeenB = !w.head.SeenB
		filling = other
	}
	return w.put(filling, []byte(id), nil)
}

// seenLimit is a variable only so that tests need not write mostSeen ids.
var seenLimit uint64 = mostSeen

// Seen says whether a message was taken already.
func (s *Store) Seen(id string) (seen bool, err error) {
	err = s.view(func(r reading) (err error) {
		seen, err = r.seen(id)
		return err
	})
	return seen, err
}

// Talk returns what is kept of a conversation besides its events; false when
// nobody started it.
func (s *Store) Talk(id string) (t Talk, ok bool, err error) {
	err = s.view(func(r reading) error {
		t, ok, err = get[Talk](r, inTalks, []byte(id))
		return err
	})
	return t, ok, err
}

// Conversation returns what is kept of a conversation, and its events in order.
// One that nobody started has no turns.
func (s *Store) Conversation(id string) (Talk, []conversation.Event, error) {
	var (
		talk    Talk
		records [][]byte
	)
	if err := checkName("conversation", id); err != nil {
		return talk, nil, fmt.Errorf("reading a conversation: %w", err)
	}
	err := s.view(func(r reading) (err error) {
		if talk, _, err = get[Talk](r, inTalks, []byte(id)); err != nil {
			return err
		}
		for _, n := range talk.Log {
			value, err := r.get(inEvents, number(n))
			if err != nil {
				return err
			}
			if value == nil {
				return damaged("turn %d is missing", n)
			}
			records = append(records, bytes.Clone(value))
		}
		return nil
	})
	if err != nil {
		return Talk{}, nil, fmt.Errorf("reading conversation %q: %w", id, err)
	}
	var events []conversation.Event
	for i, data := range records {
		rec, err := decode[turnRecord](inEvents, number(talk.Log[i]), data)
		if err != nil {
			return Talk{}, nil, err
		}
		events = append(events, rec.Events...)
	}
	return talk, events, nil
}

// Talks lists up to limit conversations after the given id, in the order of
// their ids.
func (s *Store) Talks(after string, limit int) (ids []string, talks []Talk, err error) {
	err = s.view(func(r reading) error {
		return r.each(inTalks, nil, under(after), func(key, value []byte) (bool, error) {
			t, err := decode[Talk](inTalks, key, value)
			if err != nil {
				return false, err
			}
			ids, talks = append(ids, string(key)), append(talks, t)
			return len(ids) < limit, nil
		})
	})
	return ids, talks, err
}
