package desk

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/kb"
)

// Outcome is what a case is closed with: what it was and what mended it, by
// their ids in the knowledge base, or that it was not found.
type Outcome struct {
	Cause    string // [Unlisted] for one the rules do not know
	Remedy   string // [Unlisted] likewise
	Text     string // a note to it; needed where something is unlisted
	NotFound bool
	Replaced bool        // the part is a new one, not mended in place
	Bike     *store.Bike // what is known of it; nil for nothing
}

// Unlisted stands for a cause or remedy that the knowledge base does not have.
const Unlisted = "unlisted"

// mostNote bounds a note, in characters, and mostName a name.
const (
	mostNote = 4000
	mostName = 200
)

// act does something to a case and tells the owner and the volunteers.
func (d *Desk) act(ctx context.Context, p Person, id uint64, a store.Act, tell func(store.Case) []store.Outgoing) (store.Case, error) {
	if err := p.May(Work); err != nil {
		return store.Case{}, err
	}
	c, _, err := d.c.Store.Case(id)
	if err != nil {
		return store.Case{}, err
	}
	a.Time, a.Who = d.c.Now(), p.Name
	var say []store.Outgoing
	if tell != nil {
		say = tell(c)
	}
	after, queued, err := d.c.Store.Act(ctx, id, a, say...)
	if err != nil {
		return store.Case{}, err
	}
	d.c.Feed.tell(Change{id, after.Conversation, string(a.Deed)})
	d.c.Runner.Send(queued...)
	d.c.Log.Info("somebody acted on a case", "case", id, "deed", string(a.Deed))
	return after, nil
}

// notice is a sentence to the owner of a case, in the language they speak.
func (d *Desk) notice(c store.Case, sentence string) store.Outgoing {
	return store.Outgoing{To: c.Conversation, Kind: store.KindNotice, Lines: []string{d.spokenIn(c.Conversation).say(sentence)}, Made: d.c.Now()}
}

// announce tells the volunteers, when there is a place for it.
func (d *Desk) announce(kind store.Kind, lines ...string) []store.Outgoing {
	if d.c.Announce == "" {
		return nil
	}
	return []store.Outgoing{{To: d.c.Announce, Kind: kind, Lines: lines, Made: d.c.Now()}}
}

// Take gives a waiting case to who asks. Taking what one has already is no error.
func (d *Desk) Take(ctx context.Context, p Person, id uint64) (store.Case, error) {
	c, err := d.act(ctx, p, id, store.Act{Deed: store.DeedTake}, func(c store.Case) []store.Outgoing {
		return []store.Outgoing{d.notice(c, "taken")}
	})
	if taken := (*store.TakenError)(nil); errors.As(err, &taken) && taken.By == p.Name {
		c, _, err = d.c.Store.Case(id)
	}
	return c, err
}

// Note adds words to the audit of a case; the owner does not see them.
func (d *Desk) Note(ctx context.Context, p Person, id uint64, text string) (store.Case, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return store.Case{}, input("a note needs words")
	}
	if err := checkText(text); err != nil {
		return store.Case{}, err
	}
	return d.act(ctx, p, id, store.Act{Deed: store.DeedNote, Text: text}, nil)
}

// InputError says what is wrong with what somebody gave.
type InputError struct{ Text string }

func (e *InputError) Error() string { return e.Text }

func input(format string, a ...any) error { return &InputError{fmt.Sprintf(format, a...)} }

func checkText(text string) error {
	switch {
	case !utf8.ValidString(text) || strings.ContainsRune(text, 0):
		return input("a note must be plain text in UTF-8")
	case utf8.RuneCountInString(text) > mostNote:
		return input("a note of %d characters is longer than the %d that fit; split it", utf8.RuneCountInString(text), mostNote)
	}
	return nil
}

// HandOn gives a case to somebody else; with "" it waits for anybody.
func (d *Desk) HandOn(ctx context.Context, p Person, id uint64, to string) (store.Case, error) {
	to = strings.TrimSpace(to)
	if len(to) > mostName || !utf8.ValidString(to) || strings.ContainsFunc(to, func(r rune) bool { return r < ' ' }) {
		return store.Case{}, input("%q is no name to hand a case to", to)
	}
	a := store.Act{Deed: store.DeedHandOn, To: to, Keeper: p.May(Keep) == nil}
	return d.act(ctx, p, id, a, func(c store.Case) []store.Outgoing {
		if to == "" {
			return append(d.announce(store.KindCase), d.notice(c, "waiting-again"))
		}
		word := d.words.say("handed-to", "case", strconv.FormatUint(id, 10), "to", to)
		return append(d.announce(store.KindWord, word), d.notice(c, "handed-on"))
	})
}

// Close ends a case, and with it the talk: what its owner writes after that
// starts a new hunt.
func (d *Desk) Close(ctx context.Context, p Person, id uint64, o Outcome) (store.Case, error) {
	if err := d.checkOutcome(o); err != nil {
		return store.Case{}, err
	}
	a := store.Act{Deed: store.DeedClose, Cause: o.Cause, Remedy: o.Remedy, NotFound: o.NotFound, Text: strings.TrimSpace(o.Text), Replaced: o.Replaced, Bike: o.Bike}
	step := func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
		return d.c.Engine.CloseByPerson(st, d.closing(o, st.Language), now)
	}
	return d.aside(ctx, p, id, a, turns.Aside{Kind: store.KindNotice, Step: step})
}

// checkOutcome refuses an outcome that says nothing, or what nobody can know.
func (d *Desk) checkOutcome(o Outcome) error {
	if err := checkText(o.Text); err != nil {
		return err
	}
	if err := d.checkBike(o.Bike); err != nil {
		return err
	}
	if o.NotFound {
		if o.Cause != "" || o.Remedy != "" {
			return store.ErrHalfFound
		}
		return nil
	}
	if o.Cause == "" || o.Remedy == "" {
		return store.ErrHalfFound
	}
	k := d.c.Engine.KB()
	cause, remedy := k.Cause(o.Cause), k.Remedy(o.Remedy)
	if cause == nil && o.Cause != Unlisted {
		return unknown("cause", o.Cause, ids(k.Causes, func(c *kb.Cause) string { return c.ID }))
	}
	if remedy == nil && o.Remedy != Unlisted {
		return unknown("remedy", o.Remedy, ids(k.Remedies, func(r *kb.Remedy) string { return r.ID }))
	}
	if (cause == nil || remedy == nil) && strings.TrimSpace(o.Text) == "" {
		return input("what is %s needs a note that says what it was", Unlisted)
	}
	return nil
}

// closing says an outcome to the owner.
func (d *Desk) closing(o Outcome, language string) []string {
	words, k := d.in(language), d.c.Engine.In(language).KB()
	if o.NotFound {
		return []string{words.say("not-found")}
	}
	after := words.say("closed-after")
	cause, remedy := k.Cause(o.Cause), k.Remedy(o.Remedy)
	if cause == nil || remedy == nil {
		return []string{words.say("closed-unlisted"), after}
	}
	return []string{words.say("closed", "cause", cause.Name, "remedy", remedy.Name), after}
}

// What no bike has run, in km, and how long a mark is.
const (
	mostDistance = 1_000_000
	mostMark     = 40
)

// checkBike refuses what cannot be so: it would bend the statistics for good.
func (d *Desk) checkBike(b *store.Bike) error {
	if b == nil {
		return nil
	}
	if b.Kit != "" && d.c.Engine.KB().Kit(b.Kit) == nil {
		return input("there is no kit %q", b.Kit)
	}
	if !(b.Distance >= 0 && b.Distance <= mostDistance) {
		return input("%g km is no distance that a bike has run", b.Distance)
	}
	if b.Built != "" {
		if t, err := time.Parse("2006-01", b.Built); err != nil || t.After(d.c.Now()) {
			return input("%q is no month in which a bike was built; write it like 2026-03", b.Built)
		}
	}
	if utf8.RuneCountInString(b.Mark) > mostMark || strings.ContainsFunc(b.Mark, func(r rune) bool { return !unicode.IsPrint(r) }) {
		return input("%q is no mark of a bike: up to %d letters and figures", b.Mark, mostMark)
	}
	return nil
}

// ErrUnknown is returned for a cause, remedy or check that is not in the
// knowledge base.
var ErrUnknown = errors.New("the knowledge base does not have it")

func unknown(what, id string, all []string) error {
	hint := fmt.Sprintf("write %q where the rules do not know it, with a note", Unlisted)
	if near := kb.Likely(id, all); near != "" {
		hint = fmt.Sprintf("did you mean %q? Or %s", near, hint)
	}
	return fmt.Errorf("there is no %s %q: %w; %s", what, id, ErrUnknown, hint)
}

func ids[T any](list []T, id func(T) string) []string {
	var all []string
	for _, x := range list {
		all = append(all, id(x))
	}
	return all
}

// Reopen has a closed case wait for somebody again.
func (d *Desk) Reopen(ctx context.Context, p Person, id uint64) (store.Case, error) {
	step := func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
		return d.c.Engine.HandOverAgain(st, []string{d.in(st.Language).say("reopened")}, now)
	}
	return d.aside(ctx, p, id, store.Act{Deed: store.DeedReopen}, turns.Aside{Kind: store.KindNotice, Tell: d.announce(store.KindCase), Step: step})
}

// AskCheck has the bot ask the owner a check by its id; the answer enters belief
// and case. The case must be taken by who asks. What this owner must not be
// asked now is a [conversation.NotNowError].
func (d *Desk) AskCheck(ctx context.Context, p Person, id uint64, check string) error {
	k := d.c.Engine.KB()
	if k.Check(check) == nil {
		near := kb.Likely(check, ids(k.Checks, func(c *kb.Check) string { return c.ID }))
		return fmt.Errorf("there is no check %q: %w; did you mean %q?", check, ErrUnknown, cmp.Or(near, k.Checks[0].ID))
	}
	step := func(st *conversation.State, now time.Time) ([]conversation.Event, conversation.Turn, error) {
		return d.c.Engine.AskNamed(st, check, now)
	}
	_, err := d.aside(ctx, p, id, store.Act{Deed: store.DeedAsk, Text: check}, turns.Aside{Step: step})
	return err
}

// aside does something to a case together with a turn of its talk.
func (d *Desk) aside(ctx context.Context, p Person, id uint64, a store.Act, turn turns.Aside) (store.Case, error) {
	if err := p.May(Work); err != nil {
		return store.Case{}, err
	}
	c, _, err := d.c.Store.Case(id)
	if err != nil {
		return store.Case{}, err
	}
	a.Time, a.Who = d.c.Now(), p.Name
	if _, err := c.After(a); err != nil {
		return store.Case{}, err
	}
	turn.Conversation, turn.Act = c.Conversation, &a
	if err := d.c.Runner.Aside(ctx, turn); err != nil {
		return store.Case{}, err
	}
	d.c.Log.Info("somebody acted on a case", "case", id, "deed", string(a.Deed))
	c, _, err = d.c.Store.Case(id)
	return c, err
}

// Forget erases an owner; see [store.Store.Forget].
func (d *Desk) Forget(ctx context.Context, p Person, owner string) (store.Erased, error) {
	if err := p.May(Keep); err != nil {
		return store.Erased{}, err
	}
	e, err := d.c.Runner.Forget(ctx, owner)
	if err == nil {
		d.c.Log.Info("an owner was forgotten", "conversations", e.Conversations, "cases", e.Cases)
		d.c.Feed.tell(Change{Kind: LookAgain})
	}
	return e, err
}

// Backup writes a checked copy of the store.
func (d *Desk) Backup(ctx context.Context, p Person, w io.Writer) (store.Contents, error) {
	if err := p.May(Keep); err != nil {
		return store.Contents{}, err
	}
	return d.c.Store.Backup(ctx, w)
}
