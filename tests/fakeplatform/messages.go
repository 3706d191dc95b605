package fakeplatform

import (
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"
)

const (
	mostContent = 2000
	mostFile    = 10 << 20
	mostNonce   = 25
)

func (p *Platform) stamp() string { return p.now().UTC().Format("2006-01-02T15:04:05.000000+00:00") }

func (p *Platform) messageIntent(c *channel) int {
	if c.Kind == DirectMessage {
		return intentDirectMessages
	}
	return intentGuildMessages
}

// tell gives a message to all who may see it; the lock is held.
func (p *Platform) tell(m *Message, kind string) {
	c := p.channels[m.Channel]
	p.event(c.Guild, p.messageIntent(c), kind, func(s *session) any { return p.messageObject(m, s.intents) })
}

// readable says whether the bot gets the content of a message without being
// granted all content.
func (p *Platform) readable(m *Message, c *channel) bool {
	if m.Author == p.bot.ID || c.Kind == DirectMessage || mentions(m.Content, p.bot.ID) {
		return true
	}
	to := p.messages[m.ReplyTo]
	return to != nil && to.Author == p.bot.ID
}

func (p *Platform) messageObject(m *Message, intents int) map[string]any {
	c := p.channels[m.Channel]
	o := map[string]any{
		"id": m.ID, "channel_id": m.Channel, "guild_id": orNil(c.Guild), "author": userObject(p.users[m.Author]), "content": "",
		"timestamp": p.stamp(), "edited_timestamp": orNil(m.Edited), "tts": false, "mention_everyone": false, "mentions": []any{},
		"mention_roles": []any{}, "attachments": []any{}, "embeds": []any{}, "components": []any{}, "pinned": false, "type": 0,
	}
	if g := p.guilds[c.Guild]; g != nil && g.members[m.Author] != nil {
		o["member"] = p.memberObject(g, m.Author)
	}
	if m.Nonce != "" {
		o["nonce"] = m.Nonce
	}
	if m.ReplyTo != "" {
		o["type"], o["message_reference"] = 19, map[string]any{"message_id": m.ReplyTo, "channel_id": m.Channel}
	}
	to := p.messages[m.ReplyTo]
	if mentions(m.Content, p.bot.ID) || to != nil && to.Author == p.bot.ID && m.Author != p.bot.ID {
		o["mentions"] = []any{userObject(p.bot)}
	}
	if intents&intentMessageContent == 0 && !p.readable(m, c) {
		return o
	}
	o["content"] = m.Content
	if len(m.Components) > 0 {
		o["components"] = m.Components
	}
	list := []any{}
	for _, a := range m.Attachments {
		list = append(list, map[string]any{
			"id": a.ID, "filename": a.Name, "content_type": a.Kind, "size": a.Size, "description": orNil(a.Description), "url": a.URL, "proxy_url": a.URL,
		})
	}
	o["attachments"] = list
	return o
}

func (c *call) history() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	list := []any{}
	if !c.p.may(x, ReadHistory) {
		return list, nil // not an error
	}
	limit, _ := strconv.Atoi(c.query["limit"])
	if limit < 1 || limit > 100 {
		limit = 50
	}
	ids := slices.DeleteFunc(slices.Clone(x.list), func(id string) bool {
		m := c.p.messages[id]
		return m == nil || m.Ephemeral || c.query["after"] != "" && !older(c.query["after"], id) || c.query["before"] != "" && !older(id, c.query["before"])
	})
	if c.query["after"] != "" {
		ids = ids[:min(limit, len(ids))]
	} else {
		ids = ids[max(0, len(ids)-limit):]
	}
	intents := 0
	for _, s := range c.p.gateway.sessions {
		intents |= s.intents
	}
	for _, id := range slices.Backward(ids) { // newest first
		list = append(list, c.p.messageObject(c.p.messages[id], intents))
	}
	return list, nil
}

func (c *call) create() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	need := int64(SendMessages)
	if c.p.thread(x) {
		need = SendMessagesInThreads
	}
	if !c.p.may(x, need) {
		return nil, missingPermissions
	}
	for who := range x.members {
		if x.Kind == DirectMessage && c.p.users[who].closed {
			return nil, closedToMessages
		}
	}
	m, no := c.message(x)
	if no != nil {
		return nil, no
	}
	nonce := text(c.body, "nonce")
	if enforce, _ := c.body["enforce_nonce"].(bool); enforce && nonce != "" {
		if known := c.p.nonces[x.ID+" "+nonce]; known != "" {
			old := c.p.messages[known]
			if old == nil {
				return nil, unknownMessage
			}
			c.p.doubled++
			return c.p.messageObject(old, intentMessageContent), nil
		}
		c.p.nonces[x.ID+" "+nonce] = m.ID
	}
	m.Nonce = nonce
	x.archived = false
	c.p.add(m)
	return c.p.messageObject(m, intentMessageContent), nil
}

// message makes a message of the bot from a body, and refuses what the platform
// would refuse.
func (c *call) message(x *channel) (*Message, *refusal) {
	m := &Message{ID: c.p.id(), Channel: x.ID, Author: c.p.bot.ID, Content: text(c.body, "content")}
	if no := c.checkBody(m.Content); no != nil {
		return nil, no
	}
	if len(text(c.body, "nonce")) > mostNonce {
		c.p.gripe("a nonce of %d characters", len(text(c.body, "nonce")))
		return nil, badForm
	}
	if ref, ok := c.body["message_reference"].(map[string]any); ok {
		m.ReplyTo = text(ref, "message_id")
		to := c.p.messages[m.ReplyTo]
		if strict, set := ref["fail_if_not_exists"].(bool); (to == nil || to.Channel != x.ID) && (strict || !set) {
			return nil, badForm
		} else if to == nil || to.Channel != x.ID {
			m.ReplyTo = ""
		}
		if !c.p.may(x, ReadHistory) {
			return nil, &refusal{400, 160002, "Cannot reply without permission to read message history"}
		}
	}
	if no := c.attach(m, x); no != nil {
		return nil, no
	}
	if m.Content == "" && len(m.Attachments) == 0 {
		c.p.gripe("an empty message")
		return nil, &refusal{400, 50006, "Cannot send an empty message"}
	}
	if list, ok := c.body["components"]; ok && list != nil {
		m.Components, _ = json.Marshal(list)
	}
	m.pinged = c.pings(m.Content)
	return m, nil
}

func (c *call) attach(m *Message, x *channel) *refusal {
	if len(c.files) > 0 && !c.p.may(x, AttachFiles) {
		return missingPermissions
	}
	if len(c.files) > 10 {
		return &refusal{400, 30015, "Maximum number of attachments in a message reached"}
	}
	told, _ := c.body["attachments"].([]any)
	for i, f := range c.files {
		if len(f.Data) > mostFile {
			return &refusal{413, 40005, "Request entity too large"}
		}
		a := c.p.keepFile(f)
		if i < len(told) {
			t, _ := told[i].(map[string]any)
			a.Description = text(t, "description")
		}
		if utf8.RuneCountInString(a.Description) > 1024 {
			c.p.gripe("a description of %d characters", utf8.RuneCountInString(a.Description))
			return badForm
		}
		m.Attachments = append(m.Attachments, a)
	}
	return nil
}

// checkBody holds a body to the limits, and complains about what a person would
// not notice: null where a list belongs, and mentions that are not forbidden.
func (c *call) checkBody(content string) *refusal {
	if n := utf8.RuneCountInString(content); n > mostContent {
		c.p.gripe("a message of %d characters", n)
		return badForm
	}
	for key, v := range c.body {
		if v == nil {
			c.p.gripe("%s is null", key)
		}
	}
	if mentionsOf, ok := c.body["allowed_mentions"].(map[string]any); !ok {
		c.p.gripe("mentions are left to the platform's default")
	} else if _, ok := mentionsOf["parse"].([]any); !ok {
		c.p.gripe("allowed_mentions without a list to parse")
	}
	return c.checkComponents()
}

func (c *call) checkComponents() *refusal {
	rows, _ := c.body["components"].([]any)
	seen := map[string]bool{}
	bad := func(format string, a ...any) *refusal {
		c.p.gripe(format, a...)
		return badForm
	}
	if len(rows) > 5 {
		return bad("%d rows of components", len(rows))
	}
	for _, r := range rows {
		row, _ := r.(map[string]any)
		list, _ := row["components"].([]any)
		if len(list) < 1 || len(list) > 5 {
			return bad("%d components in a row", len(list))
		}
		for _, x := range list {
			one, _ := x.(map[string]any)
			id := text(one, "custom_id")
			if len(id) < 1 || len(id) > 100 || seen[id] {
				return bad("custom_id %q is too long, empty or there twice", id)
			}
			seen[id] = true
			if utf8.RuneCountInString(text(one, "label")) > 80 {
				return bad("a label of more than 80 characters")
			}
			options, isList := one["options"].([]any)
			if isList && (len(options) > 25 || len(list) > 1) {
				return bad("%d options, beside %d others", len(options), len(list)-1)
			}
			for _, o := range options {
				m, _ := o.(map[string]any)
				if n := utf8.RuneCountInString(text(m, "label")); n < 1 || n > 100 || len(text(m, "value")) > 100 || text(m, "value") == "" {
					return bad("an option whose label or value is empty or too long")
				}
			}
		}
	}
	return nil
}

var mention = regexp.MustCompile(`<@!?(\d+)>|<@&(\d+)>|@everyone|@here`)

// pings lists whom a text alerts, by what the body allows.
func (c *call) pings(content string) []string {
	allowed, _ := c.body["allowed_mentions"].(map[string]any)
	parse, _ := allowed["parse"].([]any)
	users, _ := allowed["users"].([]any)
	kind := func(name string) bool { return allowed == nil || slices.Contains(parse, any(name)) }
	var list []string
	for _, m := range mention.FindAllStringSubmatch(content, -1) {
		switch {
		case m[1] != "" && (kind("users") || slices.Contains(users, any(m[1]))):
			list = append(list, m[1])
		case m[2] != "" && kind("roles"), strings.HasPrefix(m[0], "@") && kind("everyone"):
			list = append(list, m[0])
		}
	}
	return list
}

func (c *call) patch() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	m := c.p.messages[c.args[1]]
	switch {
	case m == nil || m.Channel != x.ID:
		return nil, unknownMessage
	case m.Author != c.p.bot.ID:
		return nil, anothersMessage
	case x.archived:
		return nil, archivedThread
	}
	return c.edit(m)
}

func (c *call) remove() (any, *refusal) {
	m := c.p.messages[c.args[1]]
	if m == nil {
		return nil, unknownMessage
	}
	if m.Author != c.p.bot.ID {
		return nil, missingPermissions
	}
	c.p.remove(m)
	return nil, nil
}

// edit changes a message of the bot.
func (c *call) edit(m *Message) (any, *refusal) {
	if no := c.checkBody(text(c.body, "content")); no != nil {
		return nil, no
	}
	if s, ok := c.body["content"].(string); ok {
		m.Content = s
	}
	if list, ok := c.body["components"]; ok {
		m.Components, _ = json.Marshal(list)
	}
	if no := c.attach(m, c.p.channels[m.Channel]); no != nil {
		return nil, no
	}
	m.Edited = c.p.stamp()
	if !m.Ephemeral {
		c.p.tell(m, "MESSAGE_UPDATE")
	}
	return c.p.messageObject(m, intentMessageContent), nil
}
