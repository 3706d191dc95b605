package main

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/tests/fakeplatform"
)

// owners is the community outside the process that is killed.
type owners struct {
	t      *testing.T
	p      *fakeplatform.Platform
	config string
	talks  []*ownersTalk
	log    *os.File
}

// ownersTalk is one owner's talk: what they wrote, in order.
type ownersTalk struct {
	who, channel string
	call         string // what a message there must begin with
	sent         []string
	skip         int // messages of the bot before the first answer
}

// life is one run of the program.
func (o *owners) life() *exec.Cmd {
	o.t.Helper()
	exe, err := os.Executable()
	require.NoError(o.t, err)
	c := exec.Command(exe)
	c.Env = append(os.Environ(), childConfig+"="+o.config, "DISCORD_TOKEN="+fakeplatform.Token)
	c.Stdout, c.Stderr = o.log, o.log
	require.NoError(o.t, c.Start())
	return c
}

func (o *owners) say(x *ownersTalk) {
	m := o.p.Post(x.who, x.channel, fmt.Sprintf("%smy sorrel-60: throttle does nothing, said %d times", x.call, len(x.sent)))
	x.sent = append(x.sent, m.ID)
}

// answers are the messages that the bot's answers point at, in order.
func (o *owners) answers(x *ownersTalk) []string {
	var ids []string
	for _, m := range o.p.FromBot(x.channel)[min(x.skip, len(o.p.FromBot(x.channel))):] {
		ids = append(ids, m.ReplyTo)
	}
	return ids
}

func (o *owners) answered() (n int) {
	for _, x := range o.talks {
		n += len(o.p.FromBot(x.channel))
	}
	return n
}

func (o *owners) told() (n int) {
	for _, x := range o.talks {
		n += len(x.sent)
	}
	return n
}

const (
	directTalks = 6
	threadTalks = 6
)

// The running program is killed again and again while owners write to it on the
// platform, by direct message and in threads, whether it runs or not. Afterwards
// every message that the platform took is answered once and in order.
func TestDiscordKilled(t *testing.T) {
	kills := 100
	if testing.Short() {
		kills = 4
	} else if underRace {
		kills = 20 // the hundred are killed without it
	}
	o := newOwners(t)
	draw := rand.New(rand.NewPCG(3, 9))
	before := o.told()

	for range kills {
		for range draw.IntN(6) { // while it is away
			o.say(o.talks[draw.IntN(len(o.talks))])
		}
		c, sessions := o.life(), o.p.Identifies()
		aim := o.answered() + draw.IntN(30)
		if draw.IntN(8) > 0 { // else it is killed while it starts
			require.True(t, o.p.Wait(time.Minute, func() bool { return o.p.Identifies() > sessions }), "it does not come")
		}
		for o.answered() < aim {
			o.say(o.talks[draw.IntN(len(o.talks))])
			if o.told()-o.answered() > 20 { // no more than that ahead of it
				o.p.Wait(time.Second, func() bool { return o.told()-o.answered() <= 20 || o.answered() >= aim })
			}
		}
		require.NoError(t, c.Process.Kill())
		_ = c.Wait() // killed
	}
	last := o.life()
	require.True(t, o.p.Wait(time.Minute, func() bool { return o.p.Sessions() == 1 }), "it does not come: %s", o.tail())
	o.settle()
	require.NoError(t, last.Process.Signal(syscall.SIGTERM))
	require.NoError(t, last.Wait())

	lost, doubled, disordered := 0, 0, 0
	for _, x := range o.talks {
		got, times := o.answers(x), map[string]int{}
		for _, id := range got {
			times[id]++
		}
		for _, id := range x.sent {
			switch times[id] {
			case 0:
				lost++
			case 1:
			default:
				doubled++
			}
		}
		if !slices.Equal(got, x.sent) {
			disordered++
		}
	}
	t.Logf("%d kills, %d messages: lost %d, doubled %d, talks out of order %d; copies dropped by their nonce %d",
		kills, o.told()-before, lost, doubled, disordered, o.p.Doubled())
	assert.Zero(t, lost)
	assert.Zero(t, doubled)
	assert.Zero(t, disordered)
	assert.Greater(t, o.told()-before, kills*5, "too little load to mean anything")
	assert.Empty(t, o.p.Complaints())
	_, err := store.Verify(filepath.Join(filepath.Dir(o.config), "triagebot.db"))
	require.NoError(t, err)
}

// settle waits until everything is answered.
func (o *owners) settle() {
	o.t.Helper()
	whole := o.p.Wait(2*time.Minute, func() bool {
		return !slices.ContainsFunc(o.talks, func(x *ownersTalk) bool { return len(o.answers(x)) < len(x.sent) })
	})
	if whole {
		return
	}
	for i, x := range o.talks {
		o.t.Logf("talk %d: %d of %d answered", i, len(o.answers(x)), len(x.sent))
	}
	require.Fail(o.t, "not everything is answered", "%s", o.tail())
}

// tail is the end of what the program logged.
func (o *owners) tail() string {
	text, _ := os.ReadFile(o.log.Name())
	return string(text[max(0, len(text)-4000):])
}

// newOwners makes the community, with talks that are known to the bot.
func newOwners(t *testing.T) *owners {
	t.Helper()
	p := fakeplatform.Start(time.Now)
	t.Cleanup(p.Close)
	dir := t.TempDir()
	o := &owners{t: t, p: p, config: filepath.Join(dir, "c.yaml")}
	var err error
	o.log, err = os.Create(filepath.Join(dir, "log"))
	require.NoError(t, err)
	t.Cleanup(func() { _ = o.log.Close() })
	guild := p.Guild("Saltmarsh Wheelers")
	help := p.Channel(guild, "help")
	require.NoError(t, os.WriteFile(o.config, fmt.Appendf(nil, `store: triagebot.db
api: {listen: "127.0.0.1:0"}
discord: {token: {env: DISCORD_TOKEN}, bases: {rest: %q, files: %q}}
limits: {owner_every: 1ms, owner_burst: 100000, server_every: 1ms, server_burst: 100000}
`, p.URL(), p.URL()+"/cdn"), 0o600))

	c := o.life()
	require.True(t, p.Wait(time.Minute, func() bool { return p.Sessions() == 1 }), "it does not come: %s", o.tail())
	call := "<@" + p.BotID() + "> "
	for i := range directTalks + threadTalks {
		x := &ownersTalk{who: p.User(fmt.Sprintf("owner-%d", i))}
		if i < directTalks {
			x.channel = p.Direct(x.who)
			o.say(x)
		} else {
			x.call = call
			p.Post(x.who, help, call+"my sorrel-60: throttle does nothing")
			require.True(t, p.Wait(time.Minute, func() bool { return len(p.Threads(help, x.who)) == 1 }))
			x.channel, x.skip = p.Threads(help, x.who)[0], 1
			require.True(t, p.Wait(time.Minute, func() bool { return len(p.FromBot(x.channel)) == 1 }))
		}
		o.talks = append(o.talks, x)
	}
	o.settle()
	require.NoError(t, c.Process.Signal(syscall.SIGTERM))
	require.NoError(t, c.Wait())
	return o
}
