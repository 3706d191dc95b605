package discord

import (
	"context"
	"errors"
	"math"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/picture"
)

// How much of a case stands in its post; the file that goes with it has all.
const (
	mostComplaint = 300
	mostShown     = 5
)

// casePost is a case as volunteers see it in their channel.
func (a *Adapter) casePost(n uint64) (outgoing, error) {
	c, doc, err := a.readCase(n)
	if errors.Is(err, store.ErrNoCase) { // forgotten before it was told of
		return outgoing{Content: a.words.say("no-case")}, nil
	}
	if err != nil {
		return outgoing{}, err
	}
	m := outgoing{Content: a.caseText(c, doc), Components: a.caseButtons(c)}
	if doc == nil {
		return m, nil
	}
	if pic, err := picture.Case(a.c.KB, doc); err != nil {
		a.c.Log.Warn("the supply line of a case cannot be drawn", "case", n, "error", err)
	} else if u, err := asUpload(pic); err == nil {
		m.Files = append(m.Files, *u)
	}
	m.Files = append(m.Files, upload{name: "case-" + strconv.FormatUint(n, 10) + ".md", kind: "text/markdown; charset=utf-8", data: []byte(doc.Markdown())})
	return m, nil
}

// readCase reads a case; the outbox may send it before Run has a desk.
func (a *Adapter) readCase(n uint64) (store.Case, *casefile.Case, error) {
	c, document, err := a.c.Store.Case(n)
	if err != nil {
		return c, nil, err
	}
	doc, err := casefile.Read(strings.NewReader(string(document)))
	if err != nil || doc.V == 0 {
		return c, nil, nil
	}
	return c, doc, nil
}

// caseText is what is to be known of a case at a glance.
func (a *Adapter) caseText(c store.Case, doc *casefile.Case) string {
	say, number := a.words.say, strconv.FormatUint(c.ID, 10)
	kit := c.Kit
	if k := a.c.KB.Kit(c.Kit); k != nil {
		kit = k.Name
	}
	lines := []string{"**" + say("case-title", "case", number, "kit", kit) + "**"}
	switch c.State {
	case store.Waiting:
		lines = append(lines, say("case-waits"))
	case store.Taken:
		lines = append(lines, say("case-taken", "who", a.mention(c.Taker)))
	case store.Closed:
		lines = append(lines, a.closedLine(c))
	}
	if where, ok := placeOf(c.Conversation); ok && where.kind == inDirect {
		lines = append(lines, say("case-where-direct", "owner", a.mention(c.Owner)))
	} else if ok {
		lines = append(lines, say("case-where", "place", "<#"+where.channel+">"))
	}
	if doc == nil {
		return strings.Join(append(lines, say("case-bare")), "\n")
	}
	if doc.Ended.Why != "" {
		lines = append(lines, say("case-why", "why", doc.Ended.Why))
	}
	for _, d := range doc.Dangers {
		lines = append(lines, "**"+say("case-danger", "text", d.Says)+"**")
	}
	if len(doc.Complaint) > 0 {
		lines = append(lines, say("case-complaint", "text", plain(shorten(strings.Join(doc.Complaint, " / "), mostComplaint))))
	}
	for _, r := range slices.Backward(doc.Readings[max(0, len(doc.Readings)-mostShown):]) {
		lines = append(lines, "- "+say("case-reading", "name", r.Name, "value", r.Shown, "means", r.WindowName))
	}
	for _, s := range doc.Suspects[:min(len(doc.Suspects), mostShown)] {
		var names []string
		for _, x := range s.Causes {
			names = append(names, x.Name)
		}
		lines = append(lines, "- "+say("case-suspect", "percent", strconv.Itoa(int(math.Round(100*s.Probability))), "cause", strings.Join(names, " + ")))
	}
	if doc.Next.Says != "" {
		lines = append(lines, doc.Next.Says)
	}
	if photos, err := a.c.Store.Photos(c.Conversation); err == nil && len(photos) > 0 {
		lines = append(lines, say("case-photos", "n", strconv.Itoa(len(photos))))
	}
	return split(lines, mostText)[0]
}

func (a *Adapter) closedLine(c store.Case) string {
	if c.NotFound {
		return a.words.say("case-not-found")
	}
	cause, remedy := c.Cause, c.Remedy
	if x := a.c.KB.Cause(cause); x != nil {
		cause = x.Name
	}
	if x := a.c.KB.Remedy(remedy); x != nil {
		remedy = x.Name
	}
	return a.words.say("case-closed", "cause", cause, "remedy", remedy)
}

// caseButtons are what can be done to a case as it stands.
func (a *Adapter) caseButtons(c store.Case) []row {
	names := map[store.State][]string{
		store.Waiting: {"take", "note", "photos"},
		store.Taken:   {"ask", "note", "hand-on", "close", "photos"},
		store.Closed:  {"reopen", "note", "photos"},
	}[c.State]
	var list []component
	for i, n := range names {
		style := stylePlain
		if i == 0 {
			style = styleFirst
		}
		list = append(list, button(custom("v", n, strconv.FormatUint(c.ID, 10)), a.words.say(n), style))
	}
	return rows(list)
}

// plain keeps an owner's words from being taken for markup.
func plain(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case strings.ContainsRune("\\*_~`|[]()<", r):
			b.WriteByte('\\')
		case r == '\n' || r == '\r':
			r = ' '
		}
		b.WriteRune(r)
	}
	return b.String()
}

// Where the posts of cases stand, so that they can be kept up to date.
const settingPost = "discord/post/"

// remember keeps where a case was posted. What happened to the case while it was
// on its way is put right.
func (a *Adapter) remember(ctx context.Context, n uint64, channel, message, said string) {
	key := settingPost + strconv.FormatUint(n, 10)
	old, err := a.c.Store.Setting(key)
	if err == nil {
		err = a.c.Store.Set(ctx, key, channel+"/"+message)
	}
	if err != nil {
		a.c.Log.Error("where a case was posted could not be kept", "case", n, "error", err)
		return
	}
	if c, doc, err := a.readCase(n); err != nil || a.caseText(c, doc) != said {
		if err := a.repost(ctx, n); err != nil {
			a.c.Log.Warn("the post of a case is not up to date", "case", n, "error", safe(err))
		}
	}
	if old == channel+"/"+message {
		return
	}
	if channel, message, ok := strings.Cut(old, "/"); ok { // posted anew: the buttons of the old post are of no use
		body := map[string]any{"components": []row{}, "allowed_mentions": nobody}
		if err := a.rest.do(ctx, http.MethodPatch, "/channels/"+channel+"/messages/"+message, body, nil); err != nil {
			a.c.Log.Info("the old post of a case keeps its buttons", "case", n, "error", safe(err))
		}
	}
}

// follow keeps the posts of cases up to date with what happens to them, wherever
// it is done.
func (a *Adapter) follow(ctx context.Context) {
	changes, stop := a.desk.Watch()
	defer stop()
	for {
		select {
		case c := <-changes:
			a.changed(ctx, c)
		case <-ctx.Done():
			return
		}
	}
}

func (a *Adapter) changed(ctx context.Context, c desk.Change) {
	var err error
	switch {
	case c.Kind == desk.LookAgain:
		err = a.sweepPosts(ctx)
	case c.Case != 0 && c.Kind != desk.ChangeTurn && c.Kind != string(store.DeedOpen):
		err = a.repost(ctx, c.Case)
	}
	if err != nil && ctx.Err() == nil {
		a.c.Log.Warn("the post of a case is not up to date", "case", c.Case, "error", safe(err))
	}
}

// repost brings the post of a case up to date.
func (a *Adapter) repost(ctx context.Context, n uint64) error {
	at, err := a.c.Store.Setting(settingPost + strconv.FormatUint(n, 10))
	channel, message, ok := strings.Cut(at, "/")
	if err != nil || !ok {
		return err
	}
	c, doc, err := a.readCase(n)
	if errors.Is(err, store.ErrNoCase) {
		return a.withdraw(ctx, n, channel, message)
	}
	if err != nil {
		return err
	}
	body := outgoing{Content: a.caseText(c, doc), Components: a.caseButtons(c)}.body()
	return a.rest.do(ctx, http.MethodPatch, "/channels/"+channel+"/messages/"+message, body, nil)
}

// sweepPosts brings all posts up to date; those of forgotten cases are deleted.
func (a *Adapter) sweepPosts(ctx context.Context) error {
	all, err := a.c.Store.Settings(settingPost)
	for key := range all {
		n := number(strings.TrimPrefix(key, settingPost))
		if bad := a.repost(ctx, n); bad != nil {
			err = bad
		}
	}
	return err
}

// withdraw deletes the post of a case that is no more: its owner's words are in it.
func (a *Adapter) withdraw(ctx context.Context, n uint64, channel, message string) error {
	err := a.rest.do(ctx, http.MethodDelete, "/channels/"+channel+"/messages/"+message, nil, nil)
	if err != nil && statusOf(err) != http.StatusNotFound {
		return err
	}
	return a.c.Store.Unset(ctx, settingPost+strconv.FormatUint(n, 10))
}
