package fakeplatform

import (
	"maps"
	"slices"
	"strconv"
	"unicode/utf8"
)

// may says whether the bot has a permission in a channel; the lock is held.
func (p *Platform) may(c *channel, permission int64) bool {
	if c.Kind == DirectMessage {
		return true
	}
	denied := c.denied
	if parent := p.channels[c.Parent]; parent != nil {
		denied |= parent.denied
	}
	return AsInvited&^denied&permission == permission
}

func (p *Platform) thread(c *channel) bool { return c.Kind == PublicThread || c.Kind == PrivateThread }

// channel finds a channel that the bot can see.
func (c *call) channel() (*channel, *refusal) {
	x := c.p.channels[c.args[0]]
	switch {
	case x == nil:
		return nil, unknownChannel
	case !c.p.may(x, ViewChannel) || x.Kind == PrivateThread && !x.members[c.p.bot.ID]:
		return nil, missingAccess
	}
	return x, nil
}

func (c *call) openDirect() (any, *refusal) {
	u := c.p.users[text(c.body, "recipient_id")]
	if u == nil {
		return nil, badForm
	}
	return c.p.channelObject(c.p.direct(u.ID)), nil
}

func (c *call) getChannel() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	return c.p.channelObject(x), nil
}

func (c *call) patchChannel() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	if archived, ok := c.body["archived"].(bool); ok {
		x.archived = archived
	}
	return c.p.channelObject(x), nil
}

func (c *call) startThread() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	name := text(c.body, "name")
	kind, _ := c.body["type"].(float64)
	switch {
	case x.Kind != TextChannel:
		return nil, &refusal{400, 50024, "Cannot execute action on this channel type"}
	case !c.p.may(x, CreatePrivateThreads) || !c.p.may(x, SendMessagesInThreads):
		return nil, missingPermissions
	case utf8.RuneCountInString(name) < 1 || utf8.RuneCountInString(name) > 100:
		c.p.gripe("a thread's name of %d characters", utf8.RuneCountInString(name))
		return nil, badForm
	case int(kind) != PrivateThread:
		c.p.gripe("a thread of kind %v: everybody could read it", kind)
	}
	t := &channel{
		ID: c.p.id(), Kind: int(kind), Guild: x.Guild, Parent: x.ID, Name: name, Owner: c.p.bot.ID, members: map[string]bool{c.p.bot.ID: true},
	}
	c.p.channels[t.ID] = t
	c.p.event(t.Guild, intentGuilds, "THREAD_CREATE", c.p.channelObject(t))
	return c.p.channelObject(t), nil
}

func (c *call) addToThread() (any, *refusal) {
	x, no := c.channel()
	switch {
	case no != nil:
		return nil, no
	case c.p.users[c.args[1]] == nil:
		return nil, unknownMember
	case x.archived:
		return nil, archivedThread
	}
	x.members[c.args[1]] = true
	return nil, nil
}

func (c *call) inThread() (any, *refusal) {
	x, no := c.channel()
	if no != nil {
		return nil, no
	}
	if !x.members[c.args[1]] {
		return nil, unknownMember
	}
	return map[string]any{"id": x.ID, "user_id": c.args[1]}, nil
}

func (c *call) activeThreads() (any, *refusal) {
	list := []any{}
	for _, id := range slices.Sorted(maps.Keys(c.p.channels)) {
		x := c.p.channels[id]
		if c.p.thread(x) && x.Guild == c.args[0] && !x.archived && x.members[c.p.bot.ID] {
			list = append(list, c.p.channelObject(x))
		}
	}
	return map[string]any{"threads": list, "members": []any{}, "has_more": false}, nil
}

func (c *call) member() (any, *refusal) {
	g := c.p.guilds[c.args[0]]
	if g == nil || g.members[c.args[1]] == nil {
		return nil, unknownMember
	}
	return c.p.memberObject(g, c.args[1]), nil
}

func (p *Platform) memberObject(g *guild, id string) map[string]any {
	return map[string]any{
		"user": userObject(p.users[id]), "roles": slices.Sorted(maps.Keys(g.members[id])), "joined_at": p.stamp(), "deaf": false, "mute": false,
	}
}

func userObject(u *user) map[string]any {
	return map[string]any{"id": u.ID, "username": u.Name, "global_name": nil, "discriminator": "0", "avatar": nil, "bot": u.Bot}
}

func (p *Platform) channelObject(c *channel) map[string]any {
	o := map[string]any{
		"id": c.ID, "type": c.Kind, "guild_id": orNil(c.Guild), "parent_id": orNil(c.Parent), "name": c.Name, "owner_id": orNil(c.Owner),
		"last_message_id": orNil(c.last),
	}
	if p.thread(c) {
		o["thread_metadata"] = map[string]any{"archived": c.archived, "auto_archive_duration": 10080, "locked": false}
	}
	if c.Kind == DirectMessage {
		for id := range c.members {
			if id != p.bot.ID {
				o["recipients"] = []any{userObject(p.users[id])}
			}
		}
	}
	return o
}

// guildObject is a guild as it comes when a session begins: with the threads
// that are active.
func (p *Platform) guildObject(g *guild) map[string]any {
	channels, threads := []any{}, []any{}
	for _, id := range slices.Sorted(maps.Keys(p.channels)) {
		c := p.channels[id]
		switch {
		case c.Guild != g.ID || !p.may(c, ViewChannel):
		case !p.thread(c):
			channels = append(channels, p.channelObject(c))
		case !c.archived && c.members[p.bot.ID]:
			threads = append(threads, p.channelObject(c))
		}
	}
	roles := []any{}
	for _, id := range slices.Sorted(maps.Keys(g.roles)) {
		roles = append(roles, map[string]any{"id": id, "name": g.roles[id]})
	}
	return map[string]any{"id": g.ID, "name": g.Name, "channels": channels, "threads": threads, "roles": roles, "members": []any{}, "member_count": len(g.members)}
}

func orNil(s string) any {
	if s == "" {
		return nil
	}
	return s
}

func older(a, b string) bool {
	x, _ := strconv.ParseUint(a, 10, 64)
	y, _ := strconv.ParseUint(b, 10, 64)
	return x < y
}
