package desk

import (
	"context"
	"errors"
	"strings"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
)

// Say writes to the owner of a case in their talk, for places where nobody but
// the bot can write there. The case must be taken by who writes; the words stand
// in the talk and in the audit.
func (d *Desk) Say(ctx context.Context, p Person, id uint64, text string) (store.Case, error) {
	text = strings.TrimSpace(text)
	if err := checkText(text); err != nil {
		return store.Case{}, err
	}
	if text == "" {
		return store.Case{}, errors.New("there is nothing to say")
	}
	lines := append([]string{d.words.say("says")}, strings.FieldsFunc(text, func(r rune) bool { return r == '\n' || r == '\r' })...)
	step := func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
		said := conversation.Event{Kind: conversation.BotSaid, Time: now, Lines: lines}
		return []conversation.Event{said}, conversation.Turn{V: 1, Turn: st.Turn, Say: lines}, nil
	}
	return d.aside(ctx, p, id, store.Act{Deed: store.DeedSay, Text: text}, turns.Aside{Kind: store.KindNotice, Step: step})
}
