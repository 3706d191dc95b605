package store

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"time"
)

// Photo is a picture that an owner sent. Its bytes are kept, because a chat's
// link to it stops working after a while.
type Photo struct {
	ID      string    `json:"-"`
	Message string    `json:"message"` // of the owner
	Name    string    `json:"name"`
	Kind    string    `json:"kind"` // such as image/jpeg
	Size    int       `json:"size"`
	Kept    time.Time `json:"kept"`
}

// KeepPhoto keeps a picture with a conversation; one that is there already stays
// as it is. It returns [ErrNoTalk] when nobody started the conversation.
func (s *Store) KeepPhoto(ctx context.Context, conversation string, p Photo, data []byte) error {
	for _, n := range []struct{ what, name string }{{"conversation", conversation}, {"photo", p.ID}} {
		if err := checkName(n.what, n.name); err != nil {
			return fmt.Errorf("keeping a photo: %w", err)
		}
	}
	p.Size = len(data)
	about, err := json.Marshal(p) // on one line
	if err != nil {
		return fmt.Errorf("keeping a photo: %w", err)
	}
	value := append(append(about, '\n'), data...)
	key := paired(conversation, p.ID)
	return s.update(ctx, func(w *writing) error {
		if v, err := w.get(inTalks, []byte(conversation)); err != nil {
			return err
		} else if v == nil {
			return fmt.Errorf("keeping a photo: %w", ErrNoTalk)
		}
		if v, err := w.get(inPhotos, key); err != nil || v != nil {
			return err
		}
		return w.put(inPhotos, key, value)
	})
}

// Photos lists the pictures of a conversation, without their bytes.
func (s *Store) Photos(conversation string) (list []Photo, err error) {
	err = s.view(func(r reading) error {
		return r.each(inPhotos, under(conversation), nil, func(key, value []byte) (bool, error) {
			p, _, err := photo(key, value)
			if err == nil {
				p.ID = string(key[len(conversation)+1:])
				list = append(list, p)
			}
			return true, err
		})
	})
	return list, err
}

// PhotoData returns the bytes of a picture; false when it is not there.
func (s *Store) PhotoData(conversation, id string) (p Photo, data []byte, ok bool, err error) {
	key := paired(conversation, id)
	err = s.view(func(r reading) error {
		value, err := r.get(inPhotos, key)
		if err != nil || value == nil {
			return err
		}
		var inside []byte
		if p, inside, err = photo(key, value); err != nil {
			return err
		}
		p.ID, data, ok = id, bytes.Clone(inside), true
		return nil
	})
	return p, data, ok, err
}

func photo(key, value []byte) (Photo, []byte, error) {
	about, data, found := bytes.Cut(value, []byte{'\n'})
	if !found {
		return Photo{}, nil, damaged("photo %q has no bytes", key)
	}
	p, err := decode[Photo](inPhotos, key, about)
	return p, data, err
}

// erasePhotos erases the pictures of a conversation, or of some of its messages.
func (w *writing) erasePhotos(conversation string, of func(message string) bool) error {
	var keys [][]byte
	err := w.each(inPhotos, under(conversation), nil, func(key, value []byte) (bool, error) {
		p, _, err := photo(key, value)
		if err == nil && (of == nil || of(p.Message)) {
			keys = append(keys, bytes.Clone(key))
		}
		return true, err
	})
	for _, key := range keys {
		if err == nil {
			err = w.delete(inPhotos, key)
		}
	}
	return err
}
