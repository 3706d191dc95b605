package discord

import (
	"bytes"
	"fmt"
	"slices"
	"strings"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/picture"
)

// Limits of the platform for what stands beneath a message.
const (
	mostInRow    = 5
	mostLabel    = 80
	mostOptions  = 25
	mostOption   = 100
	mostCustomID = 100
	mostButtons  = 10 // answers as buttons; more become a select
	mostAlt      = 1024
)

// row is a row of components, in the platform's JSON.
type row struct {
	Type       int         `json:"type"`
	Components []component `json:"components"`
}

type component struct {
	Type        int      `json:"type"`
	CustomID    string   `json:"custom_id"`
	Label       string   `json:"label,omitempty"`
	Style       int      `json:"style,omitempty"`
	Placeholder string   `json:"placeholder,omitempty"`
	Options     []option `json:"options,omitempty"`
	Most        int      `json:"max_length,omitempty"`
}

type option struct {
	Label string `json:"label"`
	Value string `json:"value"`
}

const (
	typeRow        = 1
	typeButton     = 2
	typeSelect     = 3
	typeText       = 4
	typeUserSelect = 5

	styleFirst = 1
	stylePlain = 2
)

func button(id, label string, style int) component {
	return component{Type: typeButton, CustomID: id, Label: shorten(label, mostLabel), Style: style}
}

// rows puts buttons into rows.
func rows(list []component) []row {
	var out []row
	for part := range slices.Chunk(list, mostInRow) {
		out = append(out, row{typeRow, part})
	}
	return out
}

func selection(id, placeholder string, list []option) row {
	return row{typeRow, []component{{Type: typeSelect, CustomID: id, Placeholder: placeholder, Options: list}}}
}

// custom is what a component is called: version, kind and what it is about. The
// buttons of former runs work by it, since nothing of them is in memory.
func custom(parts ...string) string { return "t1|" + strings.Join(parts, "|") }

// parts reads it; nil when it is none of this program.
func parts(id string) []string {
	list := strings.Split(id, "|")
	if list[0] != "t1" || len(list) < 3 {
		return nil
	}
	return list[1:]
}

// render puts a message of the outbox into messages of the platform.
func (a *Adapter) render(o store.Outgoing, p place) ([]outgoing, error) {
	if o.Kind == store.KindCase {
		m, err := a.casePost(o.Case)
		return []outgoing{m}, err
	}
	lines := o.Lines
	var files []upload
	if o.Ask != nil {
		drawn, err := a.drawing(o)
		if err != nil {
			return nil, err
		}
		if drawn != nil { // the picture says what the lines would draw
			files = append(files, *drawn)
			lines = slices.DeleteFunc(slices.Clone(lines), isDrawn)
		}
	}
	var list []outgoing
	for _, text := range split(lines, mostText) {
		list = append(list, outgoing{Content: text})
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("a message without words")
	}
	list[0].ReplyTo = a.pointBack(o)
	last := &list[len(list)-1]
	last.Files = files
	last.Components = a.answers(o.Ask, p)
	return list, nil
}

// pointBack is the message that is answered, edited or not; an interaction is none.
func (a *Adapter) pointBack(o store.Outgoing) string {
	id, _, _ := strings.Cut(o.ReplyTo, "@")
	id, _, _ = strings.Cut(id, "/")
	return userOf(id)
}

// answers puts the answers on offer beneath a question, and what else an owner
// may want of it.
func (a *Adapter) answers(ask *conversation.TurnAsk, p place) []row {
	if ask == nil {
		return nil
	}
	var out []row
	switch n := len(ask.Options); {
	case n == 0, n > mostOptions, slices.ContainsFunc(ask.Options, func(x conversation.TurnOption) bool { return len(custom("a", ask.Check, x.ID)) > mostCustomID }):
		// answered in words; they stand in the text
	case n <= mostButtons && !slices.ContainsFunc(ask.Options, func(x conversation.TurnOption) bool { return size(x.Label) > mostLabel }):
		var list []component
		for _, x := range ask.Options {
			list = append(list, button(custom("a", ask.Check, x.ID), x.Label, styleFirst))
		}
		out = rows(list)
	default:
		var list []option
		for _, x := range ask.Options {
			list = append(list, option{shorten(x.Label, mostOption), x.ID})
		}
		out = append(out, selection(custom("a", ask.Check), a.words.say("choose"), list))
	}
	if ask.Kind == askPlace {
		return out
	}
	var beside []component
	names := []string{"person"}
	if ask.Kind == "look" || ask.Kind == "try" || ask.Kind == "measure" {
		names = []string{"cannot", "how", "why", "person"}
	}
	for _, n := range names {
		beside = append(beside, button(custom("s", n, ask.Check), a.words.say("press-"+n), stylePlain))
	}
	if p.kind != inDirect && !a.c.Content {
		beside = append(beside, button(custom("w", "write", ask.Check), a.words.say("press-write"), stylePlain))
	}
	return append(out, rows(beside)...)
}

// askPlace is the kind of a question of the adapter's own: where to talk.
const askPlace = "place"

func (a *Adapter) askHere() *conversation.TurnAsk {
	return &conversation.TurnAsk{
		Check: "here", Kind: askPlace, Options: []conversation.TurnOption{{ID: "here", Label: a.words.say("talk-here")}},
	}
}

// drawing is the picture of the check that is asked, nil when there is none.
func (a *Adapter) drawing(o store.Outgoing) (*upload, error) {
	check := a.c.KB.Check(o.Ask.Check)
	if check == nil || check.Kind != "measure" {
		return nil, nil
	}
	t, _, err := a.c.Store.Talk(o.Conversation)
	if err != nil {
		return nil, err
	}
	kit := a.c.KB.Kit(t.Kit)
	if kit == nil || !picture.Drawable(kit, check) {
		return nil, nil
	}
	key := kit.ID + "/" + check.ID
	if got, ok := a.drawn.Load(key); ok {
		return got.(*upload), nil
	}
	pic, err := picture.Check(a.c.KB, kit, check)
	if err != nil {
		a.c.Log.Error("a check cannot be drawn", "check", check.ID, "kit", kit.ID, "error", err)
		return nil, nil
	}
	u, err := asUpload(pic)
	if err == nil {
		a.drawn.Store(key, u)
	}
	return u, err
}

func asUpload(pic *picture.Picture) (*upload, error) {
	var png bytes.Buffer
	if err := pic.PNG(&png, picture.FileScale); err != nil {
		return nil, fmt.Errorf("drawing %q: %w", pic.Name(), err)
	}
	return &upload{name: pic.Name() + picture.PNG.Ending(), kind: "image/png", alt: shorten(pic.Alt(), mostAlt), data: png.Bytes()}, nil
}
