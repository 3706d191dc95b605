package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
)

func encodeJSON(v any) ([]byte, error) {
	data, err := json.Marshal(v)
	if err != nil {
		return nil, fmt.Errorf("encoding an answer: %w", err)
	}
	return data, nil
}

// person is who acts, with the roles that their roles on the platform stand for.
func (a *Adapter) person(id string, roles []string) desk.Person {
	p := desk.Person{Name: handle(id)}
	for _, r := range roles {
		if role, ok := a.c.Roles[r]; ok && !slices.Contains(p.Roles, desk.Role(role)) {
			p.Roles = append(p.Roles, desk.Role(role))
		}
	}
	return p
}

// sortVolunteer says how the press of a volunteer is acknowledged. id is the
// deed, the case, and what else belongs to it.
func (a *Adapter) sortVolunteer(i *interaction, id []string, later, update map[string]any) (map[string]any, func(context.Context) error) {
	number := id[1]
	switch id[0] {
	case "note":
		return a.form(custom("v", "note", number), a.words.say("note-title", "case", number), field{"text", "note-field"}), nil
	case "other":
		return a.form(custom("v", "other", number), a.words.say("other-title", "case", number), field{"cause", "other-cause"}, field{"remedy", "other-remedy"}), nil
	case "check", "cause", "remedy", "to", "anyone", "not-found": // on a message only who acts sees
		return update, func(ctx context.Context) error { return a.worked(ctx, i, id) }
	}
	return later, func(ctx context.Context) error { return a.worked(ctx, i, id) }
}

// worked does what a volunteer pressed, and answers.
func (a *Adapter) worked(ctx context.Context, i *interaction, id []string) error {
	p := a.person(i.who().ID, i.roles())
	if p.May(desk.Work) != nil {
		return a.reply(ctx, i, a.words.say("not-a-volunteer"), nil)
	}
	n, err := strconv.ParseUint(id[1], 10, 64)
	if err != nil {
		return a.reply(ctx, i, a.words.say("no-case"), nil)
	}
	value := ""
	if len(i.Data.Values) > 0 {
		value = i.Data.Values[0]
	}
	text, list, files, err := a.deed(ctx, p, n, id, value, i)
	if err != nil {
		if text = a.refusal(err); text == "" {
			return err
		}
		list, files = nil, nil
	}
	return a.reply(ctx, i, text, list, files...)
}

// deed does one thing to a case and says what who did it is told.
func (a *Adapter) deed(ctx context.Context, p desk.Person, n uint64, id []string, value string, i *interaction) (string, []row, []upload, error) {
	say := a.words.say
	switch id[0] {
	case "take":
		c, err := a.desk.Take(ctx, p, n)
		if err != nil {
			return "", nil, nil, err
		}
		return say("took", "where", a.join(ctx, c, p)), nil, nil, nil
	case "ask":
		text, list, err := a.offerChecks(n)
		return text, list, nil, err
	case "check":
		if err := a.desk.AskCheck(ctx, p, n, value); err != nil {
			return "", nil, nil, err
		}
		return say("asked", "check", a.checkName(value)), nil, nil, nil
	case "hand-on":
		list := []row{{typeRow, []component{{Type: typeUserSelect, CustomID: custom("v", "to", id[1]), Placeholder: say("hand-to")}}}}
		return say("hand-to"), append(list, rows([]component{button(custom("v", "anyone", id[1]), say("hand-anyone"), stylePlain)})...), nil, nil
	case "anyone":
		_, err := a.desk.HandOn(ctx, p, n, "")
		return say("handed-anyone"), nil, nil, err
	case "to":
		who := "<@" + value + ">"
		if i.Data.Resolved == nil || a.person(value, i.Data.Resolved.Members[value].Roles).May(desk.Work) != nil {
			return say("not-one-of-us", "who", who), nil, nil, nil
		}
		c, err := a.desk.HandOn(ctx, p, n, handle(value))
		if err == nil {
			a.join(ctx, c, desk.Person{Name: handle(value)})
		}
		return say("handed", "who", who), nil, nil, err
	case "close":
		text, list, err := a.offerCauses(n)
		return text, list, nil, err
	case "cause":
		text, list := a.offerRemedies(n, value)
		return text, list, nil, nil
	case "remedy":
		if len(id) < 3 {
			return "", nil, nil, store.ErrHalfFound
		}
		_, err := a.desk.Close(ctx, p, n, desk.Outcome{Cause: id[2], Remedy: value})
		return say("closed-now"), nil, nil, err
	case "not-found":
		_, err := a.desk.Close(ctx, p, n, desk.Outcome{NotFound: true})
		return say("closed-now"), nil, nil, err
	case "reopen":
		_, err := a.desk.Reopen(ctx, p, n)
		return say("opened-again"), nil, nil, err
	case "photos":
		text, files, err := a.showPhotos(n)
		return text, nil, files, err
	}
	return say("no-case"), nil, nil, nil
}

// filledIn works on a form of a volunteer.
func (a *Adapter) filledIn(ctx context.Context, i *interaction, id []string) error {
	p := a.person(i.who().ID, i.roles())
	if p.May(desk.Work) != nil {
		return a.reply(ctx, i, a.words.say("not-a-volunteer"), nil)
	}
	n, err := strconv.ParseUint(id[1], 10, 64)
	if err != nil {
		return a.reply(ctx, i, a.words.say("no-case"), nil)
	}
	text := a.words.say("noted")
	switch id[0] {
	case "note":
		_, err = a.desk.Note(ctx, p, n, i.field("text"))
	case "other":
		text = a.words.say("closed-now")
		note := a.words.say("other-note", "cause", i.field("cause"), "remedy", i.field("remedy"))
		_, err = a.desk.Close(ctx, p, n, desk.Outcome{Cause: desk.Unlisted, Remedy: desk.Unlisted, Text: note})
	}
	if err != nil {
		if text = a.refusal(err); text == "" {
			return err
		}
	}
	return a.reply(ctx, i, text, nil)
}

// refusal is what who acted is told of a refusal, "" when it is a failure.
func (a *Adapter) refusal(err error) string {
	var (
		taken *store.TakenError
		now   *conversation.NotNowError
	)
	switch {
	case errors.As(err, &taken):
		return a.words.say("taken-by", "who", a.mention(taken.By))
	case errors.As(err, &now):
		return a.words.say("ask-not-now", "why", now.Error())
	case errors.Is(err, desk.ErrRole):
		return a.words.say("not-a-volunteer")
	case errors.Is(err, store.ErrNotYours):
		return a.words.say("not-yours-yet")
	case errors.Is(err, store.ErrCaseClosed):
		return a.words.say("is-closed")
	case errors.Is(err, store.ErrNotClosed):
		return a.words.say("is-open")
	case errors.Is(err, store.ErrNoCase), errors.Is(err, store.ErrNoTalk):
		return a.words.say("no-case")
	case errors.Is(err, store.ErrHalfFound), errors.Is(err, desk.ErrUnknown):
		return a.words.say("close-cause")
	}
	return ""
}

// mention is how a handle is shown: as a person of the platform, or as it is.
func (a *Adapter) mention(handle string) string {
	if id := userOf(handle); id != "" {
		return "<@" + id + ">"
	}
	return plain(handle)
}

// join puts who took a case into the owner's talk, and says where that is.
func (a *Adapter) join(ctx context.Context, c store.Case, p desk.Person) string {
	where, ok := placeOf(c.Conversation)
	user := userOf(p.Name)
	switch {
	case !ok:
		return a.words.say("took-web")
	case where.kind == inDirect:
		return a.words.say("took-direct", "owner", a.mention(c.Owner))
	case where.kind == inThread && user != "":
		err := a.rest.do(ctx, http.MethodPut, "/channels/"+where.channel+"/thread-members/"+user, nil, nil)
		if err != nil {
			a.c.Log.Warn("a volunteer could not be put into the talk", "case", c.ID, "error", safe(err))
		}
	}
	return a.words.say("took-thread", "place", "<#"+where.channel+">")
}

func (a *Adapter) checkName(id string) string {
	if c := a.c.KB.Check(id); c != nil {
		return c.Name
	}
	return id
}

// mostSelects leaves a row for buttons.
const mostSelects = 4

// selections puts a long list into as many selects as it takes.
func (a *Adapter) selections(list []option, id func(n int) string) []row {
	var out []row
	for part := range slices.Chunk(list, mostOptions) {
		if len(out) == mostSelects {
			break
		}
		out = append(out, selection(id(len(out)), a.words.say("choose"), part))
	}
	return out
}

// offerChecks offers what may be asked in a talk now, what the case would ask
// next first.
func (a *Adapter) offerChecks(n uint64) (string, []row, error) {
	c, doc, err := a.desk.Case(n)
	if err != nil {
		return "", nil, err
	}
	_, events, err := a.c.Store.Conversation(c.Conversation)
	if err != nil {
		return "", nil, err
	}
	st := conversation.Replay(events)
	var list []option
	for _, check := range a.c.KB.Checks {
		if _, _, err := a.c.Engine.AskNamed(st, check.ID, a.c.Now()); err == nil {
			list = append(list, option{shorten(check.Name, mostOption), check.ID})
		}
	}
	if doc != nil && doc.Next.Check != "" {
		slices.SortStableFunc(list, func(x, y option) int { return before(x.Value == doc.Next.Check, y.Value == doc.Next.Check) })
	}
	if len(list) == 0 {
		return a.words.say("ask-none"), nil, nil
	}
	return a.words.say("ask-which"), a.selections(list, func(k int) string { return custom("v", "check", strconv.FormatUint(n, 10), strconv.Itoa(k)) }), nil
}

// before orders what holds first.
func before(x, y bool) int {
	switch {
	case x == y:
		return 0
	case x:
		return -1
	}
	return 1
}

// offerCauses offers what it may have been, suspects first.
func (a *Adapter) offerCauses(n uint64) (string, []row, error) {
	_, doc, err := a.desk.Case(n)
	if err != nil {
		return "", nil, err
	}
	rank := map[string]int{}
	if doc != nil {
		for _, s := range doc.Suspects {
			for _, c := range s.Causes {
				if rank[c.ID] == 0 {
					rank[c.ID] = len(rank) + 1
				}
			}
		}
	}
	causes := slices.Clone(a.c.KB.Causes)
	last := len(causes) + 1
	at := func(id string) int {
		if r := rank[id]; r > 0 {
			return r
		}
		return last
	}
	var list []option
	for _, c := range causes {
		list = append(list, option{shorten(c.Name, mostOption), c.ID})
	}
	slices.SortStableFunc(list, func(x, y option) int { return at(x.Value) - at(y.Value) })
	number := strconv.FormatUint(n, 10)
	out := a.selections(list, func(k int) string { return custom("v", "cause", number, strconv.Itoa(k)) })
	return a.words.say("close-cause"), append(out, rows([]component{
		button(custom("v", "not-found", number), a.words.say("close-not-found"), stylePlain),
		button(custom("v", "other", number), a.words.say("close-other"), stylePlain),
	})...), nil
}

// offerRemedies offers what may have mended a cause, its own remedy first.
func (a *Adapter) offerRemedies(n uint64, cause string) (string, []row) {
	own := ""
	if c := a.c.KB.Cause(cause); c != nil {
		own = c.Remedy
	}
	var list []option
	for _, r := range a.c.KB.Remedies {
		list = append(list, option{shorten(r.Name, mostOption), r.ID})
	}
	slices.SortStableFunc(list, func(x, y option) int { return before(x.Value == own, y.Value == own) })
	number := strconv.FormatUint(n, 10)
	return a.words.say("close-remedy"), a.selections(list, func(k int) string { return custom("v", "remedy", number, cause, strconv.Itoa(k)) })
}

// showPhotos gives the photos of a case, as many as fit into one message.
func (a *Adapter) showPhotos(n uint64) (string, []upload, error) {
	c, _, err := a.desk.Case(n)
	if err != nil {
		return "", nil, err
	}
	list, err := a.c.Store.Photos(c.Conversation)
	if err != nil {
		return "", nil, err
	}
	var (
		files []upload
		bytes int
	)
	for _, p := range slices.Backward(list) { // the latest first
		_, data, ok, err := a.c.Store.PhotoData(c.Conversation, p.ID)
		if err != nil {
			return "", nil, err
		}
		if bytes += len(data); !ok || len(files) == mostFiles || bytes > mostUpload {
			break
		}
		_, ending, _ := strings.Cut(p.Kind, "/")
		name := "case-" + strconv.FormatUint(n, 10) + "-" + strconv.Itoa(len(files)+1) + "." + ending
		files = append(files, upload{name: name, kind: p.Kind, data: data})
	}
	if len(files) == 0 {
		return a.words.say("photos-none"), nil, nil
	}
	return a.words.say("photos-here", "case", strconv.FormatUint(n, 10)), files, nil
}

// What one message takes.
const (
	mostFiles  = 10
	mostUpload = 20 << 20
)
