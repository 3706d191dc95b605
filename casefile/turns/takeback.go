package turns

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

// TakenBack stands where the words of a message stood that its owner deleted.
const TakenBack = "(taken back)"

// TakeBack erases the words of messages that their owner deleted, from the talk
// and from its case, and the pictures that came with them. What was understood of
// them stays. It says whether there was anything.
func (r *Runner) TakeBack(ctx context.Context, conversation string, is func(message string) bool) (found bool, err error) {
	done := make(chan error, 1)
	work := func() (err error) {
		found, err = r.takeBack(ctx, conversation, is)
		return err
	}
	w := waiting{in: Incoming{Conversation: conversation}, work: work, done: func(err error) { done <- err }}
	if err := r.lines.enter(ctx, w); err != nil {
		return false, err
	}
	err = <-done
	return found, err
}

func (r *Runner) takeBack(ctx context.Context, id string, is func(string) bool) (bool, error) {
	for range mostAnew {
		talk, list, err := r.c.Store.Turns(id)
		if err != nil {
			return false, err
		}
		red := store.Redaction{Conversation: id, Base: talk.Turns, Photos: is}
		var all []conversation.Event
		for _, t := range list {
			if t.Message != "" && is(t.Message) {
				t.Events = withoutWords(t.Events)
				red.Turns = append(red.Turns, t)
			}
			all = append(all, t.Events...)
		}
		if len(red.Turns) == 0 {
			return false, nil
		}
		if talk.Case != 0 {
			if red.Document, err = r.c.Case(conversation.Replay(all)); err != nil {
				return false, fmt.Errorf("writing a case without what was taken back: %w", err)
			}
		}
		err = r.c.Store.Redact(ctx, red)
		r.kept.drop(id)
		if !errors.Is(err, store.ErrStale) {
			return err == nil, err
		}
	}
	return false, fmt.Errorf("taking words back: %w, %d times", store.ErrStale, mostAnew)
}

func withoutWords(events []conversation.Event) []conversation.Event {
	events = slices.Clone(events)
	for i := range events {
		if events[i].Text != "" {
			events[i].Text = TakenBack
		}
	}
	return events
}
