package fakeplatform

import (
	"encoding/json"
	"maps"
	"slices"
	"strings"
)

// Message is a message as people see it.
type Message struct {
	ID          string
	Channel     string
	Author      string
	Content     string
	Edited      string // when it was edited last
	Nonce       string
	ReplyTo     string
	Ephemeral   bool
	Components  json.RawMessage
	Attachments []Attachment
	pinged      []string // users it mentions with effect
}

// Attachment is a file of a message.
type Attachment struct {
	ID, Name, Kind, Description, URL string
	Size                             int
}

// Guild makes a server with the bot in it.
func (p *Platform) Guild(name string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	g := &guild{ID: p.id(), Name: name, roles: map[string]string{}, members: map[string]map[string]bool{p.bot.ID: {}}}
	p.guilds[g.ID] = g
	p.event(g.ID, intentGuilds, "GUILD_CREATE", p.guildObject(g))
	return g.ID
}

// Channel makes a text channel.
func (p *Platform) Channel(guild, name string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	c := &channel{ID: p.id(), Kind: TextChannel, Guild: guild, Name: name}
	p.channels[c.ID] = c
	p.guilds[guild].channels = append(p.guilds[guild].channels, c.ID)
	return c.ID
}

// User makes a person, a member of all guilds there are.
func (p *Platform) User(name string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	u := &user{ID: p.id(), Name: name}
	p.users[u.ID] = u
	for _, g := range p.guilds {
		g.members[u.ID] = map[string]bool{}
	}
	return u.ID
}

// Role makes a role and gives it to people.
func (p *Platform) Role(guild, name string, who ...string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	g, id := p.guilds[guild], p.id()
	g.roles[id] = name
	for _, w := range who {
		g.members[w][id] = true
	}
	return id
}

// Deny takes permissions from the bot in a channel and its threads.
func (p *Platform) Deny(channel string, permissions int64) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.channels[channel].denied |= permissions
}

// CloseDirectMessages makes a person refuse direct messages.
func (p *Platform) CloseDirectMessages(who string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.users[who].closed = true
}

// Post has a person write something; files are pictures that go with it.
func (p *Platform) Post(who, channel, text string, files ...Upload) Message {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := &Message{ID: p.id(), Channel: channel, Author: who, Content: text}
	for _, f := range files {
		m.Attachments = append(m.Attachments, p.keepFile(f))
	}
	p.channels[channel].archived = false
	p.add(m)
	return *m
}

// Upload is a file that goes with a message.
type Upload struct {
	Name, Kind string
	Data       []byte
}

// keepFile stores a file and gives it an address; the lock is held.
func (p *Platform) keepFile(f Upload) Attachment {
	id := p.id()
	p.files[id] = file{f.Name, f.Kind, f.Data}
	return Attachment{ID: id, Name: f.Name, Kind: f.Kind, Size: len(f.Data), URL: "https://cdn.discordapp.com/attachments/" + id + "/" + f.Name}
}

// Expire makes the address of an attachment stop working.
func (p *Platform) Expire(attachment string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	delete(p.files, attachment)
}

// Edit has the author change a message.
func (p *Platform) Edit(id, text string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := p.messages[id]
	m.Content, m.Edited = text, p.stamp()
	p.tell(m, "MESSAGE_UPDATE")
}

// Unfurl sends the update that a resolved link gives: nothing was edited.
func (p *Platform) Unfurl(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.tell(p.messages[id], "MESSAGE_UPDATE")
}

// Reply has a person answer a message, with the mention that goes with it.
func (p *Platform) Reply(who, to, text string) Message {
	p.mu.Lock()
	defer p.mu.Unlock()
	m := &Message{ID: p.id(), Channel: p.messages[to].Channel, Author: who, Content: text, ReplyTo: to}
	p.add(m)
	return *m
}

// Delete has a message deleted.
func (p *Platform) Delete(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.remove(p.messages[id])
}

func (p *Platform) remove(m *Message) {
	c := p.channels[m.Channel]
	delete(p.messages, m.ID)
	c.list = slices.DeleteFunc(c.list, func(x string) bool { return x == m.ID })
	p.event(c.Guild, p.messageIntent(c), "MESSAGE_DELETE", map[string]any{"id": m.ID, "channel_id": c.ID, "guild_id": orNil(c.Guild)})
	p.changed()
}

// Messages lists what stands in a channel, oldest first, ephemeral ones not.
func (p *Platform) Messages(channel string) []Message {
	p.mu.Lock()
	defer p.mu.Unlock()
	var list []Message
	c := p.channels[channel]
	if c == nil {
		return nil
	}
	for _, id := range c.list {
		if m := p.messages[id]; m != nil && !m.Ephemeral {
			list = append(list, *m)
		}
	}
	return list
}

// FromBot lists what the bot wrote in a channel.
func (p *Platform) FromBot(channel string) []Message {
	return slices.DeleteFunc(p.Messages(channel), func(m Message) bool { return m.Author != p.bot.ID })
}

// Threads lists the threads of a channel that a person is in, oldest first.
func (p *Platform) Threads(parent, who string) []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	var list []string
	for _, id := range slices.Sorted(maps.Keys(p.channels)) {
		if c := p.channels[id]; c.Parent == parent && c.members[who] {
			list = append(list, id)
		}
	}
	return list
}

// Direct is the channel of direct messages with a person; it is made when it is
// not there.
func (p *Platform) Direct(who string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.direct(who).ID
}

func (p *Platform) direct(who string) *channel {
	for _, id := range slices.Sorted(maps.Keys(p.channels)) {
		if c := p.channels[id]; c.Kind == DirectMessage && c.members[who] {
			return c
		}
	}
	c := &channel{ID: p.id(), Kind: DirectMessage, members: map[string]bool{who: true, p.bot.ID: true}}
	p.channels[c.ID] = c
	return c
}

// Archive archives a thread.
func (p *Platform) Archive(thread string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.channels[thread].archived = true
}

// ThreadName is what a thread is called.
func (p *Platform) ThreadName(thread string) string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.channels[thread].Name
}

// Pinged lists whom a message of the bot alerted.
func (p *Platform) Pinged(id string) []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	if m := p.messages[id]; m != nil {
		return slices.Clone(m.pinged)
	}
	return nil
}

// Data is what was uploaded as an attachment.
func (p *Platform) Data(a Attachment) []byte {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.files[a.ID].data
}

// add puts a message into its channel and tells of it; the lock is held.
func (p *Platform) add(m *Message) {
	p.messages[m.ID] = m
	c := p.channels[m.Channel]
	c.list, c.last = append(c.list, m.ID), m.ID
	p.tell(m, "MESSAGE_CREATE")
	p.changed()
}

// mentions says whether a text mentions a user.
func mentions(text, id string) bool {
	return strings.Contains(text, "<@"+id+">") || strings.Contains(text, "<@!"+id+">")
}
