package api

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"strconv"
	"strings"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
)

// Place is what the addresses of a bridged chat start with inside the bot. The
// bridge itself never sees it.
const Place = "bridge:"

// Message is what an owner wrote, as a bridge hands it in.
type Message struct {
	ID           string    `json:"id"` // the chat's; a message is taken once, however often it is handed in
	Conversation string    `json:"conversation"`
	Owner        string    `json:"owner"`
	Server       string    `json:"server,omitempty"` // "" for a direct message
	Text         string    `json:"text"`
	Time         time.Time `json:"time,omitzero"`
}

// Took is the answer to a message: its turn is durable, or it had none and Say
// says why.
type Took struct {
	V     int      `json:"v"`
	Taken bool     `json:"taken"`
	Say   []string `json:"say,omitempty"`
}

func (h *handler) message(q *request) (any, error) {
	var m Message
	if err := q.body(&m); err != nil {
		return nil, err
	}
	if m.ID == "" || m.Conversation == "" || m.Owner == "" {
		return nil, &desk.InputError{Text: "a message needs id, conversation and owner"}
	}
	if len(m.ID)+len(m.Conversation)+len(m.Owner) > 450 || len(m.ID) > 150 || len(m.Conversation) > 150 || len(m.Owner) > 150 {
		return nil, &desk.InputError{Text: "id, conversation and owner take 150 bytes each at most"}
	}
	now := h.c.Now()
	if m.Time.After(now) || now.Sub(m.Time) > mostLate {
		m.Time = now // silence and retention go by it: a bridge's clock must not erase a talk
	}
	in := turns.Incoming{ID: Place + m.ID, Conversation: Place + m.Conversation, Owner: Place + m.Owner, Text: m.Text, Time: m.Time}
	if seen, err := h.c.Store.Seen(in.ID); err != nil || seen {
		return Took{V: V, Taken: true}, err
	}
	if ok, say := h.c.Desk.Fits(m.Text); !ok {
		return Took{V: V, Say: say}, nil
	}
	if ok, say := h.c.Desk.Admit(in.Owner, serverOf(m.Server), now); !ok {
		return Took{V: V, Say: say}, nil
	}
	return Took{V: V, Taken: true}, h.c.Runner.Take(q.Context(), in)
}

// mostLate is how old a message may be when it is handed in.
const mostLate = 7 * 24 * time.Hour

func serverOf(name string) string {
	if name == "" {
		return ""
	}
	return Place + name
}

// Delivery is what a bridge is handed to say.
type Delivery struct {
	V        int                   `json:"v"`
	Nonce    string                `json:"nonce"` // the same again is the same message
	To       string                `json:"to"`
	Kind     store.Kind            `json:"kind"`
	ReplyTo  string                `json:"reply_to,omitempty"`
	Lines    []string              `json:"lines,omitempty"`
	Ask      *conversation.TurnAsk `json:"ask,omitempty"`
	Cautions []string              `json:"cautions,omitempty"`
	State    string                `json:"state,omitempty"`
	Case     uint64                `json:"case,omitempty"`
}

// Deliver hands outgoing messages to a bridge: a POST each, in order per
// address, again until it answers with 2xx. A 4xx is a refusal for good, but for
// 408 and 429.
type Deliver struct {
	URL    string
	Token  string
	Client *http.Client
}

// Send is a [turns.Sender].
func (d *Deliver) Send(ctx context.Context, o store.Outgoing) error {
	body, err := json.Marshal(Delivery{
		V: V, Nonce: o.Nonce, To: strings.TrimPrefix(o.To, Place), Kind: o.Kind, ReplyTo: strings.TrimPrefix(o.ReplyTo, Place),
		Lines: o.Lines, Ask: o.Ask, Cautions: o.Cautions, State: o.State, Case: o.Case,
	})
	if err != nil {
		return &turns.PermanentError{Err: fmt.Errorf("encoding a message for the bridge: %w", err)}
	}
	q, err := http.NewRequestWithContext(ctx, http.MethodPost, d.URL, bytes.NewReader(body))
	if err != nil {
		return &turns.PermanentError{Err: err}
	}
	q.Header.Set("Content-Type", "application/json")
	q.Header.Set("Authorization", "Bearer "+d.Token)
	a, err := d.Client.Do(q)
	if err != nil {
		return fmt.Errorf("handing a message to the bridge: %w", err)
	}
	defer a.Body.Close()
	_, _ = io.Copy(io.Discard, io.LimitReader(a.Body, mostBody)) // so that the connection serves again
	return refusedBy(a)
}

func refusedBy(a *http.Response) error {
	err := fmt.Errorf("the bridge answered %s", a.Status)
	after, bad := strconv.Atoi(a.Header.Get("Retry-After"))
	switch {
	case a.StatusCode/100 == 2:
		return nil
	case bad == nil && after >= 0:
		return &turns.RetryError{After: time.Duration(min(after, 3600)) * time.Second, Err: err}
	case a.StatusCode/100 == 4 && a.StatusCode != http.StatusRequestTimeout && a.StatusCode != http.StatusTooManyRequests:
		return &turns.PermanentError{Err: err}
	}
	return err
}
