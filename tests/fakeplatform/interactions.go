package fakeplatform

import (
	"encoding/json"
	"time"
)

// deadline is how long an interaction waits for its first answer.
const deadline = 3 * time.Second

// interaction is something a person did that the bot must acknowledge.
type interaction struct {
	id, token, who, channel string
	made                    time.Time
	acked                   time.Time
	kind                    int      // of the answer; 0 when there is none
	original                *Message // the answer, or the message the component stands on
	form                    map[string]any
	message                 string // the component's
}

// Interaction is what became of one.
type Interaction struct {
	ID       string
	Answered bool
	Took     time.Duration
	Kind     int      // of the first answer
	Reply    *Message // shown to who acted, when there is one
	Form     map[string]any
}

// Command has a person use a slash command. options are name and value.
func (p *Platform) Command(who, channel, name string, options map[string]string) string {
	list := []any{}
	for k, v := range options {
		list = append(list, map[string]any{"name": k, "type": 3, "value": v})
	}
	return p.interact(who, channel, 2, "", map[string]any{"id": "1", "name": name, "type": 1, "options": list})
}

// Press has a person press a button.
func (p *Platform) Press(who, message, customID string) string {
	return p.interact(who, "", 3, message, map[string]any{"custom_id": customID, "component_type": 2})
}

// Choose has a person choose from a select, of people where the values are such.
func (p *Platform) Choose(who, message, customID string, values ...string) string {
	data := map[string]any{"custom_id": customID, "component_type": 3, "values": values}
	p.mu.Lock()
	if m := p.messages[message]; m != nil {
		if g := p.guilds[p.channels[m.Channel].Guild]; g != nil {
			members := map[string]any{}
			for _, v := range values {
				if g.members[v] != nil {
					o := p.memberObject(g, v)
					delete(o, "user")
					members[v] = o
				}
			}
			if len(members) > 0 {
				data["component_type"], data["resolved"] = 5, map[string]any{"members": members}
			}
		}
	}
	p.mu.Unlock()
	return p.interact(who, "", 3, message, data)
}

// Submit has a person fill in the form that answered an interaction.
func (p *Platform) Submit(who, inter string, fields map[string]string) string {
	p.mu.Lock()
	x := p.inters[inter]
	id := text(x.form, "custom_id")
	p.mu.Unlock()
	rows := []any{}
	for k, v := range fields {
		rows = append(rows, map[string]any{"type": 1, "components": []any{map[string]any{"type": 4, "custom_id": k, "value": v}}})
	}
	return p.interact(who, x.channel, 5, x.message, map[string]any{"custom_id": id, "components": rows})
}

func (p *Platform) interact(who, in string, kind int, message string, data map[string]any) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := p.messages[message]
	if m != nil {
		in = m.Channel
	}
	c := p.channels[in]
	x := &interaction{id: p.id(), who: who, channel: in, made: p.now(), message: message}
	x.token = "token-" + x.id
	p.inters[x.id] = x
	o := map[string]any{
		"id": x.id, "application_id": p.bot.ID, "type": kind, "token": x.token, "version": 1, "channel_id": in, "guild_id": orNil(c.Guild),
		"channel": p.channelObject(c), "data": data, "locale": "en-GB", "attachment_size_limit": mostFile,
	}
	if g := p.guilds[c.Guild]; g != nil {
		o["member"] = p.memberObject(g, who)
	} else {
		o["user"] = userObject(p.users[who])
	}
	if m != nil {
		x.original = m
		o["message"] = p.messageObject(m, intentMessageContent)
	}
	p.event(c.Guild, 0, "INTERACTION_CREATE", o)
	return x.id
}

// Interaction says what became of one.
func (p *Platform) Interaction(id string) Interaction {
	p.mu.Lock()
	defer p.mu.Unlock()
	x := p.inters[id]
	out := Interaction{ID: id, Answered: x.kind != 0, Took: x.acked.Sub(x.made), Kind: x.kind, Form: x.form}
	if x.original != nil && x.original.Ephemeral {
		m := *x.original
		out.Reply = &m
	}
	return out
}

func (c *call) callback() (any, *refusal) {
	x := c.p.inters[c.args[0]]
	kind, _ := c.body["type"].(float64)
	switch {
	case x == nil || x.token != c.args[1]:
		return nil, unknownInteraction
	case x.kind != 0:
		c.p.gripe("an interaction acknowledged twice")
		return nil, acknowledged
	case c.p.now().Sub(x.made) > deadline:
		c.p.gripe("an interaction acknowledged after %v", c.p.now().Sub(x.made))
		return nil, unknownInteraction
	}
	x.kind, x.acked = int(kind), c.p.now()
	data, _ := c.body["data"].(map[string]any)
	inner := &call{p: c.p, body: data, files: c.files}
	switch x.kind {
	case 4:
		return nil, inner.answerTo(x)
	case 5:
		flags, _ := data["flags"].(float64)
		x.original = &Message{ID: c.p.id(), Channel: x.channel, Author: c.p.bot.ID, Ephemeral: int(flags)&64 != 0}
		c.p.messages[x.original.ID] = x.original
	case 7:
		if x.original == nil {
			return nil, badForm
		}
		_, no := inner.edit(x.original)
		return nil, no
	case 9:
		x.form = data
		if title := text(data, "title"); title == "" || len([]rune(title)) > 45 {
			c.p.gripe("a form's title %q is empty or too long", title)
			return nil, badForm
		}
	}
	return nil, nil
}

// answerTo makes the answer to an interaction.
func (c *call) answerTo(x *interaction) *refusal {
	m, no := c.message(c.p.channels[x.channel])
	if no != nil {
		return no
	}
	flags, _ := c.body["flags"].(float64)
	m.Ephemeral = int(flags)&64 != 0
	x.original = m
	if m.Ephemeral {
		c.p.messages[m.ID] = m
		return nil
	}
	c.p.add(m)
	return nil
}

// byToken finds an interaction that can still be answered.
func (c *call) byToken() (*interaction, *refusal) {
	for _, x := range c.p.inters {
		if x.token == c.args[1] {
			if x.kind == 0 || c.p.now().Sub(x.made) > 15*time.Minute {
				return nil, unknownWebhook
			}
			return x, nil
		}
	}
	return nil, unknownWebhook
}

func (c *call) editReply() (any, *refusal) {
	x, no := c.byToken()
	if no != nil {
		return nil, no
	}
	if x.original == nil {
		return nil, unknownMessage
	}
	return c.edit(x.original)
}

func (c *call) followUp() (any, *refusal) {
	x, no := c.byToken()
	if no != nil {
		return nil, no
	}
	if no := c.answerTo(x); no != nil {
		return nil, no
	}
	return c.p.messageObject(x.original, intentMessageContent), nil
}

// Buttons lists the custom ids on a message with their labels; the options of a
// select stand as "id=value".
func (m Message) Buttons() map[string]string {
	var rows []struct {
		Components []struct {
			ID      string `json:"custom_id"`
			Label   string `json:"label"`
			Options []struct{ Label, Value string }
		} `json:"components"`
	}
	_ = json.Unmarshal(m.Components, &rows)
	all := map[string]string{}
	for _, r := range rows {
		for _, c := range r.Components {
			if len(c.Options) == 0 {
				all[c.ID] = c.Label
			}
			for _, o := range c.Options {
				all[c.ID+"="+o.Value] = o.Label
			}
		}
	}
	return all
}
