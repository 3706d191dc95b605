package discord

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/textproto"
	"strconv"
	"sync"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
)

// outgoing is one message on its way.
type outgoing struct {
	Content    string
	Nonce      string // "" for none
	ReplyTo    string
	Components []row
	Files      []upload
}

type upload struct {
	name, kind, alt string
	data            []byte
}

// nobody is who may be alerted by what the bot writes.
var nobody = map[string]any{"parse": []string{}, "replied_user": false}

// flagNoPreview keeps links in an owner's words from being unfolded.
const flagNoPreview = 4

// body is the message as the platform wants it; nothing in it is null, and
// nobody is alerted.
func (o outgoing) body() map[string]any {
	b := map[string]any{"content": o.Content, "allowed_mentions": nobody, "components": o.Components, "flags": flagNoPreview}
	if o.Components == nil {
		b["components"] = []row{}
	}
	if o.Nonce != "" {
		b["nonce"], b["enforce_nonce"] = o.Nonce, true
	}
	if o.ReplyTo != "" {
		b["message_reference"] = map[string]any{"message_id": o.ReplyTo, "fail_if_not_exists": false}
	}
	if len(o.Files) > 0 {
		var list []map[string]any
		for i, f := range o.Files {
			list = append(list, map[string]any{"id": i, "filename": f.name, "description": f.alt})
		}
		b["attachments"] = list
	}
	return b
}

// encode is the body with its content type.
func (o outgoing) encode(body map[string]any) (kind string, data []byte, err error) {
	payload, err := json.Marshal(body)
	if err != nil || len(o.Files) == 0 {
		return "application/json", payload, err
	}
	var b bytes.Buffer
	form := multipart.NewWriter(&b)
	part := func(name, file, kind string, data []byte) {
		h := textproto.MIMEHeader{"Content-Type": {kind}}
		disposition := fmt.Sprintf("form-data; name=%q", name)
		if file != "" {
			disposition += fmt.Sprintf("; filename=%q", file)
		}
		h.Set("Content-Disposition", disposition)
		w, bad := form.CreatePart(h)
		if bad == nil {
			_, bad = w.Write(data)
		}
		err = errors.Join(err, bad)
	}
	part("payload_json", "", "application/json", payload)
	for i, f := range o.Files {
		part("files["+strconv.Itoa(i)+"]", f.name, f.kind, f.data)
	}
	if bad := form.Close(); err == nil {
		err = bad
	}
	return form.FormDataContentType(), b.Bytes(), err
}

// post writes one message into a channel and returns its id. Where the bot may not
// see what was written before, it answers without pointing there; where it may
// attach nothing, it leaves the files out: what they say stands in the text too.
func (a *Adapter) post(ctx context.Context, channel string, o outgoing) (string, error) {
	for {
		kind, data, err := o.encode(o.body())
		if err != nil {
			return "", fmt.Errorf("encoding a message: %w", err)
		}
		var made message
		err = a.rest.raw(ctx, http.MethodPost, "/channels/"+channel+"/messages", kind, data, &made)
		switch {
		case err == nil:
			return made.ID, nil
		case codeOf(err) == codeNoHistory && o.ReplyTo != "":
			o.ReplyTo = ""
		case codeOf(err) == codeMissingPermissions && len(o.Files) > 0:
			o.Files = nil
		default:
			return "", err
		}
	}
}

// Send implements turns.Sender.
func (a *Adapter) Send(ctx context.Context, o store.Outgoing) error {
	p, ok := placeOf(o.To)
	if !ok {
		return &turns.PermanentError{Err: errors.New("that is no place on discord")}
	}
	list, err := a.render(o, p)
	if err != nil {
		return fmt.Errorf("putting a message into words: %w", err)
	}
	id := ""
	for i, m := range list {
		if a.sent.has(o.Nonce, i) {
			continue
		}
		m.Nonce = o.Nonce
		if i > 0 {
			m.Nonce += "." + strconv.Itoa(i)
		}
		if id, err = a.once(ctx, p.channel, m, o); err != nil {
			return classify(err)
		}
		a.sent.add(o.Nonce, i)
	}
	a.sent.forget(o.Nonce)
	if o.Kind == store.KindCase && id != "" {
		a.remember(ctx, o.Case, p.channel, id, list[0].Content)
	}
	return nil
}

// nonceHolds is how long the platform surely knows a nonce ("the past few
// minutes").
const nonceHolds = time.Minute

// once posts a message that may have been posted before. While the platform
// knows the nonce it drops a second copy itself; later the channel is looked
// through first.
func (a *Adapter) once(ctx context.Context, channel string, m outgoing, o store.Outgoing) (string, error) {
	if a.c.Now().Sub(o.Made) > nonceHolds && (o.Attempts > 0 || snowflake(o.Made) < a.started) {
		id, err := a.stands(ctx, channel, m, o.Made)
		if err != nil || id != "" {
			return id, err
		}
	}
	return a.post(ctx, channel, m)
}

// stands finds a message of the bot that says the same to the same.
func (a *Adapter) stands(ctx context.Context, channel string, m outgoing, made time.Time) (string, error) {
	var page []*message
	path := "/channels/" + channel + "/messages?limit=" + strconv.Itoa(pageSize) + "&after=" + strconv.FormatUint(snowflake(made.Add(-disorder)), 10)
	if err := a.rest.do(ctx, http.MethodGet, path, nil, &page); err != nil {
		return "", err
	}
	for _, x := range page {
		same := x.Author != nil && x.Author.Bot && (a.botID() == "" || x.Author.ID == a.botID()) && x.Content == m.Content
		if same && (x.Reference == nil && m.ReplyTo == "" || x.Reference != nil && x.Reference.Message == m.ReplyTo) {
			return x.ID, nil
		}
	}
	return "", nil
}

// sentParts remembers which parts of a message the platform has, until all of
// them are there.
type sentParts struct {
	mu   sync.Mutex
	part map[string]int
}

func newSentParts() *sentParts { return &sentParts{part: map[string]int{}} }

func (s *sentParts) has(nonce string, part int) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	return part < s.part[nonce]
}

func (s *sentParts) add(nonce string, part int) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.part[nonce] = part + 1
}

func (s *sentParts) forget(nonce string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.part, nonce)
}
