package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"triagebot/casefile/turns"
)

// Bounds of what is fetched after an absence.
const (
	pageSize     = 100
	mostPages    = 5                   // of one conversation
	mostDirects  = 300                 // conversations by direct message, those that were active last
	directWithin = 30 * 24 * time.Hour // and no longer ago than this
)

// catch keeps back what comes in live for channels whose gap is being fetched,
// so that the order stays.
type catch struct {
	mu       sync.Mutex
	channels map[string][]*message
	directs  bool
	direct   []*message
	left     []string    // live messages that found no room
	overflow atomic.Bool // there are such, and what comes after them is left as well
	renewing bool        // the sessions were told to begin anew
}

func newCatch() *catch { return &catch{channels: map[string][]*message{}} }

// hold takes a live message if its channel is being caught up.
func (c *catch) hold(m *message) bool {
	c.mu.Lock()
	defer c.mu.Unlock()
	if m.Guild == "" && c.directs {
		c.direct = append(c.direct, m)
		return true
	}
	list, ok := c.channels[m.Channel]
	if ok {
		c.channels[m.Channel] = append(list, m)
	}
	return ok
}

func (c *catch) begin(channel string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	if _, ok := c.channels[channel]; !ok {
		c.channels[channel] = nil
	}
}

// end gives back what was held, oldest first, and before anything newer gets in.
func (c *catch) end(channel string, deliver func(*message)) {
	c.mu.Lock()
	defer c.mu.Unlock()
	list := c.channels[channel]
	if channel == "" {
		list, c.direct, c.directs = c.direct, nil, false
	}
	delete(c.channels, channel)
	slices.SortStableFunc(list, byID)
	for _, m := range list {
		deliver(m)
	}
}

func byID(x, y *message) int {
	a, b := number(x.ID), number(y.ID)
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

func (c *catch) beginDirect() {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.directs = true
}

// leave remembers that a message found no room: it is fetched later.
func (c *catch) leave(id string) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.overflow.Store(true)
	c.left = append(c.left, id)
}

// overflown says, once, that something was left and there is room again.
func (c *catch) overflown(room bool) bool {
	if !room || !c.overflow.Load() {
		return false
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	was := c.renewing
	c.renewing = true
	return !was
}

// again is called when a session begins anew, and gives what was left: from now
// on the gap that is fetched stands for it.
func (c *catch) again() []string {
	c.mu.Lock()
	defer c.mu.Unlock()
	left := c.left
	c.left, c.renewing = nil, false
	c.overflow.Store(false)
	return left
}

// begun is told of a session that starts anew: what came since the last one must
// be fetched.
func (a *Adapter) begun(s *shard, me, app string, guilds []guild) {
	a.me.Store(me)
	if app == "" {
		app = me
	}
	a.app.Store(app)
	from := a.reading.after()
	s.from.Store(from)
	for _, g := range guilds {
		a.reading.enter("guild/"+g.ID, from)
	}
	if s.id != 0 { // direct messages come to the first shard alone
		return
	}
	a.reading.enter("direct", from)
	a.catch.beginDirect()
	for _, id := range a.catch.again() {
		a.reading.leave(id)
	}
	a.lanes.add("catch/direct", true, func(ctx context.Context) error { return a.catchDirects(ctx, from) })
	a.running.Go(a.register)
}

// guildSeen is told of a server with its channels and active threads: those with
// something new are read.
func (a *Adapter) guildSeen(s *shard, g guild) {
	from := s.from.Load()
	for _, c := range slices.Concat(g.Threads, g.Channels) {
		if number(c.Last) <= from || !c.isThread() && (c.Kind != channelText || !a.listens(c.ID)) {
			continue
		}
		key := "channel/" + c.ID
		a.reading.enter(key, from)
		a.catch.begin(c.ID)
		a.lanes.add("catch/"+c.ID, true, func(ctx context.Context) error { return a.catchUp(ctx, c, g.ID, from) })
	}
	a.reading.leave("guild/" + g.ID)
}

// listens says whether mentions in a channel are read again after an absence.
func (a *Adapter) listens(channel string) bool {
	return len(a.c.Channels) == 0 || slices.Contains(a.c.Channels, channel)
}

// catchUp works on what came in a channel while the bot was away.
func (a *Adapter) catchUp(ctx context.Context, c channel, guild string, from uint64) error {
	list, err := a.since(ctx, c.ID, from, c.isThread())
	if err != nil {
		return err
	}
	for _, m := range list {
		m.Guild = guild
		a.reading.saw(m.ID)
		a.deliverOld(m)
	}
	a.catch.end(c.ID, a.deliverOld)
	a.reading.leave("channel/" + c.ID)
	return nil
}

// since fetches what people wrote in a channel after a message, oldest first. Of
// a conversation all is read, page by page; of a channel only the newest page,
// in which somebody may have called the bot.
func (a *Adapter) since(ctx context.Context, channel string, from uint64, whole bool) ([]*message, error) {
	var all []*message
	for range mostPages {
		path := "/channels/" + channel + "/messages?limit=" + strconv.Itoa(pageSize)
		if whole {
			path += "&after=" + strconv.FormatUint(from, 10)
		}
		var page []*message
		err := a.rest.do(ctx, http.MethodGet, path, nil, &page)
		if err != nil && isPermanent(err) {
			a.c.Log.Warn("what came meanwhile cannot be read", "error", safe(err))
			return all, nil
		}
		if err != nil {
			return nil, fmt.Errorf("reading what came meanwhile: %w", err)
		}
		slices.SortFunc(page, byID)
		for _, m := range page {
			if number(m.ID) > from && m.written() {
				all = append(all, m)
			}
		}
		if !whole || len(page) < pageSize {
			break
		}
		from = number(page[len(page)-1].ID)
	}
	return all, nil
}

func isPermanent(err error) bool {
	var p *turns.PermanentError
	return errors.As(classify(err), &p)
}

// catchDirects works on what came by direct message. The platform does not list
// those channels; the conversations of the store are what is known of them.
func (a *Adapter) catchDirects(ctx context.Context, from uint64) error {
	type direct struct {
		channel string
		last    time.Time
	}
	var list []direct
	prefix, once := place{kind: inDirect}.address(), map[string]bool{}
	for after := prefix; ; {
		ids, talks, err := a.c.Store.Talks(after, mostDirects)
		if err != nil {
			return err
		}
		for i, id := range ids {
			if p, ok := placeOf(id); ok && p.kind == inDirect && !once[p.channel] && a.c.Now().Sub(talks[i].Last) < directWithin {
				once[p.channel] = true
				list = append(list, direct{p.channel, talks[i].Last})
			}
		}
		if len(ids) < mostDirects || !strings.HasPrefix(ids[len(ids)-1], prefix) {
			break
		}
		after = ids[len(ids)-1]
	}
	slices.SortFunc(list, func(x, y direct) int { return y.last.Compare(x.last) })
	list = list[:min(len(list), mostDirects)]
	for _, d := range list {
		found, err := a.since(ctx, d.channel, from, true)
		if err != nil {
			return err
		}
		for _, m := range found {
			a.reading.saw(m.ID)
			a.deliverOld(m)
		}
	}
	a.catch.end("", a.deliverOld)
	a.reading.leave("direct")
	return nil
}
