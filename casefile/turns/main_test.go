package turns_test

import (
	"context"
	"encoding/json"
	"fmt"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

func TestMain(m *testing.M) {
	if path := os.Getenv("TRIAGEBOT_TURNS_CHILD"); path != "" {
		os.Exit(runChild(path))
	}
	goleak.VerifyTestMain(m)
}

var start = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

// echo answers every message with the number of the turn, the words, and the
// question it answers, and asks the next.
type echo struct{}

func (echo) Step(st *conversation.State, msg string, now time.Time) ([]conversation.Event, conversation.Turn, error) {
	asked := "nothing"
	if st.Pending != nil {
		asked = st.Pending.ID
	}
	say := []string{fmt.Sprintf("%d %s, asked %s", st.Turn+1, msg, asked)}
	events := []conversation.Event{
		{Kind: conversation.OwnerSaid, Time: now, Text: msg},
		{Kind: conversation.Asked, Time: now, Question: &conversation.PendingAsk{Kind: conversation.AskCheck, ID: msg}},
		{Kind: conversation.BotSaid, Time: now, Lines: say},
	}
	if msg == "person" {
		events = append(events, conversation.Event{Kind: conversation.HandedOver, Time: now, ID: conversation.ReasonPerson})
	}
	return events, conversation.Turn{V: 1, Turn: st.Turn + 1, Say: say, State: "asking"}, nil
}

// echoed is what echo says to the n-th message of a conversation.
func echoed(n int) string {
	asked := "nothing"
	if n > 0 {
		asked = words(n - 1)
	}
	return fmt.Sprintf("%d %s, asked %s", n+1, words(n), asked)
}

func words(n int) string { return fmt.Sprintf("word-%d", n) }

func incoming(talk string, n int) turns.Incoming {
	return turns.Incoming{ID: fmt.Sprintf("%s-m%d", talk, n), Conversation: talk, Owner: "owner-" + talk, Text: words(n), Time: start}
}

// chat keeps what was sent to each address; fail says whether an attempt fails.
type chat struct {
	mu       sync.Mutex
	got      map[string][]store.Outgoing
	attempts int
	fail     func(o store.Outgoing, attempt int) error
	sent     chan store.Outgoing
}

func newChat() *chat {
	return &chat{got: map[string][]store.Outgoing{}, sent: make(chan store.Outgoing, 100_000)}
}

func (c *chat) Send(_ context.Context, o store.Outgoing) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.attempts++
	if c.fail != nil {
		if err := c.fail(o, c.attempts); err != nil {
			return err
		}
	}
	c.got[o.To] = append(c.got[o.To], o)
	c.sent <- o
	return nil
}

func (c *chat) lines(to string) []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	var all []string
	for _, o := range c.got[to] {
		all = append(all, o.Lines...)
	}
	return all
}

// await waits until n messages were sent in all.
func (c *chat) await(t testing.TB, n int) {
	t.Helper()
	for range n {
		select {
		case <-c.sent:
		case <-time.After(30 * time.Second):
			require.Fail(t, "nothing more is sent")
		}
	}
}

func openStore(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(path, store.Options{Now: time.Now})
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, s.Close()) })
	return s
}

func config(s *store.Store, c turns.Sender) turns.Config {
	return turns.Config{
		Store: s, Engine: echo{}, Sender: c, Now: time.Now, After: time.After,
		Jitter: func() float64 { return 0.5 }, Log: slog.New(slog.DiscardHandler),
		Case: func(st *conversation.State) (json.RawMessage, error) {
			return json.Marshal(map[string]any{"turns": st.Turn})
		},
		Announce: "volunteers", Excuse: []string{"sorry"},
	}
}

func newRunner(t testing.TB, c turns.Config) *turns.Runner {
	t.Helper()
	r, err := turns.New(c)
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, r.Close(context.Background())) })
	return r
}

// setUp is a runner on a fresh store.
func setUp(t testing.TB, change ...func(*turns.Config)) (*turns.Runner, *chat, *store.Store) {
	t.Helper()
	s, c := openStore(t, filepath.Join(t.TempDir(), "triagebot.db")), newChat()
	conf := config(s, c)
	for _, fn := range change {
		fn(&conf)
	}
	return newRunner(t, conf), c, s
}
