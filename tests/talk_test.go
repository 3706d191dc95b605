// Package tests holds what only the whole can be tested for: hunts from the
// first word to the remedy, demo conversations, bad input and speed.
package tests

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/search"
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
	x, err := search.New(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	e, err := conversation.New(k, conversationMatcher{x}, conversation.Speaking(func(k *kb.KB) (conversation.Matcher, error) {
		x, err := search.New(k)
		if err != nil {
			return nil, err
		}
		t.Cleanup(func() { _ = x.Close() })
		return conversationMatcher{x}, nil
	}))
	require.NoError(t, err)
	return e
}

// conversationMatcher is the bridge that the program has between index and talk.
type conversationMatcher struct{ index *search.Index }

func (m conversationMatcher) Match(text string) conversation.Heard {
	said := m.index.Match(text)
	h := conversation.Heard{Kit: said.Kit, Danger: said.Danger, Offtopic: said.Offtopic, Unclear: said.Unclear}
	for _, s := range said.Symptoms {
		h.Symptoms = append(h.Symptoms, conversation.HeardSymptom{ID: s.ID, Present: s.Present, Confidence: s.Score})
	}
	for _, r := range said.Readings {
		if r.Check != "" {
			h.Readings = append(h.Readings, conversation.HeardReading{Check: r.Check, Quantity: r.Quantity})
		}
	}
	for _, x := range said.Seen {
		h.Seen = append(h.Seen, conversation.HeardSight{Check: x.Check, Option: x.Option, Confidence: x.Confidence})
	}
	for _, x := range said.Tools {
		h.Tools = append(h.Tools, conversation.HeardTool{ID: x.ID, Has: x.Have})
	}
	return h
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
