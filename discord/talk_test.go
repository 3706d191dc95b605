package discord_test

import (
	"bytes"
	"fmt"
	"image/png"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/discord"
	"triagebot/tests/fakeplatform"
)

const complaint = "my sorrel-60: throttle does nothing, display is on"

// A mention opens a private thread; the owner answers there by button and in
// words, and a question that is measured comes with its picture.
func TestTalkInThread(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th := c.talk(complaint)
	pointer := c.await(c.help, 1)
	assert.Contains(t, pointer[0].Content, "<#"+th+">")
	assert.Contains(t, c.p.ThreadName(th), "ada")

	list := c.await(th, 1)
	assert.Contains(t, list[0].Content, "Kit: Sorrel 60 moped.")
	message, id := c.find(list, "Why?")
	require.Equal(t, 6, c.answered(c.p.Press(c.owner, message, id)).Kind)
	list = c.await(th, 2)
	assert.Contains(t, list[1].Content, "then I would suspect")

	message, id = c.find(list, "all clear")
	c.p.Press(c.owner, message, id)
	list = c.await(th, 3)
	require.True(t, c.p.Wait(patient, func() bool { return strings.Contains(c.p.FromBot(th)[1].Content, "→ none of these, all clear") }), "what was pressed is not shown")
	assert.Empty(t, c.p.FromBot(th)[1].Buttons(), "the buttons of an answered question stay")

	for n := 4; len(list[len(list)-1].Attachments) == 0; n++ {
		require.Less(t, n, 12, "no measurement comes")
		message, id = c.find(list, "How?")
		c.p.Press(c.owner, message, id)
		list = c.await(th, n)
		if a := list[n-1].Attachments; len(a) > 0 {
			break
		}
		n++
		message, id = c.find(list, "I can't")
		c.p.Press(c.owner, message, id)
		list = c.await(th, n)
	}
	a := list[len(list)-1].Attachments[0]
	assert.Equal(t, "image/png", a.Kind)
	assert.NotEmpty(t, a.Description)
	_, err := png.Decode(bytes.NewReader(c.p.Data(a)))
	require.NoError(t, err)
}

// The slash command does the same, is acknowledged in time, and only who used it
// sees the answer.
func TestCommand(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.Commands()) == 1 }))
	i := c.p.Command(c.owner, c.help, "fault", map[string]string{"what": complaint})
	th := c.thread(c.owner, 1)
	assert.Contains(t, c.await(th, 1)[0].Content, "Sorrel")
	got := c.answered(i)
	assert.Equal(t, 5, got.Kind)
	require.NotNil(t, got.Reply, "everybody sees the answer")
	assert.Contains(t, got.Reply.Content, "<#"+th+">")
	assert.Less(t, got.Took.Seconds(), 3.0)
	assert.Empty(t, c.p.FromBot(c.help))

	// Without words it greets; in the thread it adds to the talk.
	c.p.Command(c.owner, c.help, "fault", nil)
	second := c.thread(c.owner, 2)
	assert.Contains(t, c.await(second, 1)[0].Content, "Tell me what")
	c.p.Command(c.owner, second, "fault", map[string]string{"what": complaint})
	assert.Contains(t, c.await(second, 2)[1].Content, "Sorrel")

	// No more than three at a time.
	c.p.Command(c.owner, c.help, "fault", nil)
	c.await(c.thread(c.owner, 3), 1)
	full := c.answered(c.p.Command(c.owner, c.help, "fault", nil))
	assert.Contains(t, full.Reply.Content, "3 talks")
	assert.Len(t, c.p.Threads(c.help, c.owner), 3)
}

// Where no thread may be opened the talk goes on by direct message.
func TestNoThreadsAllowed(t *testing.T) {
	c := newCommunity(t)
	c.p.Deny(c.help, fakeplatform.CreatePrivateThreads)
	c.start(settings{})
	c.p.Post(c.owner, c.help, c.call(complaint))
	dm := c.p.Direct(c.owner)
	list := c.await(dm, 2)
	assert.Contains(t, list[0].Content, "You called me")
	assert.Contains(t, list[1].Content, "Sorrel")
	assert.Contains(t, c.await(c.help, 1)[0].Content, "direct message")
	for id := range list[1].Buttons() {
		assert.NotContains(t, id, "t1|w|", "in a direct message everything can be read")
	}
	c.p.Post(c.owner, dm, "none of these, all clear")
	c.await(dm, 3)
}

// Where direct messages are closed as well the owner may talk where they asked.
func TestNoDoorOpen(t *testing.T) {
	c := newCommunity(t)
	c.p.Deny(c.help, fakeplatform.CreatePrivateThreads)
	c.p.CloseDirectMessages(c.owner)
	c.start(settings{})
	c.p.Post(c.owner, c.help, c.call(complaint))
	list := c.await(c.help, 1)
	message, id := c.find(list, "Talk here")
	c.answered(c.p.Press(c.owner, message, id))
	list = c.await(c.help, 2)
	assert.Contains(t, list[1].Content, "Tell me what")
	c.p.Post(c.owner, c.help, "people among themselves")
	c.p.Post(c.owner, c.help, c.call(complaint))
	list = c.await(c.help, 3)
	assert.Contains(t, list[2].Content, "Sorrel")
	c.p.Reply(c.owner, list[2].ID, "none of these, all clear")
	c.await(c.help, 4)
	assert.Len(t, c.p.FromBot(c.help), 4, "what people say among themselves is not answered")
}

// Direct messages need nothing else.
func TestDirectMessage(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint)
	assert.Contains(t, c.await(dm, 1)[0].Content, "Sorrel")
	c.p.Post(c.owner, dm, "none of these, all clear")
	c.await(dm, 2)
}

// Without the intent for content a message in a thread comes empty. The owner is
// told why, and there are ways that work: mention, reply, buttons, a form.
func TestWithoutContent(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th := c.talk(complaint)
	c.p.Post(c.owner, th, "none of these, all clear")
	list := c.await(th, 2)
	assert.Contains(t, list[1].Content, "reached me empty")
	assert.Contains(t, list[1].Content, c.p.BotID())

	c.p.Reply(c.owner, list[0].ID, "none of these, all clear")
	list = c.await(th, 3)
	message, id := c.find(list, "Write the answer")
	form := c.answered(c.p.Press(c.owner, message, id))
	require.Equal(t, 9, form.Kind)
	c.answered(c.p.Submit(c.owner, form.ID, map[string]string{"text": "I can't do that"}))
	c.await(th, 4)
	c.p.Post(c.owner, th, c.call("why?"))
	c.await(th, 5)
}

// With the intent what is written in the thread is read.
func TestWithContent(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{discord: func(d *discord.Config) { d.Content = true }})
	th := c.talk(complaint)
	c.p.Post(c.owner, th, "none of these, all clear")
	list := c.await(th, 2)
	assert.NotContains(t, list[1].Content, "empty")
	for _, m := range list {
		for id := range m.Buttons() {
			assert.NotContains(t, id, "t1|w|")
		}
	}
}

// Once somebody has the case, what the owner writes to them in the thread is not
// answered by the bot.
func TestPeopleAmongThemselves(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th, _ := c.handedOver()
	c.press(c.volunteers[0], "I take this one", c.p.FromBot(c.crew))
	n := len(c.await(th, 3))
	c.p.Post(c.volunteers[0], th, "hello, I am bo")
	c.p.Post(c.owner, th, "hello bo")
	discord.Idle(c.chat)
	c.p.Post(c.owner, th, c.call("I want a person"))
	discord.Idle(c.chat)
	for _, m := range c.p.FromBot(th)[n:] {
		assert.NotContains(t, m.Content, "empty")
	}
}

// An old button says so; somebody else's are not theirs.
func TestButtonsOfAnsweredQuestions(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	th := c.talk(complaint)
	list := c.await(th, 1)
	message, id := c.find(list, "all clear")
	_, other := c.find(list, "side-stand is down")
	c.p.Press(c.owner, message, id)
	c.await(th, 2)
	late := c.p.Press(c.owner, message, other)
	require.True(t, c.p.Wait(patient, func() bool {
		r := c.p.Interaction(late).Reply
		return r != nil && strings.Contains(r.Content, "has been answered")
	}), "%s", c.log)
	stranger := c.p.Press(c.volunteers[0], message, other)
	require.True(t, c.p.Wait(patient, func() bool {
		r := c.p.Interaction(stranger).Reply
		return r != nil && strings.Contains(r.Content, "for whoever")
	}))
	assert.Len(t, c.p.FromBot(th), 2)
}

// Nobody is alerted by what owners have the bot say, and buttons in a former
// run's messages work.
func TestNobodyIsPinged(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	hostile := "@everyone @here <@" + c.volunteers[0] + "> <@&" + c.role + "> [x](http://evil.example) **bold** my sorrel-60 smokes, I want a person"
	c.p.Post(c.owner, c.help, c.call(hostile))
	th := c.thread(c.owner, 1)
	c.await(th, 1)
	post := c.await(c.crew, 1)
	assert.NotContains(t, post[0].Content, "**bold**")
	for _, ch := range []string{c.help, c.crew, th} {
		for _, m := range c.p.FromBot(ch) {
			assert.Empty(t, c.p.Pinged(m.ID), m.Content)
		}
	}
	c.close()
	c.start(settings{})
	message, id := c.find(post, "I take this one")
	assert.Contains(t, c.answered(c.p.Press(c.volunteers[0], message, id)).Reply.Content, "yours")
}

// Long texts come in parts of the platform's size, cut where sentences end.
func TestLongText(t *testing.T) {
	var lines []string
	for i := range 60 {
		lines = append(lines, fmt.Sprintf("Line %d reads 4.8 V here. It is one of many. And so on.", i))
	}
	lines = append(lines, strings.Repeat("One long sentence after the other. ", 150))
	for _, parts := range [][]string{discord.Split(lines, 1900), discord.Split([]string{strings.Repeat("é", 5000)}, 1900), discord.Split([]string{strings.Repeat("😀 ", 3000)}, 1900)} {
		require.Greater(t, len(parts), 1)
		for _, p := range parts {
			assert.LessOrEqual(t, discord.Size(p), 1900)
			assert.NotEmpty(t, strings.TrimSpace(p))
		}
	}
	parts := discord.Split(lines, 1900)
	for _, p := range parts[:len(parts)-1] {
		assert.True(t, strings.HasSuffix(p, "."), "cut inside a sentence: %q", p[len(p)-40:])
	}
	assert.Equal(t, strings.Join(strings.Fields(strings.Join(lines, " ")), " "), strings.Join(strings.Fields(strings.Join(parts, " ")), " "), "nothing is lost")
	fenced := discord.Split([]string{"before", "  ┌──┐", "  └──┘", "after"}, 1900)
	assert.Equal(t, []string{"before\n```\n  ┌──┐\n  └──┘\n```\nafter"}, fenced)
}
