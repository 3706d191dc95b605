package turns

import (
	"context"
	"errors"
	"fmt"
	"time"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

// ErrNoTalk is returned for an aside in a conversation that nobody started.
var ErrNoTalk = errors.New("there is no such conversation")

// Aside is a turn that answers no message: a check that a person wants asked, a
// word to a silent owner.
type Aside struct {
	Conversation string
	Act          *store.Act       // what is done to the conversation's case with it
	Kind         store.Kind       // of what is sent to the owner; KindTurn when empty
	Tell         []store.Outgoing // sent besides
	// Step works the turn out; without events nothing happens. It may be called
	// again when the conversation went on in the meantime.
	Step func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error)
}

// Aside gives a conversation a turn in its order among the messages, and
// returns once it is durable. An error of Step and a refusal of Act come back as
// they are, and nothing is kept then.
func (r *Runner) Aside(ctx context.Context, a Aside) error {
	if a.Conversation == "" || a.Step == nil {
		return fmt.Errorf("a turn aside needs a conversation and a step")
	}
	done := make(chan error, 1)
	w := waiting{in: Incoming{Conversation: a.Conversation}, aside: &a, done: func(err error) { done <- err }}
	if err := r.lines.enter(ctx, w); err != nil {
		return err
	}
	return <-done
}

func (r *Runner) aside(a Aside) error {
	for range mostAnew {
		if err := r.ctx.Err(); err != nil {
			return ErrClosed
		}
		err := r.asideOnce(a)
		if errors.Is(err, store.ErrStale) {
			r.kept.drop(a.Conversation)
			continue
		}
		return err
	}
	return fmt.Errorf("a turn aside: %w, %d times", store.ErrStale, mostAnew)
}

func (r *Runner) asideOnce(a Aside) (err error) {
	defer func() {
		if p := recover(); p != nil {
			r.c.Log.Error("a turn aside broke down", "panic", fmt.Sprintf("%T", p))
			err = fmt.Errorf("a turn aside broke down")
		}
	}()
	talk, err := r.talk(a.Conversation)
	if err != nil {
		return err
	}
	if talk.turns == 0 {
		return fmt.Errorf("%q: %w", a.Conversation, ErrNoTalk)
	}
	now := talk.notBefore(r.c.Now())
	events, said, err := a.Step(talk.state, now)
	if err != nil || len(events) == 0 {
		return err
	}
	kind := a.Kind
	if kind == "" {
		kind = store.KindTurn
	}
	t := store.Turn{Conversation: a.Conversation, Owner: talk.owner, Time: now, Events: events, Act: a.Act, Outgoing: a.Tell}
	return r.keep(t, talk, said, kind)
}
