package turns

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

// Incoming is a message of an owner.
type Incoming struct {
	ID           string // of the message in the chat
	Conversation string
	Owner        string
	Text         string
	Time         time.Time // zero: when its turn is worked out
}

// Engine works out a turn; [conversation.Engine] is one.
type Engine interface {
	Step(st *conversation.State, msg string, now time.Time) ([]conversation.Event, conversation.Turn, error)
}

// Sender hands a message to the chat. Nil means that the chat has it. A
// [PermanentError] ends the attempts, a [RetryError] says when to try again, and
// anything else is tried again later and later.
type Sender interface {
	Send(ctx context.Context, o store.Outgoing) error
}

// PermanentError is a refusal that no later attempt can change.
type PermanentError struct{ Err error }

func (e *PermanentError) Error() string { return e.Err.Error() }
func (e *PermanentError) Unwrap() error { return e.Err }

// RetryError says how long the chat wants to be left alone.
type RetryError struct {
	After time.Duration
	Err   error
}

func (e *RetryError) Error() string { return e.Err.Error() }
func (e *RetryError) Unwrap() error { return e.Err }

// ErrClosed is returned for what comes after Close.
var ErrClosed = errors.New("no more turns are taken")

// Config is what a Runner needs. Numbers that are 0 get a default.
type Config struct {
	Store  *store.Store
	Engine Engine
	Sender Sender
	Now    func() time.Time
	After  func(time.Duration) <-chan time.Time
	Jitter func() float64 // 0 up to 1; spreads the attempts
	Log    *slog.Logger   // gets no words and no handles

	Case     func(*conversation.State) (json.RawMessage, error) // the document of a hand-over
	Announce string                                             // where volunteers are told of a case
	Excuse   []string                                           // said when a turn broke down
	Happened func(store.Turn, store.Committed)                  // told of every turn that was kept; must be quick; may be nil

	Took func(time.Duration) // how long a message's turn took until it was durable; may be nil

	Workers int // turns at a time
	Senders int // messages being sent at a time
	Waiting int // messages taken and not answered; beyond it Take waits
	Kept    int // bytes that conversations in memory may take, about

	FirstRetry, LastRetry time.Duration // waits between attempts
}

const (
	defaultWorkers = 64
	defaultSenders = 16
	defaultWaiting = 1024
	defaultKept    = 32 << 20
	defaultFirst   = time.Second
	defaultLast    = 5 * time.Minute
)

func (c *Config) complete() error {
	for name, missing := range map[string]bool{
		"store": c.Store == nil, "engine": c.Engine == nil, "sender": c.Sender == nil,
		"clock": c.Now == nil || c.After == nil, "source of jitter": c.Jitter == nil,
		"log": c.Log == nil, "writer of cases": c.Case == nil,
	} {
		if missing {
			return fmt.Errorf("starting the turns: no %s is given", name)
		}
	}
	for _, n := range []struct {
		value   *int
		usually int
	}{{&c.Workers, defaultWorkers}, {&c.Senders, defaultSenders}, {&c.Waiting, defaultWaiting}, {&c.Kept, defaultKept}} {
		if *n.value <= 0 {
			*n.value = n.usually
		}
	}
	if c.FirstRetry <= 0 {
		c.FirstRetry = defaultFirst
	}
	if c.LastRetry < c.FirstRetry {
		c.LastRetry = max(defaultLast, c.FirstRetry)
	}
	return nil
}
