package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"

	"triagebot/conversation"
)

// Redaction takes back the words of some messages of a conversation. What was
// understood of them stays: the talk has gone on by it.
type Redaction struct {
	Conversation string
	Base         uint64 // turns the conversation had when it was worked out
	Turns        []TurnKept
	Document     json.RawMessage           // of its case, without the words; nil leaves it
	Photos       func(message string) bool // whose pictures go as well
}

// TurnKept is one turn of a conversation.
type TurnKept struct {
	Number  uint64 // in the log of all turns
	Message string
	Events  []conversation.Event
}

// Turns returns the turns of a conversation in order.
func (s *Store) Turns(id string) (talk Talk, list []TurnKept, err error) {
	var records [][]byte
	err = s.view(func(r reading) (err error) {
		records = nil
		if talk, _, err = get[Talk](r, inTalks, []byte(id)); err != nil {
			return err
		}
		for _, n := range talk.Log {
			value, err := r.get(inEvents, number(n))
			if err != nil {
				return err
			}
			records = append(records, bytes.Clone(value))
		}
		return nil
	})
	for i, data := range records {
		rec, bad := decode[turnRecord](inEvents, number(talk.Log[i]), data)
		if err == nil {
			err = bad
		}
		list = append(list, TurnKept{talk.Log[i], rec.Message, rec.Events})
	}
	if err != nil {
		return Talk{}, nil, fmt.Errorf("reading conversation %q: %w", id, err)
	}
	return talk, list, nil
}

// Talk returns what is kept of a conversation besides its events; false when
// nobody started it.
func (s *Store) Talk(id string) (talk Talk, ok bool, err error) {
	if err := checkName("conversation", id); err != nil {
		return talk, false, fmt.Errorf("reading a conversation: %w", err)
	}
	err = s.view(func(r reading) (err error) {
		talk, ok, err = get[Talk](r, inTalks, []byte(id))
		return err
	})
	return talk, ok, err
}

// Redact keeps the turns given in place of those that had the words, in one
// transaction. It returns [ErrStale] when the conversation went on. Between the
// records the words are until the file is written anew: by [Store.Compact], by
// Expire, or when the store is opened.
func (s *Store) Redact(ctx context.Context, red Redaction) error {
	return s.update(ctx, func(w *writing) error {
		talk, _, err := get[Talk](w.reading, inTalks, []byte(red.Conversation))
		if err != nil {
			return err
		}
		if talk.Turns != red.Base {
			return ErrStale
		}
		for _, t := range red.Turns {
			if err := w.putJSON(inEvents, number(t.Number), turnRecord{t.Message, t.Events}); err != nil {
				return err
			}
		}
		if talk.Case != 0 && red.Document != nil {
			if err := w.put(inDocuments, number(talk.Case), red.Document); err != nil {
				return err
			}
		}
		w.head.Erased = true
		if red.Photos == nil {
			return nil
		}
		return w.erasePhotos(red.Conversation, red.Photos)
	})
}

// TalksOf lists the conversations of an owner.
func (s *Store) TalksOf(owner string) (ids []string, err error) {
	if err := checkName("owner", owner); err != nil {
		return nil, fmt.Errorf("looking up an owner: %w", err)
	}
	err = s.view(func(r reading) error {
		return r.each(inOwners, under(owner), nil, func(key, _ []byte) (bool, error) {
			ids = append(ids, string(key[len(owner)+1:]))
			return true, nil
		})
	})
	return ids, err
}
