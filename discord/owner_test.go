package discord_test

import (
	"bytes"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/discord"
	"triagebot/tests/fakeplatform"
)

func photo(n int) fakeplatform.Upload {
	return fakeplatform.Upload{Name: "plug.jpg", Kind: "image/jpeg", Data: bytes.Repeat([]byte{0xff, 0xd8, 7}, n/3)}
}

// state is a talk as the store has it.
func (c *community) state(where string) *conversation.State {
	c.t.Helper()
	_, events, err := c.store.Conversation(where)
	require.NoError(c.t, err)
	return conversation.Replay(events)
}

// Photos are kept with their bytes, within a size; what is not kept is said.
func TestPhotos(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{discord: func(d *discord.Config) { d.Photo, d.Photos = 1<<20, 2 }})
	dm := c.p.Direct(c.owner)
	where := "discord:d/" + dm
	c.p.Post(c.owner, dm, "", photo(3000)) // the first message of all
	list := c.await(dm, 2)
	assert.Contains(t, list[0].Content, "Tell me what")
	assert.Contains(t, list[1].Content, "put your picture with the case")

	c.p.Post(c.owner, dm, complaint, photo(6000), fakeplatform.Upload{Name: "log.txt", Kind: "text/plain", Data: []byte("x")})
	list = c.await(dm, 4)
	assert.Contains(t, list[2].Content, "Sorrel")
	assert.Contains(t, list[3].Content, "pictures only")
	kept, err := c.store.Photos(where)
	require.NoError(t, err)
	require.Len(t, kept, 2)
	p, data, ok, err := c.store.PhotoData(where, kept[1].ID)
	require.NoError(t, err)
	require.True(t, ok)
	assert.Equal(t, photo(6000).Data, data)
	assert.Equal(t, "image/jpeg", p.Kind)

	c.p.Post(c.owner, dm, "", photo(2<<20)) // too large
	assert.Contains(t, c.await(dm, 5)[4].Content, "more than I can keep")
	c.p.Post(c.owner, dm, "", photo(300)) // a third
	assert.Contains(t, c.await(dm, 6)[5].Content, "more than I can keep")
	kept, err = c.store.Photos(where)
	require.NoError(t, err)
	assert.Len(t, kept, 2)
	assert.Len(t, c.state(where).Complaint, 1, "a photo is no complaint")
}

// A link that has expired is told of.
func TestPhotoGone(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint)
	c.await(dm, 1)
	c.p.Hold()
	m := c.p.Post(c.owner, dm, "", photo(300))
	c.p.Expire(m.Attachments[0].ID)
	c.p.Release(false)
	assert.Contains(t, c.await(dm, 2)[1].Content, "could not fetch")
}

// An edit is a correction of what the message said; an update that edits nothing
// is none.
func TestEdit(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	where := "discord:d/" + dm
	c.p.Post(c.owner, dm, complaint)
	c.await(dm, 1)
	m := c.p.Post(c.owner, dm, "none of these, all clear")
	c.await(dm, 2)
	before, ok := c.state(where).Answer("look-inhibits")
	require.True(t, ok)
	require.Equal(t, "clear", before.Option)

	c.p.Unfurl(m.ID)
	c.p.Edit(m.ID, "none of these,  all clear") // the same words
	c.p.Edit(m.ID, "the side-stand is down")
	list := c.await(dm, 3)
	assert.Contains(t, list[2].Content, "Corrected")
	after, _ := c.state(where).Answer("look-inhibits")
	assert.Equal(t, "stand-down", after.Option)
	c.p.Edit(m.ID, "none of these, all clear")
	c.await(dm, 4)
	again, _ := c.state(where).Answer("look-inhibits")
	assert.Equal(t, "clear", again.Option)
	assert.Len(t, c.p.FromBot(dm), 4)
}

// An edit of a message that came empty is that message.
func TestEditOfWhatCameEmpty(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th := c.talk(complaint)
	m := c.p.Post(c.owner, th, "none of these, all clear")
	c.await(th, 2)
	c.p.Edit(m.ID, c.call("none of these, all clear"))
	c.await(th, 3)
	got, ok := c.state("discord:t/" + th).Answer("look-inhibits")
	require.True(t, ok)
	assert.Equal(t, "clear", got.Option)
}

// The words and photos of a deleted message go from talk and case; what was
// understood stays; once the file is written anew no byte of them is in it.
func TestDelete(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	where := "discord:d/" + dm
	first := c.p.Post(c.owner, dm, complaint+" and zibberwock street is where I live", photo(300))
	c.await(dm, 2)
	c.p.Post(c.owner, dm, "I want a person")
	c.await(dm, 3)
	c.await(c.crew, 1)
	talk, _, err := c.store.Talk(where)
	require.NoError(t, err)
	_, document, err := c.store.Case(talk.Case)
	require.NoError(t, err)
	require.Contains(t, string(document), "zibberwock")

	c.p.Delete(first.ID)
	assert.Contains(t, c.await(dm, 4)[3].Content, "its words are gone")
	st := c.state(where)
	assert.Equal(t, []string{turns.TakenBack}, st.Complaint[:1])
	assert.Equal(t, "sorrel-60", st.Kit)
	assert.NotEmpty(t, st.Symptoms, "what was understood stays")
	_, document, err = c.store.Case(talk.Case)
	require.NoError(t, err)
	assert.NotContains(t, string(document), "zibberwock")
	kept, err := c.store.Photos(where)
	require.NoError(t, err)
	assert.Empty(t, kept)
	require.True(t, c.p.Wait(patient, func() bool { return !strings.Contains(c.p.FromBot(c.crew)[0].Content, "zibberwock") }), "the volunteers' post still has them")

	c.close()
	c.start(settings{}) // opening writes the file anew
	c.close()
	data, err := os.ReadFile(c.path)
	require.NoError(t, err)
	assert.NotContains(t, string(data), "zibberwock")
}

// A message that is deleted before it was worked on is never taken.
func TestDeletedAtOnce(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	c.p.Hold()
	m := c.p.Post(c.owner, dm, complaint)
	c.p.Delete(m.ID)
	c.p.Release(true)
	c.p.Post(c.owner, dm, "my sorrel-60 display is dead")
	c.await(dm, 1)
	assert.Len(t, c.state("discord:d/"+dm).Complaint, 1)
}

// Who writes too much is told so, once, and what was too much is not taken.
func TestTooMuch(t *testing.T) {
	c := newCommunity(t)
	s := settings{limits: generous}
	s.limits.OwnerEvery, s.limits.OwnerBurst, s.limits.Message = 1<<40, 2, 100
	c.start(s)
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint)
	c.await(dm, 1)
	c.p.Post(c.owner, dm, strings.Repeat("long ", 30))
	assert.Contains(t, c.await(dm, 2)[1].Content, "longer than I can read")
	for range 6 {
		c.p.Post(c.owner, dm, "none of these, all clear")
	}
	require.True(t, c.p.Wait(patient, func() bool { return c.chat.Status().Refused >= 6 }), "%s", c.log)
	discord.Idle(c.chat)
	told := 0
	for _, m := range c.p.FromBot(dm) {
		if strings.Contains(m.Content, "more at once than I can answer") {
			told++
		}
	}
	assert.Equal(t, 1, told, "the limit is told once")
}

// What an owner wrote is in no line of the log, whatever goes wrong.
func TestLogHasNoWords(t *testing.T) {
	c := newCommunity(t)
	c.p.OnRequest(func(r fakeplatform.Request) *fakeplatform.Answer {
		if r.Method == "POST" && strings.HasSuffix(r.Path, "/messages") && bytes.Contains(r.Body, []byte("zibberwock")) {
			return &fakeplatform.Answer{Status: 400, Body: map[string]any{"code": 50035, "message": "zibberwock"}}
		}
		return nil
	})
	c.start(settings{discord: func(d *discord.Config) { d.Log = d.Log.With("level", "all") }})
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint+" zibberwock")
	c.await(dm, 1)
	c.p.Post(c.owner, dm, "zibberwock, I want a person")
	require.True(t, c.p.Wait(patient, func() bool { return strings.Contains(c.log.String(), "refused for good") }))
	for _, word := range []string{"zibberwock", "throttle", "ada", fakeplatform.Token} {
		assert.NotContains(t, c.log.String(), word)
	}
}
