package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"unicode/utf8"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// opening is somebody's wish to talk with the bot.
type opening struct {
	id      string // of the message or interaction
	key     string // by which the store knows it
	guild   string
	channel string
	who     author
	again   bool // it may have been begun before
}

// errNoDoor is returned when there is no place to talk in private.
var errNoDoor = errors.New("neither a thread nor a direct message can be had")

// mostOpen bounds the talks of one owner that are open at a time.
const mostOpen = 3

// archiveAfter is how long a thread without news stays in sight, in minutes:
// the longest there is.
const archiveAfter = 10080

// called opens a talk for who mentioned the bot or wrote to it directly.
func (a *Adapter) called(ctx context.Context, m *message, text string) error {
	if m.Guild == "" {
		where := place{kind: inDirect, channel: m.Channel}.address()
		if text != "" {
			return a.takeIn(ctx, m, where, text)
		}
		if err := a.aside(ctx, where, known(m.ID), m.Author.ID, a.words.lines("greeting")); err != nil {
			return err
		}
		return a.keepPhotos(ctx, m)
	}
	o := opening{m.ID, known(m.ID), m.Guild, m.Channel, *m.Author, a.begunBefore(m.ID)}
	here := place{kind: inChannel, channel: m.Channel}.address()
	if full, err := a.enough(o.who.ID); err != nil {
		return err
	} else if full != nil {
		return a.tell(ctx, store.Outgoing{To: here, Kind: store.KindNotice, ReplyTo: known(m.ID), Lines: full})
	}
	where, err := a.open(ctx, o)
	if errors.Is(err, errNoDoor) {
		return a.tell(ctx, store.Outgoing{
			To: here, Kind: store.KindNotice, ReplyTo: known(m.ID), Lines: a.words.lines("closed-door"), Ask: a.askHere(),
		})
	}
	if err != nil {
		return err
	}
	if err := a.begin(ctx, where, o, text); err != nil {
		return err
	}
	return a.tell(ctx, store.Outgoing{
		To: here, Conversation: where, Kind: store.KindNotice, ReplyTo: known(m.ID), Lines: []string{a.pointTo(where)},
	})
}

// begunBefore says whether an opening was tried before, here or before a restart.
func (a *Adapter) begunBefore(id string) bool {
	before := a.opened.contains(id)
	a.opened.add(id)
	return before || number(id) < a.started
}

// begin gives a talk its first turn: the words it came with, or a greeting.
func (a *Adapter) begin(ctx context.Context, where string, o opening, text string) error {
	if text != "" {
		if ok, _ := a.desk.Fits(text); ok {
			return a.runner.Take(ctx, turns.Incoming{ID: o.key, Conversation: where, Owner: handle(o.who.ID), Text: text})
		}
	}
	say := a.words.lines("greeting")
	if p, _ := placeOf(where); p.kind != inDirect && !a.c.Content {
		say = append(say, a.words.lines("greeting-mention", "bot", "<@"+a.botID()+">")...)
	}
	return a.aside(ctx, where, o.key, o.who.ID, say)
}

// pointTo says where a talk goes on.
func (a *Adapter) pointTo(where string) string {
	if p, _ := placeOf(where); p.kind == inThread {
		return a.words.say("go-on-here", "place", "<#"+p.channel+">")
	}
	return a.words.say("go-on-direct")
}

// enough says what to tell an owner who has too many talks open, or nil.
func (a *Adapter) enough(user string) ([]string, error) {
	ids, err := a.c.Store.TalksOf(handle(user))
	if err != nil {
		return nil, err
	}
	var open []string
	for _, id := range ids {
		t, ok, err := a.c.Store.Talk(id)
		if err != nil {
			return nil, err
		}
		if p, mine := placeOf(id); ok && mine && !t.Phase.Ended() && p.kind == inThread {
			open = append(open, "<#"+p.channel+">")
		}
	}
	if len(open) < mostOpen {
		return nil, nil
	}
	return a.words.lines("enough-open", "n", strconv.Itoa(len(open)), "places", strings.Join(open[:mostOpen], ", ")), nil
}

// open finds a place to talk with somebody in private: a thread where they are,
// else direct messages.
func (a *Adapter) open(ctx context.Context, o opening) (string, error) {
	thread, err := a.openThread(ctx, o)
	if err == nil {
		return place{kind: inThread, channel: thread}.address(), nil
	}
	if !noPlace(err) {
		return "", fmt.Errorf("opening a thread: %w", err)
	}
	a.c.Log.Info("no thread can be opened; trying a direct message", "code", codeOf(err))
	where, err := a.openDirect(ctx, o)
	if err != nil && noPlace(err) {
		return "", errNoDoor
	}
	return where, err
}

func (a *Adapter) openThread(ctx context.Context, o opening) (string, error) {
	var in channel
	if err := a.rest.do(ctx, http.MethodGet, "/channels/"+o.channel, nil, &in); err != nil {
		return "", err
	}
	parent := in.ID
	if in.isThread() {
		parent = in.Parent
	}
	name := shorten(a.words.say("thread-name", "owner", o.who.shown()), mostThreadName)
	id, err := a.orphan(ctx, o, parent)
	if err != nil {
		return "", err
	}
	if id == "" {
		var made channel
		body := map[string]any{"name": name, "type": channelPrivateThread, "auto_archive_duration": archiveAfter, "invitable": false}
		if err := a.rest.do(ctx, http.MethodPost, "/channels/"+parent+"/threads", body, &made); err != nil {
			return "", err
		}
		id = made.ID
	}
	return id, a.rest.do(ctx, http.MethodPut, "/channels/"+id+"/thread-members/"+o.who.ID, nil, nil)
}

const mostThreadName = 100

// orphan finds a thread that was made for this opening before a kill or behind a
// lost answer: one of the bot's with this owner in it, younger than the wish for
// it, in which nothing was said and which no talk has. The platform knows no nonce
// for threads. One that was made and nobody put into is seen by nobody.
func (a *Adapter) orphan(ctx context.Context, o opening, parent string) (string, error) {
	if !o.again {
		return "", nil
	}
	var active struct {
		Threads []channel `json:"threads"`
	}
	if err := a.rest.do(ctx, http.MethodGet, "/guilds/"+o.guild+"/threads/active", nil, &active); err != nil {
		return "", err
	}
	for _, t := range active.Threads {
		if t.Parent != parent || t.OwnerID != a.botID() || number(t.ID) < number(o.id) || t.Last != "" {
			continue
		}
		if _, taken, err := a.c.Store.Talk(place{kind: inThread, channel: t.ID}.address()); err != nil || taken {
			if err != nil {
				return "", err
			}
			continue
		}
		if a.rest.do(ctx, http.MethodGet, "/channels/"+t.ID+"/thread-members/"+o.who.ID, nil, nil) == nil {
			return t.ID, nil
		}
	}
	return "", nil
}

// openDirect finds the place for direct messages. Whether they reach somebody
// shows only with the first one.
func (a *Adapter) openDirect(ctx context.Context, o opening) (string, error) {
	var in channel
	if err := a.rest.do(ctx, http.MethodPost, "/users/@me/channels", map[string]any{"recipient_id": o.who.ID}, &in); err != nil {
		return "", fmt.Errorf("opening direct messages: %w", err)
	}
	where, err := a.freshDirect(in.ID)
	if err != nil {
		return "", err
	}
	hello := outgoing{Content: a.words.say("direct-hello"), Nonce: "o" + o.id}
	if _, err := a.post(ctx, in.ID, hello); err != nil {
		return "", fmt.Errorf("writing a direct message: %w", err)
	}
	return where, nil
}

// freshDirect is the conversation to use in direct messages: the last one, or the
// next when that has ended.
func (a *Adapter) freshDirect(channel string) (string, error) {
	last, err := a.directTalk(channel)
	if err != nil || last == "" {
		return place{kind: inDirect, channel: channel}.address(), err
	}
	t, _, err := a.c.Store.Talk(last)
	if err != nil || t.Phase != conversation.Done {
		return last, err
	}
	p, _ := placeOf(last)
	p.n = max(p.n, 1) + 1
	return p.address(), nil
}

// shorten cuts a text to so many characters.
func shorten(s string, most int) string {
	if utf8.RuneCountInString(s) <= most {
		return s
	}
	r := []rune(s)
	return strings.TrimSpace(string(r[:most-1])) + "…"
}
