package store

import (
	"context"
	"encoding/json"
	"fmt"
)

// Figures are what statistics keep of a conversation that has ended. Counted
// names nobody and stays for good; Words are taken away with the conversation,
// and with them the way back to it.
type Figures struct {
	Counted json.RawMessage `json:"counted"`
	Words   json.RawMessage `json:"words,omitempty"`
}

// Figures of conversations that are still kept lie under their ids, the others
// under a running number.
const (
	underTalk     = "talk"
	underNameless = "nameless"
)

// KeepFigures keeps the figures of a conversation, in the place of those there
// may be.
func (s *Store) KeepFigures(ctx context.Context, conversation string, f Figures) error {
	if err := checkName("conversation", conversation); err != nil {
		return fmt.Errorf("keeping figures: %w", err)
	}
	return s.update(ctx, func(w *writing) error {
		if t, err := w.get(inTalks, []byte(conversation)); err != nil || t == nil {
			return err // erased in the meantime: nothing of it may come back
		}
		return w.putJSON(inFigures, paired(underTalk, conversation), f)
	})
}

// DropFigures takes the figures of a conversation away: it goes on.
func (s *Store) DropFigures(ctx context.Context, conversation string) error {
	return s.update(ctx, func(w *writing) error {
		key := paired(underTalk, conversation)
		if v, err := w.get(inFigures, key); err != nil || v == nil {
			return err
		}
		return w.delete(inFigures, key)
	})
}

// Figures returns the figures of a conversation; false when there are none.
func (s *Store) Figures(conversation string) (f Figures, ok bool, err error) {
	err = s.view(func(r reading) error {
		f, ok, err = get[Figures](r, inFigures, paired(underTalk, conversation))
		return err
	})
	return f, ok, err
}

// figuresAtATime bounds how long one look holds a transaction. It is a variable
// only so that tests need not write so many.
var figuresAtATime = 2000

// EachFigures calls fn with all figures there are; conversation is "" for those
// whose conversation is not kept any more. What is kept meanwhile may be missed.
func (s *Store) EachFigures(fn func(conversation string, f Figures) error) error {
	var from []byte
	for {
		var list []Figures
		var ids []string
		more := false
		err := s.view(func(r reading) error {
			return r.each(inFigures, nil, from, func(key, value []byte) (bool, error) {
				if len(list) == figuresAtATime {
					from, more = append([]byte(nil), key...), true
					return false, nil
				}
				f, err := decode[Figures](inFigures, key, value)
				id := ""
				if rest, ok := cutUnder(key, underTalk); ok {
					id = string(rest)
				}
				list, ids = append(list, f), append(ids, id)
				return true, err
			})
		})
		if err != nil {
			return err
		}
		for i, f := range list {
			if err := fn(ids[i], f); err != nil {
				return err
			}
		}
		if !more {
			return nil
		}
	}
}

func cutUnder(key []byte, name string) ([]byte, bool) {
	n := len(name) + 1
	if len(key) < n || string(key[:n]) != string(under(name)) {
		return nil, false
	}
	return key[n:], true
}

// unnameFigures takes the words from a conversation's figures, and its id.
func (w *writing) unnameFigures(id string) error {
	key := paired(underTalk, id)
	f, ok, err := get[Figures](w.reading, inFigures, key)
	if err != nil || !ok {
		return err
	}
	if err := w.delete(inFigures, key); err != nil {
		return err
	}
	w.head.Nameless++
	return w.putJSON(inFigures, numbered(underNameless, w.head.Nameless), Figures{Counted: f.Counted})
}
