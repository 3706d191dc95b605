package discord

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// Kinds of answers to an interaction.
const (
	answerLater  = 5 // a message comes later
	answerUpdate = 6 // the message it stands on changes later
	answerForm   = 9
)

// flagEphemeral shows a message only to who acted.
const flagEphemeral = 64

// ackTime is what is left of the platform's 3 s for the first answer, after the
// way here.
const ackTime = 2500 * time.Millisecond

// acted takes in an interaction on the gateway's goroutine: it is acknowledged
// at once, before anything is looked up, and worked on in its lane.
func (a *Adapter) acted(i *interaction) {
	select {
	case a.acks <- struct{}{}:
	default: // the platform tells who acted that it did not work
		a.refused.Add(1)
		return
	}
	a.running.Go(func() {
		defer func() {
			<-a.acks
			if p := recover(); p != nil {
				a.c.Log.Error("an interaction broke down", "panic", fmt.Sprintf("%T", p))
			}
		}()
		first, work := a.sort(i)
		if first == nil {
			return
		}
		if err := a.ack(i, first); err != nil {
			// Replayed, or too late; who acted sees that and may act again.
			a.c.Log.Info("an interaction could not be acknowledged", "error", safe(err))
			return
		}
		if work == nil {
			return
		}
		tries := 0
		if !a.lanes.add(i.Channel+"/"+i.who().ID, false, func(ctx context.Context) error {
			tries++
			return a.tried(ctx, i, work(ctx), tries)
		}) {
			a.refused.Add(1)
			_ = a.whisper(context.Background(), i, a.words.say("busy"))
		}
	})
}

// mostTries is how often an act is tried; who acted waits for it, and sees no
// more than that it is not answered.
const mostTries = 4

// tried ends an interaction's work; an error is worth another try while who
// acted can still be answered.
func (a *Adapter) tried(ctx context.Context, i *interaction, err error, tries int) error {
	if err == nil {
		return nil
	}
	if tries < mostTries && !isPermanent(err) {
		return err
	}
	a.c.Log.Error("an interaction could not be worked on", "error", safe(err))
	if err := a.whisper(ctx, i, a.words.say("failed")); err != nil {
		a.c.Log.Info("who acted could not be told", "error", safe(err))
	}
	return nil
}

// sort says how an interaction is acknowledged and what is to be done; nil when
// it is none of ours.
func (a *Adapter) sort(i *interaction) (first map[string]any, work func(context.Context) error) {
	later := map[string]any{"type": answerLater, "data": map[string]any{"flags": flagEphemeral}}
	update := map[string]any{"type": answerUpdate}
	if i.Kind == interactionCommand && i.Data.Name == a.words.say("command") {
		return later, func(ctx context.Context) error { return a.commanded(ctx, i) }
	}
	id := parts(i.Data.CustomID)
	if id == nil || (id[0] == "v" || id[0] == "s") && len(id) < 3 {
		return nil, nil
	}
	switch {
	case i.Kind == interactionForm && id[0] == "w":
		return update, func(ctx context.Context) error { return a.wrote(ctx, i, id[2:]) }
	case i.Kind == interactionForm && id[0] == "v":
		return later, func(ctx context.Context) error { return a.filledIn(ctx, i, id[1:]) }
	case i.Kind != interactionComponent:
		return nil, nil
	case id[0] == "w":
		return a.form(custom("w", "answer", id[len(id)-1]), "write-title", field{"text", "write-field"}), nil
	case id[0] == "a" && id[1] == "here":
		return later, func(ctx context.Context) error { return a.talkHere(ctx, i) }
	case id[0] == "a" || id[0] == "s":
		return update, func(ctx context.Context) error { return a.answered(ctx, i, id) }
	case id[0] == "v":
		return a.sortVolunteer(i, id[1:], later, update)
	}
	return nil, nil
}

// ack answers an interaction for the first time. The limits over all routes do
// not count here, and no other request is waited for.
func (a *Adapter) ack(i *interaction, first map[string]any) error {
	ctx, cancel := context.WithTimeout(context.Background(), ackTime)
	defer cancel()
	data, err := encodeJSON(first)
	if err != nil {
		return err
	}
	_, err = a.rest.send(ctx, http.MethodPost, "/interactions/"+i.ID+"/"+i.Token+"/callback", "application/json", data)
	return err
}

// field is one field of a form.
type field struct{ id, label string }

// form asks for words; it is the whole of the first answer.
func (a *Adapter) form(id, title string, fields ...field) map[string]any {
	var list []row
	for _, f := range fields {
		c := component{Type: typeText, CustomID: f.id, Label: shorten(a.words.say(f.label), mostFieldLabel), Style: styleParagraph, Most: mostField}
		list = append(list, row{typeRow, []component{c}})
	}
	return map[string]any{"type": answerForm, "data": map[string]any{"custom_id": id, "title": shorten(title, mostTitle), "components": list}}
}

const (
	mostTitle      = 45
	mostFieldLabel = 45
	mostField      = 2000
	styleParagraph = 2
)

// reply changes the answer to an interaction, which only who acted sees.
func (a *Adapter) reply(ctx context.Context, i *interaction, text string, list []row, files ...upload) error {
	o := outgoing{Content: shorten(text, longest), Components: list, Files: files}
	kind, data, err := o.encode(o.body())
	if err != nil {
		return err
	}
	return a.spoken(a.rest.raw(ctx, http.MethodPatch, "/webhooks/"+i.App+"/"+i.Token+"/messages/@original", kind, data, nil))
}

// whisper says something to who acted, besides what the message says.
func (a *Adapter) whisper(ctx context.Context, i *interaction, text string) error {
	b := outgoing{Content: text}.body()
	b["flags"] = flagEphemeral | flagNoPreview
	return a.spoken(a.rest.do(ctx, http.MethodPost, "/webhooks/"+i.App+"/"+i.Token, b, nil))
}

// spoken passes over what can no longer be said: the interaction has expired or
// its message is gone. What was done is done all the same.
func (a *Adapter) spoken(err error) error {
	if err != nil && isPermanent(err) {
		a.c.Log.Info("who acted could not be told", "error", safe(err))
		return nil
	}
	return err
}

// talkWith is the conversation of who acted where they did.
func (a *Adapter) talkWith(i *interaction) (string, error) {
	return a.talkOf(i.Guild, i.Channel, i.who().ID, true)
}

// answered takes the press of a button, or a choice, as what it stands for.
func (a *Adapter) answered(ctx context.Context, i *interaction, id []string) error {
	where, err := a.talkWith(i)
	if err != nil {
		return err
	}
	if where == "" {
		return a.whisper(ctx, i, a.words.say("not-yours"))
	}
	if seen, err := a.c.Store.Seen(pressed(i.ID)); err != nil || seen {
		return err
	}
	_, events, err := a.c.Store.Conversation(where)
	if err != nil {
		return err
	}
	text := a.meant(conversation.Replay(events), i, id)
	if text == "" {
		return a.whisper(ctx, i, a.words.say("passed"))
	}
	if err := a.takePress(ctx, i, where, text); err != nil {
		return err
	}
	label := text
	if id[0] == "s" {
		label = a.words.say("press-" + id[1])
	}
	return a.settle(ctx, i, label)
}

func (a *Adapter) takePress(ctx context.Context, i *interaction, where, text string) error {
	if ok, say := a.desk.Admit(handle(i.who().ID), i.Guild, a.c.Now()); !ok {
		a.refused.Add(1)
		if len(say) == 0 {
			return nil
		}
		return a.whisper(ctx, i, strings.Join(say, "\n"))
	}
	return a.runner.Take(ctx, turns.Incoming{ID: pressed(i.ID), Conversation: where, Owner: handle(i.who().ID), Text: text})
}

// meant is what a press says in words, "" when the question it belongs to is not
// the one that waits.
func (a *Adapter) meant(st *conversation.State, i *interaction, id []string) string {
	ask := a.c.Engine.Offered(st)
	if id[0] == "s" && id[1] == "person" && !st.Phase.Ended() {
		return a.words.say("say-person")
	}
	check := id[1]
	if id[0] == "s" {
		check = id[2]
	}
	if ask == nil || ask.Check != check {
		return ""
	}
	if id[0] == "s" {
		return a.words.say("say-" + id[1])
	}
	chosen := ""
	switch {
	case len(id) > 2:
		chosen = id[2]
	case len(i.Data.Values) > 0:
		chosen = i.Data.Values[0]
	}
	n := slices.IndexFunc(ask.Options, func(o conversation.TurnOption) bool { return o.ID == chosen })
	if n < 0 {
		return ""
	}
	return ask.Options[n].Label
}

// settle takes the buttons off a question and shows what was pressed. That is for
// the eye alone: a failure changes nothing.
func (a *Adapter) settle(ctx context.Context, i *interaction, label string) error {
	if i.Message == nil {
		return nil
	}
	o := outgoing{Content: i.Message.Content}
	if line := "\n" + a.words.say("answered", "text", shorten(label, tailroom-10)); size(o.Content+line) <= longest {
		o.Content += line
	}
	body := o.body()
	if err := a.rest.do(ctx, http.MethodPatch, "/channels/"+i.Channel+"/messages/"+i.Message.ID, body, nil); err != nil {
		a.c.Log.Info("the buttons of a question stay", "error", safe(err))
	}
	return nil
}

// wrote takes what was written into the form beneath a question.
func (a *Adapter) wrote(ctx context.Context, i *interaction, _ []string) error {
	where, err := a.talkWith(i)
	if err != nil {
		return err
	}
	text := strings.TrimSpace(i.field("text"))
	switch {
	case where == "":
		return a.whisper(ctx, i, a.words.say("not-yours"))
	case text == "":
		return a.whisper(ctx, i, a.words.say("nothing-in-it"))
	}
	return a.takePress(ctx, i, where, text)
}

// commanded works on the slash command.
func (a *Adapter) commanded(ctx context.Context, i *interaction) error {
	text := strings.TrimSpace(i.option(a.words.say("option")))
	who := *i.who()
	if ok, say := a.desk.Admit(handle(who.ID), i.Guild, a.c.Now()); !ok {
		a.refused.Add(1)
		return a.reply(ctx, i, strings.Join(append(say, a.words.say("busy"))[:1], ""), nil)
	}
	o := opening{i.ID, pressed(i.ID), i.Guild, i.Channel, who, a.begunBefore(i.ID)}
	if i.Guild == "" {
		where, err := a.freshDirect(i.Channel)
		if err != nil {
			return err
		}
		if _, known, err := a.c.Store.Talk(where); err != nil {
			return err
		} else if known && text == "" {
			return a.reply(ctx, i, a.words.say("in-it"), nil)
		}
		if err := a.begin(ctx, where, o, text); err != nil {
			return err
		}
		return a.reply(ctx, i, a.words.say("go-on-here", "place", "<#"+i.Channel+">"), nil)
	}
	where, err := a.talkWith(i)
	if err != nil {
		return err
	}
	if p, _ := placeOf(where); p.kind == inThread {
		if text == "" {
			return a.reply(ctx, i, a.words.say("in-it"), nil)
		}
		if err := a.begin(ctx, where, o, text); err != nil {
			return err
		}
		return a.reply(ctx, i, a.words.say("go-on-here", "place", "<#"+i.Channel+">"), nil)
	}
	if full, err := a.enough(who.ID); err != nil {
		return err
	} else if full != nil {
		return a.reply(ctx, i, strings.Join(full, "\n"), nil)
	}
	where, err = a.open(ctx, o)
	if errors.Is(err, errNoDoor) {
		return a.reply(ctx, i, a.words.say("closed-door"), a.answers(a.askHere(), place{}))
	}
	if err != nil {
		return err
	}
	if err := a.begin(ctx, where, o, text); err != nil {
		return fmt.Errorf("beginning a talk: %w", err)
	}
	return a.reply(ctx, i, a.pointTo(where), nil)
}

// talkHere begins a talk where everybody can read it, as its owner chose.
func (a *Adapter) talkHere(ctx context.Context, i *interaction) error {
	p := place{kind: inChannel, channel: i.Channel, owner: i.who().ID}
	if i.Guild == "" {
		return nil
	}
	o := opening{id: i.ID, key: pressed(i.ID), who: *i.who()}
	if err := a.begin(ctx, p.address(), o, ""); err != nil {
		return err
	}
	return a.reply(ctx, i, a.words.say("go-on-here", "place", "<#"+i.Channel+">"), nil)
}

// register tells the platform the slash command; telling it again changes nothing.
// It also looks whether the volunteers' channel can be seen.
func (a *Adapter) register() {
	name := a.words.say("command")
	list := []map[string]any{{
		"name": name, "description": a.words.say("command-about"), "type": 1,
		"options": []map[string]any{{"name": a.words.say("option"), "description": a.words.say("option-about"), "type": 3, "max_length": mostField}},
	}}
	ctx, cancel := context.WithTimeout(context.Background(), requestTime)
	defer cancel()
	if err := a.rest.do(ctx, http.MethodPut, "/applications/"+a.appID()+"/commands", list, nil); err != nil {
		a.c.Log.Error("the slash command could not be registered", "error", safe(err))
	}
	if a.c.Volunteers == "" {
		return
	}
	if err := a.rest.do(ctx, http.MethodGet, "/channels/"+a.c.Volunteers, nil, nil); err != nil {
		a.c.Log.Error("cases cannot be posted: let the bot view the volunteers' channel, write and attach files there", "error", safe(err))
	}
}
