package api

import (
	"crypto/sha256"
	"crypto/subtle"
	"errors"
	"fmt"
	"log/slog"
	"net/http"
	"strconv"
	"strings"
	"time"

	"golang.org/x/time/rate"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
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
	Demo   bool // the store holds invented cases, and every answer says so
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

const mostListed = 200

func (h *handler) cases(q *request) (any, error) {
	if err := q.person.May(desk.See); err != nil {
		return nil, err
	}
	list := List{V: V, Cases: []store.Case{}, Demo: h.c.Demo}
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
	return One{V: V, Case: c, Document: doc, Demo: h.c.Demo}, err
}

func (h *handler) changed(c store.Case, err error) (any, error) {
	return One{V: V, Case: c, Demo: h.c.Demo}, err
}

func (h *handler) take(q *request) (any, error) {
	return h.changed(h.c.Desk.Take(q.Context(), q.person, q.id))
}

func (h *handler) note(q *request) (any, error) {
	var in struct {
		Text string `json:"text"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return h.changed(h.c.Desk.Note(q.Context(), q.person, q.id, in.Text))
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
	return h.changed(c, err)
}

func (h *handler) handOn(q *request) (any, error) {
	var in struct {
		To string `json:"to"`
	}
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return h.changed(h.c.Desk.HandOn(q.Context(), q.person, q.id, in.To))
}

func (h *handler) end(q *request) (any, error) {
	var in Outcome
	if err := q.body(&in); err != nil {
		return nil, err
	}
	return h.changed(h.c.Desk.Close(q.Context(), q.person, q.id, desk.Outcome(in)))
}

func (h *handler) reopen(q *request) (any, error) {
	return h.changed(h.c.Desk.Reopen(q.Context(), q.person, q.id))
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
