package discord

import (
	"context"
	"encoding/json"
	"fmt"

	"github.com/bwmarrin/discordgo"
)

// What this package reads of the platform's objects. discordgo's own types fail
// as a whole on a part they do not know, and its event then comes with nothing in
// it; these leave out what they do not need.

type author struct {
	ID     string `json:"id"`
	Name   string `json:"username"`
	Global string `json:"global_name"`
	Bot    bool   `json:"bot"`
}

// shown is what people call somebody.
func (a author) shown() string {
	if a.Global != "" {
		return a.Global
	}
	return a.Name
}

type member struct {
	User  *author  `json:"user"`
	Roles []string `json:"roles"`
}

type attachment struct {
	ID   string `json:"id"`
	Name string `json:"filename"`
	Kind string `json:"content_type"`
	Size int    `json:"size"`
	URL  string `json:"url"`
}

type message struct {
	ID          string          `json:"id"`
	Channel     string          `json:"channel_id"`
	Guild       string          `json:"guild_id"`
	Author      *author         `json:"author"`
	Content     string          `json:"content"`
	Webhook     string          `json:"webhook_id"`
	Kind        int             `json:"type"`
	Edited      string          `json:"edited_timestamp"`
	Nonce       json.RawMessage `json:"nonce"`
	Mentions    []author        `json:"mentions"`
	Attachments []attachment    `json:"attachments"`
	Reference   *struct {
		Message string `json:"message_id"`
	} `json:"message_reference"`
}

// Kinds of messages that people write.
const (
	kindDefault = 0
	kindReply   = 19
)

// written says whether a person wrote a message.
func (m *message) written() bool {
	return isID(m.ID) && isID(m.Channel) && m.Author != nil && isID(m.Author.ID) && !m.Author.Bot && m.Webhook == "" &&
		(m.Kind == kindDefault || m.Kind == kindReply)
}

// Kinds of channels.
const (
	channelText          = 0
	channelDirect        = 1
	channelPublicThread  = 11
	channelPrivateThread = 12
)

type channel struct {
	ID      string `json:"id"`
	Kind    int    `json:"type"`
	Guild   string `json:"guild_id"`
	Parent  string `json:"parent_id"`
	OwnerID string `json:"owner_id"`
	Last    string `json:"last_message_id"`
	Thread  *struct {
		Archived bool `json:"archived"`
		Locked   bool `json:"locked"`
	} `json:"thread_metadata"`
}

func (c channel) isThread() bool {
	return c.Kind == channelPublicThread || c.Kind == channelPrivateThread || c.Kind == 10
}

type guild struct {
	ID          string    `json:"id"`
	Unavailable bool      `json:"unavailable"`
	Channels    []channel `json:"channels"`
	Threads     []channel `json:"threads"`
}

// Kinds of interactions.
const (
	interactionCommand   = 2
	interactionComponent = 3
	interactionForm      = 5
)

type interaction struct {
	ID      string   `json:"id"`
	App     string   `json:"application_id"`
	Kind    int      `json:"type"`
	Token   string   `json:"token"`
	Channel string   `json:"channel_id"`
	Guild   string   `json:"guild_id"`
	Where   *channel `json:"channel"`
	Member  *member  `json:"member"`
	User    *author  `json:"user"`
	Message *message `json:"message"`
	Data    *struct {
		Name     string   `json:"name"`
		CustomID string   `json:"custom_id"`
		Values   []string `json:"values"`
		Options  []struct {
			Name  string `json:"name"`
			Value any    `json:"value"`
		} `json:"options"`
		Components []struct {
			Components []struct {
				CustomID string `json:"custom_id"`
				Value    string `json:"value"`
			} `json:"components"`
		} `json:"components"`
		Resolved *struct {
			Members map[string]member `json:"members"`
		} `json:"resolved"`
	} `json:"data"`
}

// who acts: a member in a server, a user in a direct message.
func (i *interaction) who() *author {
	if i.Member != nil && i.Member.User != nil {
		return i.Member.User
	}
	return i.User
}

// roles are those of who acts, on this server.
func (i *interaction) roles() []string {
	if i.Member == nil {
		return nil
	}
	return i.Member.Roles
}

func (i *interaction) sound() bool {
	who := i.who()
	return isID(i.ID) && i.Token != "" && isID(i.Channel) && who != nil && isID(who.ID) && i.Data != nil
}

// option is the value of a command's option.
func (i *interaction) option(name string) string {
	for _, o := range i.Data.Options {
		if s, ok := o.Value.(string); ok && o.Name == name {
			return s
		}
	}
	return ""
}

// field is what was written into a form's field.
func (i *interaction) field(name string) string {
	for _, row := range i.Data.Components {
		for _, c := range row.Components {
			if c.CustomID == name {
				return c.Value
			}
		}
	}
	return ""
}

// handler is the one function that discordgo calls. It stands between the reading
// of the gateway and everything else, so it only sorts and puts aside, and
// whatever goes wrong in it ends there.
func (a *Adapter) handler(s *shard) func(*discordgo.Session, *discordgo.Event) {
	return func(_ *discordgo.Session, e *discordgo.Event) {
		defer func() {
			if p := recover(); p != nil {
				a.c.Log.Error("an event broke down", "kind", e.Type, "panic", fmt.Sprintf("%T", p))
			}
		}()
		if e == nil || len(e.RawData) == 0 {
			return
		}
		a.event(s, e.Type, e.RawData)
	}
}

// event sorts one event.
func (a *Adapter) event(s *shard, kind string, data json.RawMessage) {
	switch kind {
	case "READY":
		var ready struct {
			Guilds []guild `json:"guilds"`
			User   author  `json:"user"`
			App    struct {
				ID string `json:"id"`
			} `json:"application"`
		}
		if a.read(kind, data, &ready) && isID(ready.User.ID) {
			s.ready.Store(true)
			a.begun(s, ready.User.ID, ready.App.ID, ready.Guilds)
		}
	case "GUILD_CREATE":
		var g guild
		if a.read(kind, data, &g) && isID(g.ID) && !g.Unavailable {
			a.guildSeen(s, g)
		}
	case "MESSAGE_CREATE":
		var m message
		if a.read(kind, data, &m) && m.written() {
			a.heard(&m)
		}
	case "MESSAGE_UPDATE":
		var m message
		if a.read(kind, data, &m) && m.written() && m.Edited != "" {
			a.lanes.add(m.Channel+"/"+m.Author.ID, true, func(ctx context.Context) error { return a.edited(ctx, &m) })
		}
	case "MESSAGE_DELETE":
		var m message
		if a.read(kind, data, &m) && isID(m.ID) && isID(m.Channel) {
			a.gone(m.Channel, m.ID)
		}
	case "MESSAGE_DELETE_BULK":
		var m struct {
			IDs     []string `json:"ids"`
			Channel string   `json:"channel_id"`
		}
		if a.read(kind, data, &m) && isID(m.Channel) {
			a.gone(m.Channel, m.IDs...)
		}
	case "INTERACTION_CREATE":
		var i interaction
		if a.read(kind, data, &i) && i.sound() {
			a.acted(&i)
		}
	}
}

// read decodes an event; one that does not read is counted and left.
func (a *Adapter) read(kind string, data json.RawMessage, into any) bool {
	if err := json.Unmarshal(data, into); err != nil {
		a.unread.Add(1)
		a.c.Log.Warn("an event does not read", "kind", kind)
		return false
	}
	return true
}
