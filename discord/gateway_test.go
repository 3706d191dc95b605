package discord_test

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/discord"
)

// chatter has a talk by direct message in which every message is answered once,
// in order, whatever happens to the gateway.
type chatter struct {
	*community
	dm   string
	sent []string // ids of the owner's messages
}

func newChatter(t *testing.T, before ...func(*community)) *chatter {
	c := newCommunity(t)
	for _, fn := range before {
		fn(c)
	}
	c.start(settings{})
	x := &chatter{community: c, dm: c.p.Direct(c.owner)}
	x.say(1)
	x.settled()
	return x
}

// say writes n messages.
func (x *chatter) say(n int) {
	for range n {
		x.sent = append(x.sent, x.p.Post(x.owner, x.dm, fmt.Sprintf("%s, number %d", complaint, len(x.sent))).ID)
	}
}

// settled waits until all is answered, once and in order.
func (x *chatter) settled() {
	x.t.Helper()
	answered := func() []string {
		var ids []string
		for _, m := range x.p.FromBot(x.dm) {
			ids = append(ids, m.ReplyTo)
		}
		return ids
	}
	require.True(x.t, x.p.Wait(patient, func() bool { return len(answered()) >= len(x.sent) }), "%d of %d answered\n%s", len(answered()), len(x.sent), x.log)
	require.Equal(x.t, x.sent, answered())
}

// back waits until the bot is connected again, by as many resumes and new
// sessions as given in all.
func (x *chatter) back(resumes, identifies int) {
	x.t.Helper()
	require.True(x.t, x.p.Wait(patient, func() bool { return x.p.Sessions() == 1 && x.p.Resumes() >= resumes && x.p.Identifies() >= identifies }),
		"%d resumes, %d identifies\n%s", x.p.Resumes(), x.p.Identifies(), x.log)
	assert.Equal(x.t, []int{resumes, identifies}, []int{x.p.Resumes(), x.p.Identifies()})
}

// A broken connection and one that the platform wants renewed are resumed; what
// came in between is replayed, and what is replayed twice is taken once.
func TestResume(t *testing.T) {
	for name, cut := range map[string]func(x *chatter){
		"dropped":        func(x *chatter) { x.p.Drop() },
		"op 7":           func(x *chatter) { x.p.Reconnect() },
		"op 9 resumable": func(x *chatter) { x.p.Invalidate(true) },
		"closed 4000":    func(x *chatter) { x.p.CloseWith(4000) },
	} {
		t.Run(name, func(t *testing.T) {
			x := newChatter(t)
			x.p.ReplayMore(3)
			x.p.GatewayDown(true)
			cut(x)
			require.True(t, x.p.Wait(patient, func() bool { return x.p.Connections() == 0 }))
			x.say(5)
			x.p.GatewayDown(false)
			x.back(1, 1)
			x.say(2)
			x.settled()
		})
	}
}

// A session that is void begins anew, and what came in between is fetched over
// REST, before what comes live.
func TestSessionLost(t *testing.T) {
	for name, cut := range map[string]func(x *chatter){
		"op 9":        func(x *chatter) { x.p.Invalidate(false) },
		"forgotten":   func(x *chatter) { x.p.ForgetSessions(); x.p.Drop() },
		"closed 4009": func(x *chatter) { x.p.ForgetSessions(); x.p.CloseWith(4009) },
	} {
		t.Run(name, func(t *testing.T) {
			x := newChatter(t)
			th := x.talk(complaint)
			x.p.GatewayDown(true)
			cut(x)
			require.True(t, x.p.Wait(patient, func() bool { return x.p.Connections() == 0 }))
			x.say(5)
			missed := x.p.Post(x.owner, th, x.call("none of these, all clear"))
			x.p.Post(x.owner, x.help, x.call(complaint))
			x.p.GatewayDown(false)
			require.True(t, x.p.Wait(patient, func() bool { return x.p.Sessions() == 1 && x.p.Identifies() >= 2 }))
			x.say(3)
			x.settled()
			assert.Equal(t, missed.ID, x.await(th, 2)[1].ReplyTo)
			x.await(x.thread(x.owner, 2), 1)
			discord.Idle(x.chat)
			assert.Len(t, x.p.Threads(x.help, x.owner), 2)
		})
	}
}

// The gateway is gone for minutes by the bot's clock, and nothing is lost.
func TestGatewayDownForMinutes(t *testing.T) {
	x := newChatter(t)
	x.p.GatewayDown(true)
	x.p.ForgetSessions()
	x.p.Drop()
	for n := range 6 { // pauses of 1, 2, 4, 8, 16, 32 s by the bot's clock
		x.say(2)
		require.True(t, x.p.Wait(patient, func() bool { return x.p.Refused() > n }), "it gives up\n%s", x.log)
	}
	x.p.GatewayDown(false)
	x.settled()
}

// Twice the same and in the wrong order: each is answered once. Within one channel
// the order on arrival is all that there is.
func TestDuplicatesAndDisorder(t *testing.T) {
	x := newChatter(t)
	x.p.Duplicate(2)
	x.say(20)
	x.settled()
	x.p.Hold()
	x.say(10)
	x.p.Release(true)
	require.True(t, x.p.Wait(patient, func() bool { return len(x.p.FromBot(x.dm)) >= len(x.sent) }))
	discord.Idle(x.chat)
	answers := map[string]int{}
	for _, m := range x.p.FromBot(x.dm) {
		answers[m.ReplyTo]++
	}
	for _, id := range x.sent {
		assert.Equal(t, 1, answers[id])
	}
}

// A gateway that never says hello, and one that wants a reconnect where READY is
// due, do not hold the bot up for ever.
func TestOpenDoesNotHang(t *testing.T) {
	t.Run("no hello", func(t *testing.T) {
		x := newChatter(t, func(c *community) { c.p.NoHello(2) })
		assert.GreaterOrEqual(t, x.chat.Status().Lost, int64(2))
	})
	t.Run("op 7 instead of READY", func(t *testing.T) {
		x := newChatter(t, func(c *community) { c.p.ReconnectFirst(2) })
		assert.GreaterOrEqual(t, x.chat.Status().Lost, int64(2))
	})
	t.Run("op 9 instead of READY", func(t *testing.T) {
		x := newChatter(t)
		x.p.ForgetSessions()
		x.p.Drop()
		x.back(0, 2)
		x.say(2)
		x.settled()
	})
}

// A link on which nothing comes is given up within a minute or two by the bot's
// clock, without a goodbye, so that the session is resumed.
func TestSilentLink(t *testing.T) {
	x := newChatter(t, func(c *community) { c.p.Heartbeats(1_000_000) })
	require.True(t, x.p.Wait(patient, func() bool { return x.p.Resumes() >= 1 }), "%s", x.log)
	assert.Equal(t, 1, x.p.Identifies())
	x.say(2)
	x.settled()
}

// A heartbeat that the platform asks for is answered, in the middle of
// reconnects as well.
func TestHeartbeatOnDemand(t *testing.T) {
	x := newChatter(t, func(c *community) { c.p.Heartbeats(1_000_000) })
	n := x.p.Beats()
	x.p.AskHeartbeat()
	require.True(t, x.p.Wait(patient, func() bool { return x.p.Beats() > n }))
	for range 5 {
		x.p.AskHeartbeat()
		x.p.Reconnect()
		x.p.AskHeartbeat()
		require.True(t, x.p.Wait(patient, func() bool { return x.p.Connections() == 0 }))
		x.say(1)
		require.True(t, x.p.Wait(patient, func() bool { return x.p.Sessions() == 1 }))
	}
	x.settled()
}

// A refusal for good ends the bot with what to do about it, and is not repeated.
func TestFatalCloseCodes(t *testing.T) {
	for code, say := range map[int]string{4004: "token", 4011: "shards", 4013: "intents"} {
		t.Run(fmt.Sprint(code), func(t *testing.T) {
			c := newCommunity(t)
			c.p.CloseFirst(1, code)
			c.fails(say)
			assert.Equal(t, 1, c.p.Identifies())
		})
		t.Run(fmt.Sprint(code, " later"), func(t *testing.T) {
			x := newChatter(t)
			x.p.CloseWith(code)
			err := <-x.ended
			x.ended <- nil
			fatal := (*discord.FatalError)(nil)
			require.True(t, errors.As(err, &fatal), "%v", err)
			assert.Equal(t, code, fatal.Code)
			assert.Equal(t, 1, x.p.Identifies())
		})
	}
	t.Run("content not granted", func(t *testing.T) {
		c := newCommunity(t)
		c.p.BarContent()
		c.fails("message content", func(d *discord.Config) { d.Content = true })
	})
	t.Run("token unknown to REST", func(t *testing.T) {
		c := newCommunity(t)
		c.fails("token", func(d *discord.Config) { d.Token = "another" })
	})
}

// fails starts a bot that ends by itself.
func (c *community) fails(say string, change ...func(*discord.Config)) {
	c.t.Helper()
	s := settings{}
	if len(change) > 0 {
		s.discord = change[0]
	}
	h, err := startHouse(c.path, c.p.URL(), c.crew, c.role, logger(c.log), s)
	require.NoError(c.t, err)
	c.house = h
	h.run()
	select {
	case err = <-h.ended:
	case <-time.After(patient):
		require.Fail(c.t, "it goes on for ever")
	}
	h.ended <- nil
	fatal := (*discord.FatalError)(nil)
	require.True(c.t, errors.As(err, &fatal), "%v", err)
	assert.Contains(c.t, err.Error(), say)
}

// An event that discordgo cannot decode comes with nothing in it; here what is
// needed of it is read, and one that has nothing is left. Nothing panics.
func TestEmptyEvents(t *testing.T) {
	x := newChatter(t)
	x.p.Raw("MESSAGE_CREATE", fmt.Sprintf(`{"id":"%d","channel_id":%q,"author":{"id":%q,"username":"ada"},"type":0,"content":%q,
		"mentions":[],"attachments":[],"components":[{"type":20,"id":1,"x":{}}],"edited_timestamp":null}`, 1<<62, x.dm, x.owner, complaint))
	x.await(x.dm, 2)
	for _, data := range []string{`{}`, `null`, `[]`, `""`, `{"id":null}`, `{"id":"1","channel_id":"2"}`, `{"id":"x","channel_id":"y","author":{"id":"z"}}`,
		`{"id":"1","channel_id":"2","author":null,"content":"x"}`, `{"id":1}`, `{"author":{"id":"5"}}`} {
		for _, kind := range []string{"MESSAGE_CREATE", "MESSAGE_UPDATE", "MESSAGE_DELETE", "MESSAGE_DELETE_BULK", "INTERACTION_CREATE", "GUILD_CREATE", "THREAD_CREATE", "NOBODY_KNOWS", "READY"} {
			x.p.Raw(kind, data)
		}
	}
	for _, data := range []string{
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":5,"data":{"custom_id":"t1|v|note|1","components":[{"type":18,"component":{"type":4}}]}}`,
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":3,"data":{"custom_id":"t1|a"}}`,
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":3,"data":{"custom_id":"t1||"}}`,
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":3,"data":{"custom_id":"t1|v|"}}`,
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":2,"data":{"name":"fault","options":[{"name":"what","value":7}]}}`,
		`{"id":"1","token":"t","channel_id":"2","user":{"id":"3"},"type":5,"data":{"custom_id":"t1|w|x"}}`,
		`{"id":"1","token":"t","channel_id":"2","type":3,"data":null}`,
	} {
		x.p.Raw("INTERACTION_CREATE", data)
	}
	x.say(2)
	require.True(t, x.p.Wait(patient, func() bool { return len(x.p.FromBot(x.dm)) == 4 }), "%s", x.log)
	assert.NotContains(t, x.log.String(), "broke down")
	assert.Positive(t, x.chat.Status().Unread)
}

// Bots, webhooks and the bot itself are not talked with.
func TestOnlyPeopleAreAnswered(t *testing.T) {
	x := newChatter(t)
	for i, who := range []string{`{"id":"9","bot":true}`, `{"id":"9"},"webhook_id":"8"`, fmt.Sprintf(`{"id":%q,"bot":true}`, x.p.BotID())} {
		x.p.Raw("MESSAGE_CREATE", fmt.Sprintf(`{"id":"%d","channel_id":%q,"type":0,"content":"hello","mentions":[{"id":%q}],"author":%s}`, 1<<62+i, x.dm, x.p.BotID(), who))
	}
	x.say(1)
	x.settled()
}

// As many shards as the platform asks for, identified one after the other; a
// server's events come on its own shard and direct messages on the first.
func TestShards(t *testing.T) {
	c := newCommunity(t)
	c.p.Shards(3)
	second := c.p.Guild("Second")
	help := c.p.Channel(second, "help")
	bea := c.p.User("bea")
	c.start(settings{})
	require.True(t, c.p.Wait(patient, func() bool { return c.p.Sessions() == 3 }), "%s", c.log)
	c.p.Post(bea, help, c.call(complaint))
	require.True(t, c.p.Wait(patient, func() bool { return len(c.p.Threads(help, bea)) == 1 }), "%s", c.log)
	c.talk(complaint)
	dm := c.p.Direct(bea)
	c.p.Post(bea, dm, complaint)
	c.await(dm, 1)
	s := c.chat.Status()
	assert.Equal(t, []int{3, 3}, []int{s.Shards, s.Connected})
}

// Stopping finishes turns in hand and leaves nothing running; goleak looks.
func TestStop(t *testing.T) {
	x := newChatter(t)
	x.say(10)
	x.close()
	x.start(settings{})
	x.settled()
	assert.NotContains(t, strings.ToLower(x.log.String()), "panic")
}
