package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"sync"
	"sync/atomic"

	"github.com/bwmarrin/discordgo"
	"golang.org/x/time/rate"

	"triagebot/casefile/turns"
	"triagebot/desk"
)

// Adapter is the bot on the platform. It is the Sender of its Runner, and takes
// messages once Run was called.
type Adapter struct {
	c       Config
	words   sentences
	rest    *rest
	files   *http.Client
	lanes   *lanes
	reading *reading
	catch   *catch
	sent    *sentParts
	deleted *recent       // messages that may still be to be worked on
	opened  *recent       // messages and presses for which a talk was being opened
	drawn   sync.Map      // pictures of checks: no more than checks on kits
	acks    chan struct{} // room for interactions being acknowledged

	started uint64        // the smallest id of the time it was started
	begins  *rate.Limiter // of new sessions with the gateway
	runner  *turns.Runner
	desk    *desk.Desk
	shards  []*shard

	me, app atomic.Value // ids of the bot's user and application, once known
	running sync.WaitGroup

	asked, connected, lost, unread, refused atomic.Int64 // asked: shards wanted
}

// New makes an adapter. It can send at once.
func New(c Config) (*Adapter, error) {
	if err := c.complete(); err != nil {
		return nil, err
	}
	words, err := loadSentences("en", c.KB.About)
	if err != nil {
		return nil, err
	}
	g := newGate(c.Now, c.After)
	transport, err := newRewriter(c.Transport, c.Bases, g)
	if err != nil {
		return nil, err
	}
	session, err := newSession(c.Token, &http.Client{Transport: transport})
	if err != nil {
		return nil, err
	}
	a := &Adapter{
		c: c, words: words, rest: &rest{session, g}, files: &http.Client{Transport: transport, Timeout: requestTime},
		lanes: newLanes(c.Now, c.After, c.Waiting, func(p any) { c.Log.Error("something that came in broke down", "panic", fmt.Sprintf("%T", p)) }), reading: newReading(), catch: newCatch(), sent: newSentParts(),
		deleted: newRecent(mostRecent), opened: newRecent(mostRecent), acks: make(chan struct{}, mostAcks),
	}
	a.begins = rate.NewLimiter(rate.Every(beginEvery), beginBurst)
	a.started = snowflake(c.Now())
	a.me.Store("")
	a.app.Store("")
	return a, nil
}

const (
	mostRecent = 1000 // ids remembered, of each kind
	mostAcks   = 128  // interactions being acknowledged at a time
)

// intents are the least that the bot needs: servers with their threads, and
// messages. Interactions need none.
func (a *Adapter) intents() discordgo.Intent {
	in := discordgo.IntentsGuilds | discordgo.IntentsGuildMessages | discordgo.IntentsDirectMessages
	if a.c.Content {
		in |= discordgo.IntentMessageContent
	}
	return in
}

// Run talks to the platform until ctx ends, and returns once all it started has
// ended. It returns a [FatalError] when the platform refuses the bot for good.
func (a *Adapter) Run(ctx context.Context, r *turns.Runner, d *desk.Desk) error {
	if r == nil || d == nil {
		return errors.New("running discord: no turns or no desk is given")
	}
	a.runner, a.desk = r, d
	if err := a.readFrom(); err != nil {
		return err
	}
	ctx, stop := context.WithCancelCause(ctx)
	defer stop(nil)
	var working sync.WaitGroup
	working.Go(func() { a.lanes.run(ctx, a.c.Workers) })
	working.Go(func() { a.keepReading(ctx) })
	working.Go(func() { a.follow(ctx) })

	err := a.start(ctx)
	if err == nil {
		var open sync.WaitGroup
		for _, s := range a.shards {
			open.Go(func() {
				if err := s.run(ctx); err != nil {
					stop(err)
				}
			})
		}
		open.Wait()
		err = context.Cause(ctx)
	}
	stop(nil)
	working.Wait()
	a.running.Wait()
	if kept := a.keepRead(context.WithoutCancel(ctx)); kept != nil {
		a.c.Log.Error("how far was read could not be kept", "error", kept)
	}
	if errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) {
		return nil
	}
	if err != nil {
		return fmt.Errorf("talking to discord: %w", err)
	}
	return nil
}

// start asks where the gateway is and makes the shards.
func (a *Adapter) start(ctx context.Context) error {
	p, err := a.gatewayPlaces(ctx)
	if err != nil {
		return err
	}
	a.asked.Store(int64(p.Shards))
	identify := make(chan struct{}, 1)
	identify <- struct{}{}
	for i := range p.Shards {
		a.shards = append(a.shards, &shard{a: a, id: i, all: p.Shards, gateway: p.URL, identify: identify, down: make(chan struct{}, 1)})
	}
	return nil
}

// Status is how the adapter stands.
type Status struct {
	Shards, Connected int
	Lost              int64 // connections lost so far
	Unread            int64 // events that did not read
	Refused           int64 // messages not taken because of limits
	Waiting           int   // messages and presses waiting to be worked on
}

// Status says how the adapter stands.
func (a *Adapter) Status() Status {
	return Status{
		Shards: int(a.asked.Load()), Connected: int(a.connected.Load()), Lost: a.lost.Load(), Unread: a.unread.Load(),
		Refused: a.refused.Load(), Waiting: a.lanes.waiting(),
	}
}

func (a *Adapter) botID() string { return a.me.Load().(string) }
func (a *Adapter) appID() string { return a.app.Load().(string) }
