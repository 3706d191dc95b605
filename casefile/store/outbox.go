package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strconv"
	"time"

	"triagebot/conversation"
)

// Kind says what an outgoing message is.
type Kind string

const (
	KindTurn   Kind = "turn"   // the answer to an owner
	KindCase   Kind = "case"   // a case, told to the volunteers
	KindNotice Kind = "notice" // what became of a case, told to its owner
	KindWord   Kind = "word"   // a word to the volunteers about a case: a reminder, a hand-on
)

// Outgoing is a message that must reach its address once.
type Outgoing struct {
	To           string                `json:"to"` // a conversation, or another address of the chat
	Conversation string                `json:"conversation"`
	Nonce        string                `json:"-"` // follows from its number; the platform drops a second with the same
	Number       uint64                `json:"-"`
	Kind         Kind                  `json:"kind"`
	ReplyTo      string                `json:"reply_to,omitempty"` // the owner's message
	Lines        []string              `json:"lines,omitempty"`
	Ask          *conversation.TurnAsk `json:"ask,omitempty"`
	Cautions     []string              `json:"cautions,omitempty"`
	State        string                `json:"state,omitempty"` // of the talk, as in a Turn
	Case         uint64                `json:"case,omitempty"`
	Made         time.Time             `json:"made"`
	Attempts     int                   `json:"attempts,omitempty"`
	Next         time.Time             `json:"next,omitzero"` // not to be tried before
	Failed       string                `json:"failed,omitempty"`
}

func (o Outgoing) key() []byte { return number(o.Number) }

func nonce(epoch string, n uint64) string { return epoch + "-" + strconv.FormatUint(n, 36) }

func (w *writing) queue(o Outgoing) (Outgoing, error) {
	data, err := json.Marshal(o)
	if err != nil {
		return o, fmt.Errorf("encoding a message: %w", err)
	}
	return w.queueEncoded(o, data)
}

func (w *writing) queueEncoded(o Outgoing, data []byte) (Outgoing, error) {
	w.head.Outgoing++
	o.Number = w.head.Outgoing
	o.Nonce = nonce(w.head.Epoch, o.Number)
	return o, w.put(inOutbox, o.key(), data)
}

// Queue puts messages into the outbox apart from a turn.
func (s *Store) Queue(ctx context.Context, list ...Outgoing) ([]Outgoing, error) {
	for _, o := range list {
		if err := checkName("address", o.To); err != nil {
			return nil, fmt.Errorf("putting a message into the outbox: %w", err)
		}
	}
	var queued []Outgoing
	err := s.update(ctx, func(w *writing) error {
		queued = nil
		for _, o := range list {
			o, err := w.queue(o)
			if err != nil {
				return err
			}
			queued = append(queued, o)
		}
		return nil
	})
	return queued, err
}

// Sent takes messages out of the outbox: they have reached the chat. What is not
// there any more is passed over.
func (s *Store) Sent(ctx context.Context, list ...Outgoing) error {
	return s.update(ctx, func(w *writing) error {
		for _, o := range list {
			if v, err := w.get(inOutbox, o.key()); err != nil {
				return err
			} else if v == nil {
				continue
			}
			if err := w.delete(inOutbox, o.key()); err != nil {
				return err
			}
		}
		return nil
	})
}

// Tried keeps attempts, next time and failure of a message that was not sent.
func (s *Store) Tried(ctx context.Context, o Outgoing) error {
	return s.update(ctx, func(w *writing) error {
		old, ok, err := get[Outgoing](w.reading, inOutbox, o.key())
		if err != nil || !ok { // forgotten in the meantime
			return err
		}
		old.Attempts, old.Next, old.Failed = o.Attempts, o.Next, o.Failed
		return w.putJSON(inOutbox, o.key(), old)
	})
}

// Outgoing returns a message of the outbox by its number; false when it is not
// there any more.
func (s *Store) Outgoing(number uint64) (o Outgoing, ok bool, err error) {
	err = s.view(func(r reading) (err error) {
		key := Outgoing{Number: number}.key()
		o, ok, err = get[Outgoing](r, inOutbox, key)
		o.Number, o.Nonce = number, nonce(s.epoch, number)
		return err
	})
	return o, ok, err
}

// Outbox lists up to limit messages after the given number, in the order they
// were made, those failed for good among them.
func (s *Store) Outbox(after uint64, limit int) (list []Outgoing, err error) {
	err = s.view(func(r reading) error {
		return r.each(inOutbox, nil, number(after+1), func(key, value []byte) (bool, error) {
			o, err := decode[Outgoing](inOutbox, key, value)
			if err != nil {
				return false, err
			}
			o.Number = lastNumber(key)
			o.Nonce = nonce(s.epoch, o.Number)
			list = append(list, o)
			return len(list) < limit, nil
		})
	})
	if err != nil {
		return nil, fmt.Errorf("reading the outbox: %w", err)
	}
	return list, nil
}
