package store_test

import (
	"bytes"
	"context"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
)

// say commits one message of "owner-TALK".
func say(t *testing.T, s *store.Store, talk, id, text string) {
	t.Helper()
	known, _, err := s.Talk(talk)
	require.NoError(t, err)
	x := store.Turn{Conversation: talk, Owner: "owner-" + talk, Message: id, Base: known.Turns, Time: start, Events: said(text)}
	_, err = s.Commit(context.Background(), x)
	require.NoError(t, err)
}

var picture = bytes.Repeat([]byte("\xff\xd8\nzibberwock"), 20_000) // many pages

// A photo is kept once, with a conversation that is there, and goes with it.
func TestPhotos(t *testing.T) {
	ctx := context.Background()
	s := newStore(t)
	require.ErrorIs(t, s.KeepPhoto(ctx, "a", store.Photo{ID: "1"}, picture), store.ErrNoTalk)
	require.Error(t, s.KeepPhoto(ctx, "a", store.Photo{}, picture))
	say(t, s, "a", "m1", "words")
	p := store.Photo{ID: "1", Message: "m1", Name: "plug.jpg", Kind: "image/jpeg", Kept: start}
	require.NoError(t, s.KeepPhoto(ctx, "a", p, picture))
	require.NoError(t, s.KeepPhoto(ctx, "a", store.Photo{ID: "1"}, []byte("other")))
	list, err := s.Photos("a")
	require.NoError(t, err)
	p.Size = len(picture)
	assert.Equal(t, []store.Photo{p}, list)
	got, data, ok, err := s.PhotoData("a", "1")
	require.NoError(t, err)
	assert.True(t, ok)
	assert.Equal(t, p, got)
	assert.Equal(t, picture, data)
	_, _, ok, err = s.PhotoData("a", "2")
	require.NoError(t, err)
	assert.False(t, ok)

	_, err = s.Forget(ctx, "owner-a")
	require.NoError(t, err)
	list, err = s.Photos("a")
	require.NoError(t, err)
	assert.Empty(t, list)
	path := s.Path()
	require.NoError(t, s.Close())
	_, err = store.Verify(path)
	require.NoError(t, err)
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(file), "zibberwock")
}

// Words that are taken back go from the turns given and from the document, and,
// once the file is written anew, from the file.
func TestRedact(t *testing.T) {
	ctx := context.Background()
	s := newStore(t)
	say(t, s, "a", "m1", "zibberwock words")
	say(t, s, "a", "m2", "other words")
	require.NoError(t, s.KeepPhoto(ctx, "a", store.Photo{ID: "1", Message: "m1"}, picture))
	require.NoError(t, s.KeepPhoto(ctx, "a", store.Photo{ID: "2", Message: "m2"}, []byte("kept")))
	talk, list, err := s.Turns("a")
	require.NoError(t, err)
	require.Len(t, list, 2)
	require.Equal(t, []string{"m1", "m2"}, []string{list[0].Message, list[1].Message})

	red := store.Redaction{Conversation: "a", Base: talk.Turns - 1, Turns: list[:1], Photos: func(m string) bool { return m == "m1" }}
	require.ErrorIs(t, s.Redact(ctx, red), store.ErrStale)
	red.Base = talk.Turns
	red.Turns[0].Events = []conversation.Event{{Kind: conversation.OwnerSaid, Time: start, Text: "gone"}}
	require.NoError(t, s.Redact(ctx, red))
	_, events, err := s.Conversation("a")
	require.NoError(t, err)
	st := conversation.Replay(events)
	assert.Equal(t, []string{"gone", "other words"}, st.Complaint)
	photos, err := s.Photos("a")
	require.NoError(t, err)
	require.Len(t, photos, 1)
	assert.Equal(t, "2", photos[0].ID)

	_, err = s.Expire(ctx, 10_000) // nothing is that old, and the words are still between the records
	require.NoError(t, err)
	path := s.Path()
	require.NoError(t, s.Close())
	file, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.NotContains(t, string(file), "zibberwock")
	assert.Contains(t, string(file), "other words")
}

// Settings can be listed and taken away; the talks of an owner are known.
func TestSettingsAndTalksOf(t *testing.T) {
	ctx := context.Background()
	s := newStore(t)
	require.NoError(t, s.Set(ctx, "x/1", "a"))
	require.NoError(t, s.Set(ctx, "x/2", "b"))
	require.NoError(t, s.Set(ctx, "y", "c"))
	got, err := s.Settings("x/")
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"x/1": "a", "x/2": "b"}, got)
	require.NoError(t, s.Unset(ctx, "x/1"))
	require.NoError(t, s.Unset(ctx, "x/1"))
	got, err = s.Settings("x/")
	require.NoError(t, err)
	assert.Equal(t, map[string]string{"x/2": "b"}, got)
	say(t, s, "a", "m1", "words")
	ids, err := s.TalksOf("owner-a")
	require.NoError(t, err)
	assert.Equal(t, []string{"a"}, ids)
}
