// Package tests holds what only the whole can be tested for: hunts from the
// first word to the remedy, demo conversations, bad input and speed.
package tests

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/hearing"
	"triagebot/kb"
)

// testTime stands still: the same talk gives the same words.
var testTime = time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC)

func loadKB(t testing.TB) *kb.KB {
	t.Helper()
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found), "%v", found)
	return k
}

func newEngine(t testing.TB) *conversation.Engine {
	t.Helper()
	k := loadKB(t)
	e, closer, err := hearing.Engine(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, closer.Close()) })
	return e
}

// talk is one owner with the bot.
type talk struct {
	t      testing.TB
	e      *conversation.Engine
	st     *conversation.State
	events []conversation.Event
}

func newTalk(t testing.TB, e *conversation.Engine, kit string) *talk {
	x := &talk{t: t, e: e, st: conversation.NewState()}
	if kit != "" {
		x.keep([]conversation.Event{{Kind: conversation.KitKnown, ID: kit, Time: testTime}})
	}
	return x
}

func (x *talk) keep(events []conversation.Event) {
	for _, e := range events {
		x.st.Apply(e)
	}
	x.events = append(x.events, events...)
}

func (x *talk) say(text string) conversation.Turn {
	x.t.Helper()
	events, turn, err := x.e.Step(x.st, text, testTime)
	require.NoError(x.t, err)
	x.keep(events)
	return turn
}
