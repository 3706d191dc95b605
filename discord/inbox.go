package discord

import (
	"context"
	"fmt"
	"strings"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// heard takes in a live message, on the gateway's goroutine.
func (a *Adapter) heard(m *message) {
	a.reading.saw(m.ID)
	if !a.catch.hold(m) {
		a.deliver(m)
	}
}

func (a *Adapter) deliver(m *message)    { a.queue(m, true) }
func (a *Adapter) deliverOld(m *message) { a.queue(m, false) }

// queue puts a message into its author's lane in its channel. What finds no room
// holds back the mark and is fetched later.
func (a *Adapter) queue(m *message, live bool) {
	if live && a.catch.overflow.Load() { // nothing may get ahead of what was left
		a.catch.leave(m.ID)
		return
	}
	ok := a.lanes.add(m.Channel+"/"+m.Author.ID, !live, func(ctx context.Context) error {
		if err := a.said(ctx, m, live); err != nil {
			if ctx.Err() == nil {
				a.c.Log.Error("a message could not be taken; it is tried again", "error", safe(err))
			}
			return err
		}
		a.reading.leave(m.ID)
		return nil
	})
	if !ok {
		a.catch.leave(m.ID)
	}
}

// said works on what somebody wrote. An error means: again.
func (a *Adapter) said(ctx context.Context, m *message, live bool) error {
	if a.deleted.contains(m.ID) {
		return nil
	}
	if seen, err := a.c.Store.Seen(known(m.ID)); err != nil {
		return err
	} else if seen {
		return a.keepPhotos(ctx, m) // a kill may have come between the turn and its photos
	}
	where, err := a.talkOf(m.Guild, m.Channel, m.Author.ID, a.addressed(m))
	if err != nil {
		return err
	}
	text := a.withoutCall(m.Content)
	if where == "" && (m.Guild == "" || a.addressed(m)) {
		if live && !a.admit(ctx, m, place{kind: inChannel, channel: m.Channel}.address()) {
			return nil
		}
		return a.called(ctx, m, text)
	}
	if where == "" {
		return nil // people among themselves
	}
	if live && !a.admit(ctx, m, where) {
		return nil
	}
	return a.takeIn(ctx, m, where, text)
}

// takeIn gives a message of a conversation its turn, and keeps its photos.
func (a *Adapter) takeIn(ctx context.Context, m *message, where, text string) error {
	switch {
	case text == "" && len(m.Attachments) > 0:
		return a.keepPhotos(ctx, m)
	case text == "":
		if people, err := a.amongPeople(where); err != nil || people {
			return err
		}
		return a.aside(ctx, where, known(m.ID), m.Author.ID, a.blind(where))
	}
	if ok, say := a.desk.Fits(text); !ok {
		a.refused.Add(1)
		return a.aside(ctx, where, known(m.ID), m.Author.ID, say)
	}
	err := a.runner.Take(ctx, turns.Incoming{ID: known(m.ID), Conversation: where, Owner: handle(m.Author.ID), Text: text})
	if err != nil {
		return err
	}
	if len(m.Attachments) == 0 {
		return nil
	}
	return a.keepPhotos(ctx, m)
}

// amongPeople says whether somebody has the case of a talk: what the owner writes
// without calling the bot is for them.
func (a *Adapter) amongPeople(where string) (bool, error) {
	t, _, err := a.c.Store.Talk(where)
	if err != nil || t.Case == 0 || !t.Phase.Ended() {
		return false, err
	}
	c, _, err := a.c.Store.Case(t.Case)
	return c.State == store.Taken, err
}

// blind is what is said to a message that came without its content.
func (a *Adapter) blind(where string) []string {
	if p, ok := placeOf(where); ok && p.kind == inDirect || a.c.Content {
		return a.words.lines("nothing-in-it")
	}
	return a.words.lines("cannot-read", "bot", "<@"+a.botID()+">")
}

// admit holds a message to the limits. One that passes them is not taken, and
// its author is told so once in a while.
func (a *Adapter) admit(ctx context.Context, m *message, where string) bool {
	ok, say := a.desk.Admit(handle(m.Author.ID), m.Guild, a.c.Now())
	if ok {
		return true
	}
	a.refused.Add(1)
	if len(say) == 0 {
		return false
	}
	if err := a.tell(ctx, store.Outgoing{To: where, Kind: store.KindNotice, ReplyTo: known(m.ID), Lines: say}); err != nil {
		a.c.Log.Error("telling of the limits", "error", safe(err))
	}
	return false
}

// tell puts something into the outbox apart from a turn.
func (a *Adapter) tell(ctx context.Context, o store.Outgoing) error {
	o.Made = a.c.Now()
	queued, err := a.c.Store.Queue(ctx, o)
	a.runner.Send(queued...)
	return err
}

// aside says something of the program's own in a conversation, as the answer to
// a message: once, and kept in the talk.
func (a *Adapter) aside(ctx context.Context, where, id, owner string, say []string) error {
	return a.runner.Aside(ctx, turns.Aside{
		Conversation: where, Owner: handle(owner), Message: id, Kind: store.KindNotice,
		Step: func(_ *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
			return []conversation.Event{{Kind: conversation.BotSaid, Time: now, Lines: say}}, conversation.Turn{V: 1, Say: say}, nil
		},
	})
}

// talkOf finds the conversation that a message of somebody in a channel belongs
// to; "" when there is none. In a channel for all only what is addressed to the
// bot belongs to it.
func (a *Adapter) talkOf(guild, channel, user string, addressed bool) (string, error) {
	if guild == "" {
		return a.directTalk(channel)
	}
	thread := place{kind: inThread, channel: channel}.address()
	if t, ok, err := a.c.Store.Talk(thread); err != nil || ok {
		if t.Owner != handle(user) {
			thread = ""
		}
		return thread, err
	}
	if !addressed {
		return "", nil
	}
	open := place{kind: inChannel, channel: channel, owner: user}.address()
	if _, ok, err := a.c.Store.Talk(open); err != nil || !ok {
		return "", err
	}
	return open, nil
}

// directTalk is the last conversation by direct message in a channel; "" when
// there was none.
func (a *Adapter) directTalk(channel string) (string, error) {
	last := ""
	for n := 1; ; n++ {
		where := place{kind: inDirect, channel: channel, n: n}.address()
		_, ok, err := a.c.Store.Talk(where)
		if err != nil || !ok {
			return last, err
		}
		last = where
	}
}

// addressed says whether a message calls the bot or answers it: a reply mentions
// whom it answers.
func (a *Adapter) addressed(m *message) bool { return mentioned(m, a.botID()) }

func mentioned(m *message, bot string) bool {
	for _, x := range m.Mentions {
		if x.ID == bot && bot != "" {
			return true
		}
	}
	return false
}

// withoutCall takes the bot's mention out of a text.
func (a *Adapter) withoutCall(text string) string {
	bot := a.botID()
	return strings.TrimSpace(strings.NewReplacer("<@"+bot+">", "", "<@!"+bot+">", "").Replace(text))
}

// edited takes an edit as a correction. One of a message that had no turn, such
// as one that came empty, is a message now.
func (a *Adapter) edited(ctx context.Context, m *message) error {
	text := a.withoutCall(m.Content)
	where, err := a.talkOf(m.Guild, m.Channel, m.Author.ID, a.addressed(m))
	if err != nil || where == "" || text == "" {
		return err
	}
	_, list, err := a.c.Store.Turns(where)
	if err != nil {
		return err
	}
	before, answered, found := saidBefore(list, known(m.ID))
	if !found {
		return a.said(ctx, m, true)
	}
	if sameWords(before, text) { // a link was resolved, a picture taken out
		return nil
	}
	if ok, say := a.desk.Fits(text); !ok {
		return a.aside(ctx, where, known(m.ID+"@"+m.Edited), m.Author.ID, say)
	}
	if answered { // what answered nothing is simply said anew
		text = a.words.say("correction", "text", text)
	}
	return a.runner.Take(ctx, turns.Incoming{
		ID: known(m.ID + "@" + m.Edited), Conversation: where, Owner: handle(m.Author.ID), Text: text,
	})
}

// sameWords says whether an edit left the words as they were; an edit before
// that was kept with a word in front.
func sameWords(before, text string) bool {
	before, text = strings.Join(strings.Fields(before), " "), strings.Join(strings.Fields(text), " ")
	return before == text || strings.HasSuffix(before, ": "+text)
}

// saidBefore finds what a message said last, edits and all, and whether it
// answered a check.
func saidBefore(list []store.TurnKept, id string) (text string, answered, found bool) {
	for _, t := range list {
		if t.Message != id && !strings.HasPrefix(t.Message, id+"@") {
			continue
		}
		found = true
		for _, e := range t.Events {
			switch e.Kind {
			case conversation.OwnerSaid:
				text = e.Text
			case conversation.Read, conversation.Seen:
				answered = true
			}
		}
	}
	return text, answered, found
}

// gone takes back the words of deleted messages. Who deleted them is not told;
// whoever it was, they are not to be kept.
func (a *Adapter) gone(channel string, ids ...string) {
	for _, id := range ids {
		a.deleted.add(id)
	}
	a.lanes.add(channel+"/deleted", true, func(ctx context.Context) error { return a.takeBack(ctx, channel, ids) })
}

func (a *Adapter) takeBack(ctx context.Context, channel string, ids []string) error {
	is := func(message string) bool {
		for _, id := range ids {
			if message == known(id) || strings.HasPrefix(message, known(id)+"@") || strings.HasPrefix(message, known(id)+"/") {
				return true
			}
		}
		return false
	}
	where, err := a.talksIn(channel)
	if err != nil {
		return err
	}
	for _, w := range where {
		found, err := a.runner.TakeBack(ctx, w, is)
		if err != nil {
			return fmt.Errorf("taking back what was deleted: %w", err)
		}
		if !found {
			continue
		}
		if t, _, err := a.c.Store.Talk(w); err != nil {
			return err
		} else if t.Case != 0 {
			if err := a.repost(ctx, t.Case); err != nil {
				return err
			}
		}
		if err := a.tell(ctx, store.Outgoing{To: w, Conversation: w, Kind: store.KindNotice, Lines: a.words.lines("taken-back")}); err != nil {
			return err
		}
	}
	return nil
}

// talksIn lists the conversations in a channel.
func (a *Adapter) talksIn(channel string) ([]string, error) {
	var all []string
	for _, kind := range []string{inThread, inDirect, inChannel} {
		prefix := place{kind: kind, channel: channel}.address()
		if _, ok, err := a.c.Store.Talk(prefix); err != nil {
			return nil, err
		} else if ok {
			all = append(all, prefix)
		}
		ids, _, err := a.c.Store.Talks(prefix+"/", talksAtOnce)
		if err != nil {
			return nil, err
		}
		for _, id := range ids {
			if strings.HasPrefix(id, prefix+"/") {
				all = append(all, id)
			}
		}
	}
	return all, nil
}

// talksAtOnce bounds the conversations in one channel that are looked through.
const talksAtOnce = 200
