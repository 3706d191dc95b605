package store

import (
	"bytes"
	"context"
	"fmt"
	"slices"
	"time"
)

// Erased says what was erased.
type Erased struct {
	Conversations int
	Cases         int
	Outgoing      int
	Mentions      int // of the handle in the audit of other people's cases
}

// forgotten stands where a handle stood.
const forgotten = "(forgotten)"

// Forget erases all that an owner wrote and was told, their handle, and the
// cases made of it, and writes the file anew so that nothing of it is left
// between the records. Where the handle stands in the audit of other cases it is
// replaced. The anonymous counts stay. Backups made before are not touched. When
// writing the file anew fails or is cut off, opening the store does it.
func (s *Store) Forget(ctx context.Context, owner string) (Erased, error) {
	if err := checkName("owner", owner); err != nil {
		return Erased{}, fmt.Errorf("forgetting: %w", err)
	}
	var e Erased
	err := s.update(ctx, func(w *writing) error {
		e = Erased{}
		keys, err := w.keys(inOwners, under(owner))
		if err != nil {
			return err
		}
		var ids []string
		for _, key := range keys {
			ids = append(ids, string(key[len(owner)+1:]))
		}
		if err := w.erase(ids, &e); err != nil {
			return err
		}
		return w.unname(owner, &e)
	})
	if err == nil {
		err = s.Compact(ctx)
	}
	if err != nil {
		return e, fmt.Errorf("forgetting an owner: %w", err)
	}
	return e, nil
}

// Expire erases the conversations in which nothing was said for so many days,
// as Forget does. Those with a case that is not closed are kept.
func (s *Store) Expire(ctx context.Context, days int) (Erased, error) {
	if days < 1 {
		return Erased{}, fmt.Errorf("erasing what is old: %d days is no time to keep it", days)
	}
	before := s.now().AddDate(0, 0, -days)
	var all Erased
	after := ""
	for {
		ids, talks, err := s.Talks(after, mostTogether)
		if err != nil {
			return all, err
		}
		if len(ids) == 0 {
			break
		}
		after = ids[len(ids)-1]
		var old []string
		for i, t := range talks {
			if t.Last.Before(before) {
				old = append(old, ids[i])
			}
		}
		e, err := s.expire(ctx, old, before)
		if err != nil {
			return all, err
		}
		all.Conversations, all.Cases, all.Outgoing = all.Conversations+e.Conversations, all.Cases+e.Cases, all.Outgoing+e.Outgoing
	}
	if all.Conversations == 0 {
		if erased, err := s.erasedInside(); err != nil || !erased {
			return all, err
		}
	}
	return all, s.Compact(ctx)
}

// erasedInside says whether words were erased that are still between the records.
func (s *Store) erasedInside() (erased bool, err error) {
	err = s.view(func(r reading) error {
		h, _, err := get[head](r, inMeta, keyHead)
		erased = h.Erased
		return err
	})
	return erased, err
}

func (s *Store) expire(ctx context.Context, ids []string, before time.Time) (Erased, error) {
	var e Erased
	if len(ids) == 0 {
		return e, nil
	}
	err := s.update(ctx, func(w *writing) error {
		e = Erased{}
		var old []string
		for _, id := range ids {
			t, ok, err := get[Talk](w.reading, inTalks, []byte(id))
			if err != nil {
				return err
			}
			if !ok || !t.Last.Before(before) { // went on in the meantime
				continue
			}
			c, ok, err := get[Case](w.reading, inCases, number(t.Case))
			if err != nil {
				return err
			}
			if ok && (c.State != Closed || !c.Changed.Before(before)) {
				continue
			}
			old = append(old, id)
		}
		return w.erase(old, &e)
	})
	return e, err
}

// erase takes conversations out of everything but the counts.
func (w *writing) erase(ids []string, e *Erased) error {
	for _, id := range ids {
		if err := w.eraseTalk(id, e); err != nil {
			return err
		}
	}
	var mail [][]byte
	err := w.each(inOutbox, nil, nil, func(key, value []byte) (bool, error) {
		o, err := decode[Outgoing](inOutbox, key, value)
		if err == nil && slices.Contains(ids, o.Conversation) {
			mail = append(mail, bytes.Clone(key))
		}
		return true, err
	})
	if err != nil {
		return err
	}
	for _, key := range mail {
		if err := w.delete(inOutbox, key); err != nil {
			return err
		}
	}
	e.Outgoing += len(mail)
	w.head.Erased = w.head.Erased || *e != (Erased{})
	return nil
}

func (w *writing) eraseTalk(id string, e *Erased) error {
	talk, ok, err := get[Talk](w.reading, inTalks, []byte(id))
	if err != nil || !ok {
		return err
	}
	if err := w.count(endedCount(talk)); err != nil {
		return err
	}
	for _, n := range talk.Log {
		if err := w.delete(inEvents, number(n)); err != nil {
			return err
		}
	}
	if err := w.eraseCase(talk.Case, e); err != nil {
		return err
	}
	if err := w.erasePhotos(id, nil); err != nil {
		return err
	}
	if err := w.unnameGist(id); err != nil {
		return err
	}
	e.Conversations++
	if err := w.delete(inOwners, paired(talk.Owner, id)); err != nil {
		return err
	}
	return w.delete(inTalks, []byte(id))
}

func (w *writing) eraseCase(id uint64, e *Erased) error {
	c, ok, err := get[Case](w.reading, inCases, number(id))
	if err != nil || !ok {
		return err
	}
	e.Cases++
	if err := w.delete(inStates, numbered(string(c.State), id)); err != nil {
		return err
	}
	if err := w.delete(inDocuments, number(id)); err != nil {
		return err
	}
	return w.delete(inCases, number(id))
}

// unname replaces a handle in the cases of others: it may be a volunteer's.
func (w *writing) unname(handle string, e *Erased) error {
	keys, err := w.keys(inCases, nil)
	if err != nil {
		return err
	}
	for _, key := range keys {
		c, _, err := get[Case](w.reading, inCases, key)
		if err != nil {
			return err
		}
		n := replaceHandle(&c.Taker, handle)
		for i := range c.Audit {
			n += replaceHandle(&c.Audit[i].Who, handle) + replaceHandle(&c.Audit[i].To, handle)
		}
		if n == 0 {
			continue
		}
		e.Mentions += n
		w.head.Erased = true
		if err := w.putJSON(inCases, key, c); err != nil {
			return err
		}
	}
	return nil
}

func replaceHandle(s *string, handle string) int {
	if *s != handle {
		return 0
	}
	*s = forgotten
	return 1
}
