package api

import (
	"crypto/sha256"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"golang.org/x/time/rate"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
)

// Key is a token and who holds it.
type Key struct {
	Token  string
	Person desk.Person
	Bridge bool // may hand in owners' messages instead of working cases
}

// Config is what the interface stands over.
type Config struct {
	Desk   *desk.Desk
	Store  *store.Store
	Runner *turns.Runner
	Keys   []Key
	Now    func() time.Time
	Log    *slog.Logger
}

// V is the version of requests and answers.
const V = 1

// mostBody bounds a request.
const mostBody = 64 << 10

// Wrong tokens are turned away faster than they could be guessed, whoever
// brings them.
const (
	wrongEvery  = 200 * time.Millisecond
	wrongAtOnce = 20
)

type handler struct {
	c     Config
	keys  []hashed
	wrong *rate.Limiter
}

// hashed is a key by the hash of its token: comparing two hashes takes the same
// time whatever they are, and however long the tokens.
type hashed struct {
	sum [sha256.Size]byte
	Key
}

// New makes the handler of the interface.
func New(c Config) (http.Handler, error) {
	h := &handler{c: c, wrong: rate.NewLimiter(rate.Every(wrongEvery), wrongAtOnce)}
	for _, k := range c.Keys {
		if k.Token == "" || k.Person.Name == "" {
			return nil, errors.New("setting up the local interface: a key needs a token and a name")
		}
		h.keys = append(h.keys, hashed{sha256.Sum256([]byte(k.Token)), k})
	}
	m := http.NewServeMux()
	person := func(pattern string, do func(*request) (any, error)) { m.HandleFunc(pattern, h.entry(false, do)) }
	person("GET /v1/cases", h.cases)
	person("GET /v1/cases/{n}", h.one)
	person("POST /v1/cases/{n}/take", h.take)
	person("POST /v1/cases/{n}/note", h.note)
	person("POST /v1/cases/{n}/ask", h.ask)
	person("POST /v1/cases/{n}/hand-on", h.handOn)
	person("POST /v1/cases/{n}/close", h.end)
	person("POST /v1/cases/{n}/reopen", h.reopen)
	person("POST /v1/forget", h.forget)
	person("GET /v1/backup", h.backup)
	m.HandleFunc("POST /v1/messages", h.entry(true, h.message))
	return m, nil
}

// request is a request whose token was right.
type request struct {
	*http.Request
	w      http.ResponseWriter
	person desk.Person
	id     uint64
}

// errWritten says that the answer was written already.
var errWritten = errors.New("written")

func (h *handler) entry(bridge bool, do func(*request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		key, ok := h.key(r)
		if !ok {
			if !h.wrong.AllowN(h.c.Now(), 1) {
				refuse(w, http.StatusTooManyRequests, Refusal{Words: "too many wrong tokens; wait a little", Code: "slow-down"})
				return
			}
			w.Header().Set("WWW-Authenticate", "Bearer")
			refuse(w, http.StatusUnauthorized, Refusal{Words: "the token is missing or wrong", Code: "token"})
			return
		}
		if key.Bridge != bridge {
			refuse(w, http.StatusForbidden, Refusal{Words: "this token is for something else", Code: "role"})
			return
		}
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		q := &request{Request: r, w: w, person: key.Person}
		if n := r.PathValue("n"); n != "" {
			id, err := strconv.ParseUint(n, 10, 64)
			if err != nil || id == 0 {
				refuse(w, http.StatusUnprocessableEntity, Refusal{Words: fmt.Sprintf("%q is no number of a case", n), Code: "input"})
				return
			}
			q.id = id
		}
		answer, err := do(q)
		switch {
		case errors.Is(err, errWritten):
		case err != nil:
			h.refuse(w, err)
		default:
			write(w, http.StatusOK, answer)
		}
	}
}

// key finds whose token a request has. All keys are compared, so that the time
// says nothing.
func (h *handler) key(r *http.Request) (Key, bool) {
	token, ok := strings.CutPrefix(r.Header.Get("Authorization"), "Bearer ")
	sum, found := sha256.Sum256([]byte(token)), -1
	for i := range h.keys {
		if subtle.ConstantTimeCompare(h.keys[i].sum[:], sum[:]) == 1 {
			found = i
		}
	}
	if !ok || found < 0 {
		return Key{}, false
	}
	return h.keys[found].Key, true
}

func write(w http.ResponseWriter, status int, v any) {
	w.Header().Set("Content-Type", "application/json; charset=utf-8")
	w.Header().Set("Cache-Control", "no-store")
	w.WriteHeader(status)
	_ = json.NewEncoder(w).Encode(v) // whoever asked has gone
}

func refuse(w http.ResponseWriter, status int, r Refusal) {
	r.V = V
	write(w, status, r)
}

// refuse says an error in the terms of HTTP. What is no fault of who asked is
// logged and not told, for it may name what is none of their business.
func (h *handler) refuse(w http.ResponseWriter, err error) {
	var (
		taken *store.TakenError
		not   *conversation.NotNowError
		given *desk.InputError
		large *http.MaxBytesError
	)
	r, status := Refusal{Words: err.Error()}, 0
	switch {
	case errors.As(err, &taken):
		status, r.Code, r.By = http.StatusConflict, "taken", taken.By
	case errors.Is(err, desk.ErrRole):
		status, r.Code = http.StatusForbidden, "role"
	case errors.Is(err, store.ErrNoCase):
		status, r.Code = http.StatusNotFound, "no-case"
	case errors.Is(err, store.ErrNotYours):
		status, r.Code = http.StatusConflict, "not-yours"
	case errors.Is(err, store.ErrCaseClosed):
		status, r.Code = http.StatusConflict, "closed"
	case errors.Is(err, store.ErrNotClosed):
		status, r.Code = http.StatusConflict, "not-closed"
	case errors.As(err, &not):
		status, r.Code = http.StatusConflict, "not-now"
	case errors.As(err, &large):
		status, r.Code, r.Words = http.StatusRequestEntityTooLarge, "input", fmt.Sprintf("a request takes %d bytes at most", mostBody)
	case errors.As(err, &given), errors.Is(err, store.ErrHalfFound), errors.Is(err, desk.ErrUnknown):
		status, r.Code = http.StatusUnprocessableEntity, "input"
	case errors.Is(err, store.ErrFull):
		status, r.Code, r.Words = http.StatusInsufficientStorage, "full", store.ErrFull.Error()
	case errors.Is(err, store.ErrClosed), errors.Is(err, store.ErrBroken), errors.Is(err, turns.ErrClosed):
		status, r.Code, r.Words = http.StatusServiceUnavailable, "stopping", "the bot is stopping or cannot write; try again later"
	default:
		h.c.Log.Error("a request failed", "error", err)
		status, r.Code, r.Words = http.StatusInternalServerError, "failed", "the bot failed at this; its log says why"
	}
	refuse(w, status, r)
}

// body reads a request as strictly as a config: a slip must not pass for
// something left out.
func (q *request) body(into any) error {
	d := json.NewDecoder(q.Body)
	d.DisallowUnknownFields()
	err := d.Decode(into)
	if err == nil {
		if _, err := d.Token(); !errors.Is(err, io.EOF) {
			return &desk.InputError{Text: "a request holds one JSON object"}
		}
		return nil
	}
	if large := (*http.MaxBytesError)(nil); errors.As(err, &large) {
		return err
	}
	return &desk.InputError{Text: fmt.Sprintf("the request does not read: %v", err)}
}

const mostListed = 200

func (h *handler) cases(q *request) (any, error) {
	if err := q.person.May(desk.See); err != nil {
		return nil, err
	}
	list := List{V: V, Cases: []store.Case{}}
	if q.FormValue("mine") != "" {
		mine, err := h.c.Desk.Mine(q.person)
		list.Cases = append(list.Cases, mine...)
		return list, err
	}
	state := store.State(q.FormValue("state"))
	switch state {
	case "":
		state = store.Waiting
	case store.Waiting, store.Taken, store.Closed:
	default:
		return nil, &desk.InputError{Text: fmt.Sprintf("a case is never %q, but waiting, taken or closed", state)}
	}
	after, err := number(q.FormValue("after"), 0)
	if err != nil {
		return nil, err
	}
	limit, err := number(q.FormValue("limit"), mostListed)
	if err != nil {
		return nil, err
	}
	some, err := h.c.Desk.Cases(state, after, int(min(max(limit, 1), mostListed)))
	list.Cases = append(list.Cases, some...)
	return list, err
}

func number(s string, usually uint64) (uint64, error) {
	if s == "" {
		return usually, nil
	}
	n, err := strconv.ParseUint(s, 10, 64)
	if err != nil {
		return 0, &desk.InputError{Text: fmt.Sprintf("%q is no number", s)}
	}
	return n, nil
}

func (h *handler) one(q *request) (any, error) {
	if err := q.person.May(desk.See); err != nil {
		return nil, err
	}
	c, doc, err := h.c.Desk.Case(q.id)
	return One{V: V, Case: c, Document: doc}, err
}

func changed(c store.Case, err error) (any, error) { return One{V: V, Case: c}, err }

func (h *handler) take(q *request) (any, error) {
	return changed(h.c.Desk.Take(q.Context(), q.person, q.id))
}

func (h *handler) note(q *request) (any, error) {
	var in struct {
		Text string `json:"text"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return changed(h.c.Desk.Note(q.Context(), q.person, q.id, in.Text))
}

func (h *handler) ask(q *request) (any, error) {
	var in struct {
		Check string `json:"check"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	if err := h.c.Desk.AskCheck(q.Context(), q.person, q.id, in.Check); err != nil {
		return nil, err
	}
	c, _, err := h.c.Desk.Case(q.id)
	return One{V: V, Case: c}, err
}

func (h *handler) handOn(q *request) (any, error) {
	var in struct {
		To string `json:"to"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return changed(h.c.Desk.HandOn(q.Context(), q.person, q.id, in.To))
}

func (h *handler) end(q *request) (any, error) {
	var in Outcome
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return changed(h.c.Desk.Close(q.Context(), q.person, q.id, desk.Outcome(in)))
}

func (h *handler) reopen(q *request) (any, error) {
	return changed(h.c.Desk.Reopen(q.Context(), q.person, q.id))
}

func (h *handler) forget(q *request) (any, error) {
	var in struct {
		Owner string `json:"owner"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	if in.Owner == "" {
		return nil, &desk.InputError{Text: "say whom to forget"}
	}
	e, err := h.c.Desk.Forget(q.Context(), q.person, in.Owner)
	return Erased{V, e.Conversations, e.Cases, e.Outgoing, e.Mentions}, err
}

// backup sends the store. A failure half-way cuts the answer off, so that
// nobody takes the half for the whole.
func (h *handler) backup(q *request) (any, error) {
	if err := q.person.May(desk.Keep); err != nil {
		return nil, err
	}
	w := &counting{to: q.w}
	if _, err := h.c.Desk.Backup(q.Context(), q.person, w); err != nil {
		if w.n == 0 {
			return nil, err
		}
		h.c.Log.Error("sending a backup", "error", err)
		panic(http.ErrAbortHandler)
	}
	return nil, errWritten
}

type counting struct {
	to http.ResponseWriter
	n  int
}

func (c *counting) Write(b []byte) (int, error) {
	if c.n == 0 {
		c.to.Header().Set("Content-Type", "application/octet-stream")
	}
	n, err := c.to.Write(b)
	c.n += n
	return n, err
}

// Forms of requests and answers.
type (
	// List is an answer with cases.
	List struct {
		V     int          `json:"v"`
		Cases []store.Case `json:"cases"`
	}
	// One is an answer with a case; Document is what the talk came to, where it was asked for.
	One struct {
		V        int            `json:"v"`
		Case     store.Case     `json:"case"`
		Document *casefile.Case `json:"document,omitempty"`
	}
	// Outcome is what a case is closed with; see [desk.Outcome].
	Outcome struct {
		Cause    string      `json:"cause,omitempty"`
		Remedy   string      `json:"remedy,omitempty"`
		Text     string      `json:"text,omitempty"`
		NotFound bool        `json:"not_found,omitempty"`
		Replaced bool        `json:"replaced,omitempty"`
		Bike     *store.Bike `json:"bike,omitempty"`
	}
	// Erased is what was erased of an owner.
	Erased struct {
		V             int `json:"v"`
		Conversations int `json:"conversations"`
		Cases         int `json:"cases"`
		Outgoing      int `json:"outgoing"`
		Mentions      int `json:"mentions"`
	}
	// Refusal is the answer to what could not be done.
	Refusal struct {
		V     int    `json:"v"`
		Words string `json:"error"`
		Code  string `json:"code"`
		By    string `json:"by,omitempty"` // who has the case
	}
)
