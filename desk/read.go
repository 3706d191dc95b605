package desk

import (
	"bytes"
	"encoding/json"
	"fmt"

	"triagebot/casefile"
	"triagebot/casefile/store"
)

// Cases lists up to limit cases in a state after the given number, oldest first.
func (d *Desk) Cases(state store.State, after uint64, limit int) ([]store.Case, error) {
	return d.c.Store.Cases(state, after, limit)
}

// Case returns a case and its document, which is nil when it could not be written.
func (d *Desk) Case(id uint64) (store.Case, *casefile.Case, error) {
	c, document, err := d.c.Store.Case(id)
	if err != nil || len(document) == 0 || bytes.Equal(document, []byte("null")) {
		return c, nil, err
	}
	var doc casefile.Case
	if err := json.Unmarshal(document, &doc); err != nil {
		return c, nil, fmt.Errorf("reading the document of case %d: %w", id, err)
	}
	return c, &doc, nil
}

// casesAtOnce bounds one look at the cases.
const casesAtOnce = 100

// Mine lists the cases that somebody has taken, oldest first.
func (d *Desk) Mine(p Person) ([]store.Case, error) {
	var mine []store.Case
	err := d.eachCase(store.Taken, func(c store.Case) error {
		if c.Taker == p.Name {
			mine = append(mine, c)
		}
		return nil
	})
	return mine, err
}

// eachCase goes through the cases of a state; each look at the store is short.
func (d *Desk) eachCase(state store.State, do func(store.Case) error) error {
	for after := uint64(0); ; {
		list, err := d.c.Store.Cases(state, after, casesAtOnce)
		if err != nil {
			return err
		}
		for _, c := range list {
			after = c.ID
			if err := do(c); err != nil {
				return err
			}
		}
		if len(list) < casesAtOnce {
			return nil
		}
	}
}
