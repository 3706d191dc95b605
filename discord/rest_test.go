package discord_test

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"net/http"
	"os"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/discord"
	"triagebot/tests/fakeplatform"
)

// sends is the faults of sending: fn is called with the number of the attempt to
// write a message, from 1.
func sends(c *community, fn func(n int) *fakeplatform.Answer) *atomic.Int64 {
	var n atomic.Int64
	c.p.OnRequest(func(r fakeplatform.Request) *fakeplatform.Answer {
		if r.Method != "POST" || !strings.HasSuffix(r.Path, "/messages") {
			return nil
		}
		return fn(int(n.Add(1)))
	})
	return &n
}

// unsent stops the bot and returns what is left in its outbox.
func (c *community) unsent() []store.Outgoing {
	c.t.Helper()
	c.close()
	s, err := store.Open(c.path, store.Options{Now: time.Now})
	require.NoError(c.t, err)
	defer s.Close()
	list, err := s.Outbox(0, 100)
	require.NoError(c.t, err)
	return list
}

// A message that was written and whose answer was lost is written once: it is
// sent again with its nonce. One request is one attempt.
func TestAnswerLost(t *testing.T) {
	for _, status := range []int{500, 502, 503, 504} {
		t.Run(fmt.Sprint(status), func(t *testing.T) {
			x := newChatter(t)
			n := sends(x.community, func(n int) *fakeplatform.Answer {
				if n <= 3 {
					return &fakeplatform.Answer{Status: status, AfterWork: true}
				}
				return nil
			})
			x.say(1)
			require.True(t, x.p.Wait(patient, func() bool { return n.Load() == 4 }))
			x.settled()
			assert.Equal(t, 3, x.p.Doubled())
			assert.Equal(t, int64(4), n.Load())
		})
	}
}

// Later than the platform knows a nonce, the channel is looked through first.
func TestAnswerLostForLong(t *testing.T) {
	x := newChatter(t)
	x.close()
	var ahead atomic.Int64 // the bot's clock is so much later
	s := settings{discord: func(d *discord.Config) {
		d.Now = func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) }
	}}
	n := sends(x.community, func(n int) *fakeplatform.Answer {
		if n == 1 {
			ahead.Store(int64(time.Hour))
			x.p.ForgetNonces()
			return &fakeplatform.Answer{Status: 502, AfterWork: true}
		}
		return nil
	})
	x.start(s)
	x.say(1)
	x.settled()
	assert.Empty(t, x.unsent())
	assert.Equal(t, int64(1), n.Load(), "it is there already")
}

// A route that is to be left alone is, for as long as was asked; others go on. A
// limit over all routes stops all.
func TestTooManyRequests(t *testing.T) {
	x := newChatter(t)
	first := time.Now()
	n := sends(x.community, func(n int) *fakeplatform.Answer {
		if n <= 2 {
			return fakeplatform.TooMany(0.3, n == 2)
		}
		return nil
	})
	x.say(3)
	x.settled()
	assert.Equal(t, int64(5), n.Load())
	assert.Greater(t, time.Since(first), 10*time.Millisecond)
}

// A refusal for good is not repeated, and the talk goes on.
func TestRefusedForGood(t *testing.T) {
	for code, status := range map[int]int{50013: 403, 10003: 404, 50035: 400, 200000: 400, 50007: 403} {
		t.Run(fmt.Sprint(code), func(t *testing.T) {
			x := newChatter(t)
			n := sends(x.community, func(n int) *fakeplatform.Answer {
				if n == 1 {
					return &fakeplatform.Answer{Status: status, Body: map[string]any{"code": code, "message": "no"}}
				}
				return nil
			})
			x.say(1)
			require.True(t, x.p.Wait(patient, func() bool { return n.Load() == 1 }))
			x.sent = x.sent[:1]
			x.say(1)
			x.settled()
			assert.Equal(t, int64(2), n.Load())
			list := x.unsent()
			require.Len(t, list, 1)
			assert.Contains(t, list[0].Failed, fmt.Sprint(code))
		})
	}
}

// Slow mode and the like are waited out.
func TestPassingRefusals(t *testing.T) {
	x := newChatter(t)
	sends(x.community, func(n int) *fakeplatform.Answer {
		if n > 1 {
			return nil
		}
		return &fakeplatform.Answer{Status: 400, Body: map[string]any{"code": 20016, "message": "wait"}}
	})
	x.say(1)
	x.settled()
}

// Without the right to see what was written before, answers point at nothing;
// without the right to attach, the picture is left out.
func TestLessPermissions(t *testing.T) {
	c := newCommunity(t)
	c.p.Deny(c.crew, fakeplatform.AttachFiles)
	c.p.Deny(c.help, fakeplatform.ReadHistory)
	c.start(settings{})
	th := c.talk(complaint)
	assert.Empty(t, c.p.FromBot(th)[0].ReplyTo)
	c.p.Post(c.owner, th, c.call("I want a person"))
	post := c.await(c.crew, 1)
	assert.Contains(t, post[0].Content, "Case 1")
	assert.Empty(t, post[0].Attachments)
}

// Many presses at once are each acknowledged in time, also while a disk is slow
// and routes are closed.
func TestAcknowledgedInTime(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{discord: func(d *discord.Config) { d.Workers = 2 }})
	var people []string
	for i := range 20 {
		people = append(people, c.p.User("owner-"+string(rune('a'+i%26))+string(rune('a'+i/26))))
	}
	sends(c, func(int) *fakeplatform.Answer { return fakeplatform.TooMany(0.5, true) })
	var all sync.WaitGroup
	for _, who := range people {
		all.Go(func() {
			i := c.p.Command(who, c.help, "fault", map[string]string{"what": complaint})
			assert.True(t, c.p.Wait(patient, func() bool { return c.p.Interaction(i).Answered }))
			assert.Less(t, c.p.Interaction(i).Took, 3*time.Second)
		})
	}
	all.Wait()
}

// Memory that the client keeps for requests does not grow with them.
func TestNothingIsKeptOfRequests(t *testing.T) {
	x := newChatter(t)
	before := discord.Routes(x.chat)
	x.say(30)
	x.settled()
	message, id := x.find(x.p.FromBot(x.dm), "Why?")
	for range 20 {
		x.answered(x.p.Press(x.owner, message, id))
	}
	assert.LessOrEqual(t, discord.Routes(x.chat)-before, 2)
}

// A sender is told at once when it is stopped, whatever the platform asked to
// wait.
func TestSendEndsWithItsContext(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	dm := c.p.Direct(c.owner)
	stuck := make(chan struct{})
	c.p.OnRequest(func(r fakeplatform.Request) *fakeplatform.Answer {
		if r.Method == http.MethodPost && bytes.Contains(r.Body, []byte("hello there")) {
			<-stuck
		}
		return nil
	})
	ctx, cancel := context.WithCancel(context.Background())
	got := make(chan error, 1)
	go func() {
		got <- c.chat.Send(ctx, store.Outgoing{To: "discord:d/" + dm, Nonce: "n-1", Kind: store.KindNotice, Lines: []string{"hello there"}, Made: time.Now()})
	}()
	cancel()
	select {
	case err := <-got:
		require.Error(t, err)
		assert.False(t, errors.As(err, new(*turns.PermanentError)))
	case <-time.After(patient):
		require.Fail(t, "it waits on")
	}
	close(stuck)
}

// An address of another chat is refused for good.
func TestNotMine(t *testing.T) {
	c := newCommunity(t)
	c.start(settings{})
	for _, to := range []string{"web:1", "discord:", "discord:t/", "discord:t/x", "discord:1"} {
		err := c.chat.Send(context.Background(), store.Outgoing{To: to, Lines: []string{"x"}})
		assert.True(t, errors.As(err, new(*turns.PermanentError)), to)
		assert.False(t, discord.Mine(to), to)
	}
	assert.True(t, discord.Mine("discord:t/12"))
}

// A config that cannot work is refused with what to do.
func TestConfig(t *testing.T) {
	c := newCommunity(t)
	for want, change := range map[string]func(*discord.Config){
		"no token":   func(d *discord.Config) { d.Token = "" },
		"no id":      func(d *discord.Config) { d.Volunteers = "#crew" },
		"none of":    func(d *discord.Config) { d.Roles = map[string]string{"12": "chief"} },
		"no role":    func(d *discord.Config) { d.Roles = nil },
		"no address": func(d *discord.Config) { d.Bases.REST = "proxy" },
	} {
		_, err := startHouse(c.path, c.p.URL(), c.crew, c.role, logger(c.log), settings{discord: change})
		require.ErrorContains(t, err, want)
	}
}

// The address in the documentation asks for what the fake gives, and no more.
func TestInvite(t *testing.T) {
	page, err := os.ReadFile("../docs/discord.md")
	require.NoError(t, err)
	assert.Contains(t, string(page), fmt.Sprintf("&permissions=%d\n", int64(fakeplatform.AsInvited)))
}
