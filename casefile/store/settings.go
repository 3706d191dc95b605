package store

import (
	"bytes"
	"context"
	"strings"
)

// Setting returns a setting, "" when it was never set.
func (s *Store) Setting(name string) (value string, err error) {
	err = s.view(func(r reading) error {
		v, err := r.get(inSettings, []byte(name))
		value = string(v)
		return err
	})
	return value, err
}

// Settings returns all settings whose names start with a prefix.
func (s *Store) Settings(prefix string) (map[string]string, error) {
	all := map[string]string{}
	err := s.view(func(r reading) error {
		return r.each(inSettings, []byte(prefix), nil, func(key, value []byte) (bool, error) {
			all[string(key)] = string(bytes.Clone(value))
			return true, nil
		})
	})
	return all, err
}

// Set keeps a setting.
func (s *Store) Set(ctx context.Context, name, value string) error {
	if err := checkName("setting", name); err != nil {
		return err
	}
	return s.update(ctx, func(w *writing) error { return w.put(inSettings, []byte(name), []byte(value)) })
}

// Change keeps what change makes of a setting, with nothing between reading and
// writing it; "" takes it away. An error of change changes nothing and is
// returned. It may be called more than once.
func (s *Store) Change(ctx context.Context, name string, change func(old string) (string, error)) error {
	if err := checkName("setting", name); err != nil {
		return err
	}
	return s.update(ctx, func(w *writing) error {
		old, err := w.get(inSettings, []byte(name))
		if err != nil {
			return err
		}
		value, err := change(strings.Clone(string(old)))
		if err != nil {
			return err
		}
		if value == "" {
			return w.delete(inSettings, []byte(name))
		}
		return w.put(inSettings, []byte(name), []byte(value))
	})
}

// Unset takes settings away; those that are not there are passed over.
func (s *Store) Unset(ctx context.Context, names ...string) error {
	return s.update(ctx, func(w *writing) error {
		for _, name := range names {
			if v, err := w.get(inSettings, []byte(name)); err != nil {
				return err
			} else if v == nil {
				continue
			}
			if err := w.delete(inSettings, []byte(name)); err != nil {
				return err
			}
		}
		return nil
	})
}
