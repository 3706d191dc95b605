package tests

import (
	"context"
	"encoding/json"
	"log/slog"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// overheard takes down what the bot says.
type overheard struct{ said chan store.Outgoing }

func (o overheard) Send(_ context.Context, m store.Outgoing) error {
	o.said <- m
	return nil
}

// A hunt that is stopped and started again before every single message goes as
// one that never stopped, and ends in the same case.
func TestRestartBeforeEveryMessage(t *testing.T) {
	e := newEngine(t)
	messages := []string{firstWords}
	st := conversation.NewState()
	var want []string
	for n := 0; n < len(messages); n++ {
		events, turn, err := e.Step(st, messages[n], testTime)
		require.NoError(t, err)
		for _, ev := range events {
			st.Apply(ev)
		}
		want = append(want, strings.Join(turn.Say, "\n"))
		switch {
		case n >= 12:
		case n >= 10 || turn.Ask == nil:
			messages = append(messages, "a person please")
		case len(turn.Ask.Options) > 0:
			messages = append(messages, turn.Ask.Options[0].Label)
		default:
			messages = append(messages, "4.9 "+turn.Ask.Unit)
		}
	}
	require.Equal(t, conversation.Over, st.Phase)
	require.Greater(t, len(st.Answers), 4, "the talk is too short to mean anything")
	document := func(st *conversation.State) (json.RawMessage, error) {
		c, err := casefile.Build(e, st)
		if err != nil {
			return nil, err
		}
		return json.Marshal(c)
	}
	wanted, err := document(st)
	require.NoError(t, err)

	path := filepath.Join(t.TempDir(), "triagebot.db")
	var got []string
	for n, msg := range messages {
		s, err := store.Open(path, store.Options{Now: time.Now})
		require.NoError(t, err)
		ear := overheard{make(chan store.Outgoing, 10)}
		r, err := turns.New(turns.Config{
			Store: s, Engine: e, Sender: ear, Now: time.Now, After: time.After, Jitter: func() float64 { return 0 },
			Log: slog.New(slog.DiscardHandler), Case: document,
		})
		require.NoError(t, err)
		require.NoError(t, r.Take(t.Context(), turns.Incoming{
			ID: "m" + string(rune('a'+n)), Conversation: "thread-17", Owner: "ada", Text: msg, Time: testTime,
		}))
		got = append(got, strings.Join((<-ear.said).Lines, "\n"))
		require.NoError(t, r.Close(t.Context()))
		require.NoError(t, s.Close())
	}
	assert.Equal(t, want, got)

	s, err := store.Open(path, store.Options{Now: time.Now, MustExist: true})
	require.NoError(t, err)
	defer s.Close()
	list, err := s.Cases(store.Waiting, 0, 10)
	require.NoError(t, err)
	require.Len(t, list, 1)
	_, kept, err := s.Case(list[0].ID)
	require.NoError(t, err)
	assert.True(t, string(wanted) == string(kept), "the case is another")
}
