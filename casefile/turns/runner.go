package turns

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"
	"time"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

// Runner runs turns. It owns its workers and senders until Close.
type Runner struct {
	c       Config
	lines   *lines
	kept    *kept
	outbox  *outbox
	workers sync.WaitGroup
	ctx     context.Context
	stop    context.CancelFunc
	closed  sync.Once
}

// New starts a Runner; what a former one left in the outbox is sent now.
func New(c Config) (*Runner, error) {
	if err := c.complete(); err != nil {
		return nil, err
	}
	r := &Runner{c: c, lines: newLines(c.Waiting), kept: newKept(c.Kept)}
	r.ctx, r.stop = context.WithCancel(context.Background())
	box, err := newOutbox(r.ctx, c)
	if err != nil {
		r.stop()
		return nil, fmt.Errorf("starting the turns: %w", err)
	}
	r.outbox = box
	for range c.Workers {
		r.workers.Go(r.work)
	}
	return r, nil
}

// Take gives a message its turn and returns once that is durable; nil also when
// the message had its turn already. It waits while too many messages wait.
func (r *Runner) Take(ctx context.Context, in Incoming) error {
	done := make(chan error, 1)
	if err := r.Enter(ctx, in, func(err error) { done <- err }); err != nil {
		return err
	}
	return <-done
}

// Enter is Take for callers that must not wait for the disk, only for room: the
// order of the calls is the order of the turns, and done is called with what
// Take would return. It must be quick.
func (r *Runner) Enter(ctx context.Context, in Incoming, done func(error)) error {
	if in.ID == "" || in.Conversation == "" || in.Owner == "" {
		return fmt.Errorf("taking a message: id %q, conversation %q and owner must be known", in.ID, in.Conversation)
	}
	return r.lines.enter(ctx, waiting{in: in, done: done})
}

// Close takes no more messages, finishes the turns of those it has and the
// messages being sent, and ends. When ctx ends first, messages that had no turn
// yet get an error. What is not sent stays in the outbox.
func (r *Runner) Close(ctx context.Context) error {
	r.lines.close()
	err := within(ctx, r.workers.Wait, r.stop)
	r.closed.Do(func() { close(r.outbox.halt) })
	if late := within(ctx, r.outbox.running.Wait, r.stop); err == nil {
		err = late
	}
	r.stop()
	return err
}

// within waits, and calls hurry when ctx ends before.
func within(ctx context.Context, wait, hurry func()) error {
	finished := make(chan struct{})
	go func() {
		wait()
		close(finished)
	}()
	select {
	case <-finished:
		return nil
	case <-ctx.Done():
		hurry()
		<-finished
		return fmt.Errorf("stopping the turns: %w", ctx.Err())
	}
}

// Forget erases an owner from the store and from memory.
func (r *Runner) Forget(ctx context.Context, owner string) (store.Erased, error) {
	e, err := r.c.Store.Forget(ctx, owner)
	r.kept.clear()
	r.outbox.reread()
	return e, err
}

// Expire erases the conversations in which nothing was said for so many days
// from the store and from memory.
func (r *Runner) Expire(ctx context.Context, days int) (store.Erased, error) {
	e, err := r.c.Store.Expire(ctx, days)
	r.kept.clear()
	r.outbox.reread()
	return e, err
}

// Send sends what was put into the outbox apart from a turn, as the store
// returned it.
func (r *Runner) Send(list ...store.Outgoing) {
	for _, o := range list {
		r.outbox.add(o, true)
	}
}

func (r *Runner) work() {
	for {
		l, w, ok := r.lines.next()
		if !ok {
			return
		}
		switch {
		case w.work != nil:
			w.done(w.work())
		case w.aside != nil:
			w.done(r.aside(*w.aside))
		default:
			begun := r.c.Now()
			err := r.take(w.in)
			if r.c.Took != nil && err == nil {
				r.c.Took(r.c.Now().Sub(begun))
			}
			w.done(err)
		}
		r.lines.finish(l)
	}
}

// mostAnew bounds how often a turn is worked out anew because the conversation
// went on by another hand.
const mostAnew = 5

func (r *Runner) take(in Incoming) error {
	for range mostAnew {
		if err := r.ctx.Err(); err != nil {
			return ErrClosed
		}
		err := r.turn(in)
		switch {
		case errors.Is(err, store.ErrSeen):
			return nil
		case errors.Is(err, store.ErrStale):
			r.kept.drop(in.Conversation)
			continue
		case err != nil:
			return fmt.Errorf("answering a message: %w", err)
		}
		return nil
	}
	return fmt.Errorf("answering a message: %w, %d times", store.ErrStale, mostAnew)
}

func (r *Runner) turn(in Incoming) error {
	if seen, err := r.c.Store.Seen(in.ID); err != nil {
		return err
	} else if seen {
		return store.ErrSeen
	}
	talk, err := r.talk(in.Conversation)
	if err != nil {
		return err
	}
	now := in.Time
	if now.IsZero() {
		now = r.c.Now()
	}
	now = talk.notBefore(now)
	events, said := r.step(talk.state, in.Text, now)
	if said.Noted && r.inHands(talk.caseID) {
		// The owner writes to the person who has the case; a word of ours on
		// every line would be in their way.
		said.Say = nil
		events = slices.DeleteFunc(events, func(e conversation.Event) bool {
			return e.Kind == conversation.BotSaid || e.Kind == conversation.Warned
		})
	}
	t := store.Turn{Conversation: in.Conversation, Owner: in.Owner, Message: in.ID, Time: now, Events: events}
	return r.keep(t, talk, said, store.KindTurn)
}

// inHands says whether somebody has taken a case. When that cannot be read, too
// much is said rather than nothing.
func (r *Runner) inHands(id uint64) bool {
	c, _, err := r.c.Store.Case(id)
	return err == nil && c.State == store.Taken
}

// talk is a conversation from memory or, folded anew, from the store.
func (r *Runner) talk(id string) (keptTalk, error) {
	if talk, ok := r.kept.get(id); ok {
		return talk, nil
	}
	known, events, err := r.c.Store.Conversation(id)
	if err != nil {
		return keptTalk{}, err
	}
	return keptTalk{state: conversation.Replay(events), turns: known.Turns, owner: known.Owner, caseID: known.Case}, nil
}

// notBefore keeps the times of a talk in order when the clock was set back.
func (k keptTalk) notBefore(now time.Time) time.Time {
	if now.Before(k.state.Last) {
		return k.state.Last
	}
	return now
}

// keep completes a turn by what its events make of the talk, and commits it.
func (r *Runner) keep(t store.Turn, talk keptTalk, said conversation.Turn, kind store.Kind) error {
	after := talk.state.Clone()
	for _, e := range t.Events {
		after.Apply(e)
	}
	t.Base, t.Kit, t.Phase, t.HandOver = talk.turns, after.Kit, after.Phase, r.handOver(talk.state, after)
	if len(said.Say) > 0 {
		t.Outgoing = append([]store.Outgoing{{
			To: t.Conversation, Kind: kind, ReplyTo: t.Message, Lines: said.Say, Ask: said.Ask,
			Cautions: said.Cautions, State: said.State, Made: t.Time,
		}}, t.Outgoing...)
	}
	if t.Act != nil {
		for i := range t.Outgoing {
			t.Outgoing[i].Case = talk.caseID
		}
	}
	done, err := r.c.Store.Commit(r.ctx, t)
	if err != nil {
		return err
	}
	r.kept.put(t.Conversation, keptTalk{state: after, turns: talk.turns + 1, owner: t.Owner, caseID: done.Case})
	if r.c.Happened != nil {
		r.c.Happened(t, done)
	}
	r.Send(done.Outgoing...)
	return nil
}

// step works out the turn. One that breaks down is handed to a person: the
// message would break down the next time as well, and the owner waits.
func (r *Runner) step(st *conversation.State, text string, now time.Time) (events []conversation.Event, t conversation.Turn) {
	defer func() {
		if p := recover(); p != nil {
			r.c.Log.Error("a turn broke down", "turn", st.Turn+1, "kit", st.Kit, "panic", fmt.Sprintf("%T", p))
			t = conversation.Turn{V: 1, Turn: st.Turn + 1, State: "handed-over", Say: r.c.Excuse}
			events = []conversation.Event{
				{Kind: conversation.OwnerSaid, Time: now, Text: text},
				{Kind: conversation.HandedOver, Time: now, ID: conversation.ReasonUnexplained},
				{Kind: conversation.BotSaid, Time: now, Lines: r.c.Excuse},
			}
		}
	}()
	events, t, err := r.c.Engine.Step(st, text, now)
	if err != nil { // the events are good all the same
		r.c.Log.Warn("a turn could not be worked out", "turn", t.Turn, "kit", st.Kit)
	}
	return events, t
}

// handOver writes the case of a talk that is with a person: when it goes there,
// and again with all that the owner says afterwards.
func (r *Runner) handOver(before, after *conversation.State) *store.HandOver {
	if after.Phase != conversation.Over && after.Phase != conversation.Stopped {
		return nil
	}
	document, err := r.c.Case(after)
	if err != nil {
		r.c.Log.Error("a case could not be written whole", "turn", after.Turn, "kit", after.Kit)
	}
	if len(document) == 0 {
		document = []byte("null")
	}
	return &store.HandOver{
		Reason: after.Reason, Document: document, Announce: r.c.Announce,
		Anew: before.Phase != after.Phase || len(before.Dangers) != len(after.Dangers),
	}
}
