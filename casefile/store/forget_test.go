package store_test

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

const secret = "Zqwxv the blue moped behind the bakery"

// told has an owner speak, be answered with their own words, and be handed over.
func told(t *testing.T, s *store.Store, talk, owner string) {
	t.Helper()
	x := turn(talk, owner, 0)
	x.Events = said(secret, conversation.Event{Kind: conversation.BotSaid, Time: start, Lines: []string{"You say: " + secret}})
	x.Outgoing[0].Lines = []string{"You say: " + secret}
	commit(t, s, x)
	y := handOver(turn(talk, owner, 1))
	y.HandOver.Document = []byte(`{"transcript":["` + secret + `"]}`)
	done := commit(t, s, y)
	note := act("vera", store.DeedNote)
	note.Text = "says: " + secret
	_, _, err := s.Act(t.Context(), done.Case, note, store.Outgoing{To: "volunteers", Kind: store.KindNotice, Lines: []string{secret}})
	require.NoError(t, err)
}

// files is all bytes of all files of the store.
func files(t *testing.T, path string) []byte {
	t.Helper()
	list, err := filepath.Glob(filepath.Dir(path) + "/*")
	require.NoError(t, err)
	var all []byte
	for _, name := range list {
		data, err := os.ReadFile(name)
		require.NoError(t, err)
		all = append(all, data...)
	}
	return all
}

func TestForgetLeavesNoByte(t *testing.T) {
	s := newStore(t)
	fill(t, s, 20, 3)
	told(t, s, "talk-ada", "ada@saltmarsh")
	told(t, s, "talk-ada-2", "ada@saltmarsh")
	told(t, s, "talk-bo", "bo@saltmarsh")
	bytes0 := files(t, s.Path())
	require.Contains(t, string(bytes0), "Zqwxv")
	require.Contains(t, string(bytes0), "ada@saltmarsh")

	e, err := s.Forget(t.Context(), "bo@saltmarsh")
	require.NoError(t, err)
	require.Equal(t, 1, e.Conversations)
	e, err = s.Forget(t.Context(), "ada@saltmarsh")
	require.NoError(t, err)
	assert.Equal(t, store.Erased{Conversations: 2, Cases: 2, Outgoing: 8}, e)

	left := files(t, s.Path())
	for _, word := range append(strings.Fields(secret), "ada@saltmarsh", "bo@saltmarsh", "talk-ada", "talk-bo") {
		if len(word) < 4 && word != "Zqwxv" {
			continue // "the" is a word of others as well
		}
		want := 0
		if word == "talk-ada" || word == "talk-bo" {
			want = bytes.Count(left, []byte(word+"-m")) + bytes.Count(left, []byte(word+"-2-m")) // ids of messages, which the chat gave
		}
		assert.Equal(t, want, bytes.Count(left, []byte(word)), "%q is still in the files", word)
	}
	assert.Contains(t, string(left), "words 2 of owner-7", "what others said stays")
	_, events, err := s.Conversation("talk-ada")
	require.NoError(t, err)
	assert.Empty(t, events)
	counts, err := s.Counts()
	require.NoError(t, err)
	assert.Equal(t, uint64(3), counts["talk/sorrel-60/handed-over"])

	again := turn("talk-ada", "ada@saltmarsh", 0)
	_, err = s.Commit(t.Context(), again)
	require.ErrorIs(t, err, store.ErrSeen, "what was answered once is not answered again")
}

// The process is stopped after the words were erased and before the file was
// written anew: opening the store does it.
func TestForgetCutOff(t *testing.T) {
	s := newStore(t)
	fill(t, s, 5, 2)
	told(t, s, "talk-ada", "ada@saltmarsh")
	inTheWay := filepath.Join(s.Path()+".new", "x")
	require.NoError(t, os.MkdirAll(inTheWay, 0o700))
	_, err := s.Forget(t.Context(), "ada@saltmarsh")
	require.Error(t, err)
	require.NoError(t, s.Close())
	data, err := os.ReadFile(s.Path())
	require.NoError(t, err)
	require.Contains(t, string(data), "Zqwxv")
	require.NoError(t, os.RemoveAll(filepath.Dir(inTheWay)))

	again := openStore(t, s.Path())
	assert.NotContains(t, string(files(t, s.Path())), "Zqwxv")
	assert.NotContains(t, string(files(t, s.Path())), "ada@saltmarsh")
	_, events, err := again.Conversation("talk-2")
	require.NoError(t, err)
	assert.Len(t, events, 2)
}

func TestForgetAVolunteer(t *testing.T) {
	s := newStore(t)
	commit(t, s, handOver(turn("talk", "ada", 0)))
	do(t, s, act("vera", store.DeedTake))
	e, err := s.Forget(t.Context(), "vera")
	require.NoError(t, err)
	assert.Equal(t, store.Erased{Mentions: 2}, e)
	c, _, err := s.Case(1)
	require.NoError(t, err)
	assert.Equal(t, store.Taken, c.State)
	assert.NotContains(t, string(files(t, s.Path())), "vera")
	e, err = s.Forget(t.Context(), "nobody")
	require.NoError(t, err)
	assert.Zero(t, e)
}

func TestExpire(t *testing.T) {
	path := filepath.Join(t.TempDir(), "triagebot.db")
	now := start
	s, err := store.Open(path, store.Options{Now: func() time.Time { return now }})
	require.NoError(t, err)
	defer s.Close()
	commit(t, s, turn("old", "ada", 0))
	commit(t, s, handOver(turn("open-case", "ada", 0)))
	commit(t, s, handOver(turn("closed-case", "bo", 0)))
	_, _, err = s.Act(t.Context(), 2, act("vera", store.DeedTake))
	require.NoError(t, err)
	_, _, err = s.Act(t.Context(), 2, closing("vera"))
	require.NoError(t, err)
	now = start.AddDate(0, 0, 29)
	young := turn("young", "ada", 0)
	young.Time = now
	commit(t, s, young)

	e, err := s.Expire(t.Context(), 30)
	require.NoError(t, err)
	assert.Zero(t, e, "nothing is 30 days old")
	now = start.AddDate(0, 0, 31)
	e, err = s.Expire(t.Context(), 30)
	require.NoError(t, err)
	assert.Equal(t, store.Erased{Conversations: 2, Cases: 1, Outgoing: 3}, e)
	ids, _, err := s.Talks("", 10)
	require.NoError(t, err)
	assert.Equal(t, []string{"open-case", "young"}, ids)
	assert.NotContains(t, string(files(t, path)), "of bo")
	e, err = s.Forget(t.Context(), "ada")
	require.NoError(t, err)
	assert.Equal(t, 2, e.Conversations, "the rest is still found by its owner")
	_, err = s.Expire(t.Context(), 0)
	assert.Error(t, err)
}

// Compaction gives room back, and the store works on during and after it.
func TestCompact(t *testing.T) {
	s := newStore(t)
	fill(t, s, 50, 20)
	before := records(t, s)
	_, err := s.Forget(t.Context(), "owner-1")
	require.NoError(t, err)
	require.NoError(t, s.Compact(t.Context()))
	after := records(t, s)
	assert.Less(t, len(after), len(before))
	for k, v := range after {
		if old, ok := before[k]; ok && k != "meta\x00head" {
			assert.Equal(t, old, v)
		}
	}
	assert.Empty(t, s.BoltCheck())
	commit(t, s, turn("fresh", "ada", 0))
}
