package store

import (
	"context"
	"encoding/json"
	"fmt"
)

// Gist is what statistics keep of a conversation that has ended. Counted
// names nobody and stays for good; Words are taken away with the conversation,
// and with them the way back to it.
type Gist struct {
	Counted json.RawMessage `json:"counted"`
	Words   json.RawMessage `json:"words,omitempty"`
}

// Figures of conversations that are still kept lie under their ids, the others
// under a running number.
const (
	underTalk     = "talk"
	underNameless = "nameless"
)

// KeepGist keeps the gist of a conversation, in the place of those there
// may be.
func (s *Store) KeepGist(ctx context.Context, conversation string, f Gist) error {
	if err := checkName("conversation", conversation); err != nil {
		return fmt.Errorf("keeping a gist: %w", err)
	}
	return s.update(ctx, func(w *writing) error {
		if t, err := w.get(inTalks, []byte(conversation)); err != nil || t == nil {
			return err // erased in the meantime: nothing of it may come back
		}
		return w.putJSON(inGists, paired(underTalk, conversation), f)
	})
}

// DropGist takes the gist of a conversation away: it goes on.
func (s *Store) DropGist(ctx context.Context, conversation string) error {
	return s.update(ctx, func(w *writing) error {
		key := paired(underTalk, conversation)
		if v, err := w.get(inGists, key); err != nil || v == nil {
			return err
		}
		return w.delete(inGists, key)
	})
}

// Gist returns the gist of a conversation; false when there are none.
func (s *Store) Gist(conversation string) (f Gist, ok bool, err error) {
	err = s.view(func(r reading) error {
		f, ok, err = get[Gist](r, inGists, paired(underTalk, conversation))
		return err
	})
	return f, ok, err
}

// gistsAtATime bounds how long one look holds a transaction. It is a variable
// only so that tests need not write so many.
var gistsAtATime = 2000

// EachGist calls fn with all gists there are; conversation is "" for those
// whose conversation is not kept any more. What is kept meanwhile may be missed.
func (s *Store) EachGist(fn func(conversation string, f Gist) error) error {
	var from []byte
	for {
		var list []Gist
		var ids []string
		more := false
		err := s.view(func(r reading) error {
			return r.each(inGists, nil, from, func(key, value []byte) (bool, error) {
				if len(list) == gistsAtATime {
					from, more = append([]byte(nil), key...), true
					return false, nil
				}
				f, err := decode[Gist](inGists, key, value)
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

// unnameGist takes the words from a conversation's figures, and its id.
func (w *writing) unnameGist(id string) error {
	key := paired(underTalk, id)
	f, ok, err := get[Gist](w.reading, inGists, key)
	if err != nil || !ok {
		return err
	}
	if err := w.delete(inGists, key); err != nil {
		return err
	}
	w.head.Nameless++
	return w.putJSON(inGists, numbered(underNameless, w.head.Nameless), Gist{Counted: f.Counted})
}
