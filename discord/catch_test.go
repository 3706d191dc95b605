package discord_test

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/discord"
	"triagebot/tests/fakeplatform"
)

// On the first start nothing that was written before is answered.
func TestFirstStart(t *testing.T) {
	c := newCommunity(t)
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint)
	c.p.Post(c.owner, c.help, c.call(complaint))
	c.start(settings{})
	second := c.p.Post(c.owner, dm, complaint)
	assert.Equal(t, second.ID, c.await(dm, 1)[0].ReplyTo)
	discord.Idle(c.chat)
	assert.Empty(t, c.p.Threads(c.help, c.owner))
	assert.Empty(t, c.p.FromBot(c.help))
}

// What came while the bot was away is answered on its start, in order and before
// what comes live: in direct messages, in threads, and calls in channels.
func TestAway(t *testing.T) {
	x := newChatter(t)
	th := x.talk(complaint)
	x.close()
	x.say(130) // more than a page
	missed := x.p.Post(x.owner, th, x.call("none of these, all clear"))
	bea := x.p.User("bea")
	x.p.Post(bea, x.help, "people among themselves")
	x.p.Post(bea, x.help, x.call(complaint))
	x.p.Hold()
	x.start(settings{})
	x.say(3)
	x.p.Release(false)
	x.settled()
	assert.Equal(t, missed.ID, x.await(th, 2)[1].ReplyTo)
	require.True(t, x.p.Wait(patient, func() bool { return len(x.p.Threads(x.help, bea)) == 1 }))
	x.await(x.p.Threads(x.help, bea)[0], 1)
	discord.Idle(x.chat)
	assert.Len(t, x.p.FromBot(th), 2)
	assert.Len(t, x.p.Threads(x.help, bea), 1)

	// A start after nothing happened answers nothing.
	x.close()
	x.start(settings{})
	x.say(1)
	x.settled()
	discord.Idle(x.chat)
	assert.Len(t, x.p.Threads(x.help, bea), 1)
	assert.Len(t, x.p.FromBot(x.p.Threads(x.help, bea)[0]), 1)
}

// What is fetched is capped.
func TestAwayIsCapped(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	c.p.Post(c.owner, dm, complaint)
	c.await(dm, 1)
	c.close()
	for i := range 700 {
		c.p.Post(c.owner, dm, fmt.Sprintf("%s, number %d", complaint, i))
	}
	c.start(settings{})
	c.p.Post(c.owner, dm, complaint)
	c.await(dm, 500)
	discord.Idle(c.chat)
	assert.LessOrEqual(t, c.p.Requests("GET /channels/{c}/messages"), 12)
}

// A channel that mentions are not to be read again in is left alone.
func TestAwayInOtherChannels(t *testing.T) {
	c := newCommunity(t)
	other := c.p.Channel(c.guild, "other")
	s := settings{discord: func(d *discord.Config) { d.Channels = []string{c.help} }}
	c.start(s)
	c.close()
	c.p.Post(c.owner, other, c.call(complaint))
	c.p.Post(c.volunteers[0], c.help, c.call(complaint))
	c.start(s)
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.Threads(c.help, c.volunteers[0])) == 1 }))
	discord.Idle(c.chat)
	assert.Empty(t, c.p.Threads(other, c.owner))
}

// More than fits into memory is fetched once there is room again.
func TestOverflow(t *testing.T) {
	c := newCommunity(t)
	blocked := make(chan struct{})
	c.start(settings{discord: func(d *discord.Config) { d.Waiting, d.Workers = 10, 1 }, limits: desk.Limits{OwnerEvery: 1, OwnerBurst: 1e6, ServerEvery: 1, ServerBurst: 1e6}})
	x := &chatter{community: c, dm: c.p.Direct(c.owner)}
	x.say(1)
	x.settled()
	c.p.OnRequest(func(r fakeplatform.Request) *fakeplatform.Answer {
		if r.Method == "POST" && r.Path == "/channels/"+c.help+"/threads" {
			<-blocked
		}
		return nil
	})
	bea := c.p.User("bea")
	c.p.Post(bea, c.help, c.call(complaint)) // the one worker is busy with it
	x.say(50)
	require.True(t, c.p.Wait(patient, func() bool { return c.chat.Status().Waiting == 10 }))
	close(blocked)
	x.settled()
	assert.GreaterOrEqual(t, c.p.Identifies(), 2)
}

// A thread that was made before a kill, or behind a lost answer, is used and not
// made again.
func TestThreadIsNotMadeTwice(t *testing.T) {
	c := newCommunity(t)
	lost := 2
	c.p.OnRequest(func(r fakeplatform.Request) *fakeplatform.Answer {
		if r.Method == "PUT" && lost > 0 {
			lost--
			return &fakeplatform.Answer{Status: 502, AfterWork: true}
		}
		return nil
	})
	c.start(settings{})
	c.p.Post(c.owner, c.help, c.call(complaint))
	require.True(t, c.p.Wait(patient, func() bool {
		list := c.p.Threads(c.help, c.owner)
		return len(list) > 0 && len(c.p.FromBot(list[0])) > 0
	}), "%s", c.log)
	assert.Len(t, c.p.Threads(c.help, c.owner), 1)
}
