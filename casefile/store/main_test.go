package store_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"go.uber.org/goleak"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

func TestMain(m *testing.M) {
	if child := os.Getenv("TRIAGEBOT_STORE_CHILD"); child != "" {
		os.Exit(runChild(child))
	}
	goleak.VerifyTestMain(m)
}

var start = time.Date(2026, 3, 2, 14, 0, 0, 0, time.UTC)

func options() store.Options { return store.Options{Now: func() time.Time { return start }} }

// newStore opens a store whose file is checked whole after the test, by us and
// by bbolt.
func newStore(t testing.TB) *store.Store {
	t.Helper()
	return openStore(t, filepath.Join(t.TempDir(), "triagebot.db"))
}

func openStore(t testing.TB, path string) *store.Store {
	t.Helper()
	s, err := store.Open(path, options())
	require.NoError(t, err)
	t.Cleanup(func() {
		require.NoError(t, s.Close())
		_, err := store.Verify(path)
		assert.NoError(t, err)
	})
	return s
}

func said(text string, more ...conversation.Event) []conversation.Event {
	return append([]conversation.Event{{Kind: conversation.OwnerSaid, Time: start, Text: text}}, more...)
}

// turn is the n-th turn of a conversation, with an answer.
func turn(talk, owner string, n int) store.Turn {
	return store.Turn{
		Conversation: talk, Owner: owner, Message: fmt.Sprintf("%s-m%d", talk, n), Base: uint64(n),
		Time: start.Add(time.Duration(n) * time.Minute), Kit: "sorrel-60", Phase: conversation.Asking,
		Events:   said(fmt.Sprintf("words %d of %s", n, owner)),
		Outgoing: []store.Outgoing{{To: talk, Kind: store.KindTurn, Lines: []string{fmt.Sprintf("answer %d", n)}}},
	}
}

func handOver(t store.Turn) store.Turn {
	t.Phase = conversation.Over
	t.HandOver = &store.HandOver{
		Reason: conversation.ReasonPerson, Announce: "volunteers", Anew: true,
		Document: json.RawMessage(fmt.Sprintf(`{"transcript":%q}`, t.Events[0].Text)),
	}
	return t
}

func commit(t testing.TB, s *store.Store, turn store.Turn) store.Committed {
	t.Helper()
	done, err := s.Commit(context.Background(), turn)
	require.NoError(t, err)
	return done
}

// fill puts conversations of some turns into a store; every third is handed over.
func fill(t testing.TB, s *store.Store, talks, turns int) {
	t.Helper()
	for i := range talks {
		for n := range turns {
			x := turn(fmt.Sprintf("talk-%d", i), fmt.Sprintf("owner-%d", i), n)
			if i%3 == 0 && n == turns-1 {
				x = handOver(x)
			}
			commit(t, s, x)
		}
	}
}

func records(t testing.TB, s *store.Store) map[string]string {
	t.Helper()
	all, err := s.Records()
	require.NoError(t, err)
	return all
}

func outbox(t testing.TB, s *store.Store) []store.Outgoing {
	t.Helper()
	list, err := s.Outbox(0, 1000)
	require.NoError(t, err)
	return list
}

// runChild is the other process of a test.
func runChild(what string) int {
	s, err := store.Open(os.Getenv("TRIAGEBOT_STORE_PATH"), options())
	if err != nil {
		fmt.Println(err)
		return 1
	}
	defer s.Close()
	if what == "fill" {
		return fillUp(s)
	}
	return 0
}

// fillUp takes turns until the file may not grow, then has the limit lifted.
func fillUp(s *store.Store) int {
	var old syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_FSIZE, &old); err != nil {
		fmt.Println(err)
		return 1
	}
	limit := func(n uint64) { _ = syscall.Setrlimit(syscall.RLIMIT_FSIZE, &syscall.Rlimit{Cur: n, Max: old.Max}) }
	limit(6 << 20)
	kept := 0
	for ; kept < 100_000; kept++ {
		x := turn("talk", "ada", kept)
		x.Events[0].Text = strings.Repeat("more words ", 200)
		if _, err := s.Commit(context.Background(), x); err != nil {
			if !errors.Is(err, store.ErrFull) {
				fmt.Println(err)
				return 1
			}
			break
		}
	}
	if _, _, err := s.Conversation("talk"); err != nil {
		fmt.Println("reading with the disk full:", err)
		return 1
	}
	limit(old.Cur)
	if _, err := s.Commit(context.Background(), turn("talk", "ada", kept)); err != nil {
		fmt.Println("with room again:", err)
		return 1
	}
	fmt.Printf("kept %d then full\n", kept+1)
	return 0
}
