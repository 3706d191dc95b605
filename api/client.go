package api

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"syscall"

	"triagebot/casefile/store"
)

// Client speaks to a running bot.
type Client struct {
	URL   string // such as http://127.0.0.1:8470
	Token string
	HTTP  *http.Client // nil for the usual one
}

// Error says a refusal as the bot gave it.
type Error struct {
	Status int
	Refusal
}

func (e *Error) Error() string { return e.Words }

// ErrNotRunning is returned when nothing listens where the bot should.
var ErrNotRunning = errors.New("the bot is not running there; start it with: triagebot serve --config FILE")

func (c *Client) send(ctx context.Context, method, path string, body any) (*http.Response, error) {
	var in io.Reader
	if body != nil {
		data, err := json.Marshal(body)
		if err != nil {
			return nil, fmt.Errorf("asking the bot: %w", err)
		}
		in = bytes.NewReader(data)
	}
	q, err := http.NewRequestWithContext(ctx, method, strings.TrimSuffix(c.URL, "/")+path, in)
	if err != nil {
		return nil, fmt.Errorf("asking the bot at %q: %w", c.URL, err)
	}
	q.Header.Set("Authorization", "Bearer "+c.Token)
	client := c.HTTP
	if client == nil {
		client = http.DefaultClient
	}
	a, err := client.Do(q)
	if errors.Is(err, syscall.ECONNREFUSED) || errors.Is(err, syscall.ENOENT) {
		return nil, fmt.Errorf("asking the bot at %s: %w", c.URL, ErrNotRunning)
	}
	if err != nil {
		return nil, fmt.Errorf("asking the bot at %s: %w", c.URL, err)
	}
	if a.StatusCode == http.StatusOK {
		return a, nil
	}
	defer a.Body.Close()
	refused := Error{Status: a.StatusCode}
	if err := json.NewDecoder(io.LimitReader(a.Body, mostBody)).Decode(&refused.Refusal); err != nil || refused.Words == "" {
		return nil, fmt.Errorf("asking the bot at %s: something answers %s there that is not the bot", c.URL, a.Status)
	}
	if refused.Code == "token" {
		refused.Words += "; give the one that the bot's config names for you"
	}
	return nil, &refused
}

func call[T any](ctx context.Context, c *Client, method, path string, body any) (T, error) {
	var out T
	a, err := c.send(ctx, method, path, body)
	if err != nil {
		return out, err
	}
	defer a.Body.Close()
	if err := json.NewDecoder(a.Body).Decode(&out); err != nil {
		return out, fmt.Errorf("reading the bot's answer: %w", err)
	}
	return out, nil
}

// Cases lists cases of a state, or those of who asks.
func (c *Client) Cases(ctx context.Context, state store.State, mine bool, after uint64) (List, error) {
	v := url.Values{"state": {string(state)}, "after": {strconv.FormatUint(after, 10)}}
	if mine {
		v.Set("mine", "1")
	}
	return call[List](ctx, c, http.MethodGet, "/v1/cases?"+v.Encode(), nil)
}

func casePath(id uint64, act string) string {
	return "/v1/cases/" + strconv.FormatUint(id, 10) + act
}

// Case reads a case with its document.
func (c *Client) Case(ctx context.Context, id uint64) (One, error) {
	return call[One](ctx, c, http.MethodGet, casePath(id, ""), nil)
}

func (c *Client) act(ctx context.Context, id uint64, act string, body any) (store.Case, error) {
	one, err := call[One](ctx, c, http.MethodPost, casePath(id, "/"+act), body)
	return one.Case, err
}

// Take takes a case.
func (c *Client) Take(ctx context.Context, id uint64) (store.Case, error) {
	return c.act(ctx, id, "take", nil)
}

// Note adds words to a case.
func (c *Client) Note(ctx context.Context, id uint64, text string) (store.Case, error) {
	return c.act(ctx, id, "note", map[string]string{"text": text})
}

// Ask has the bot ask the owner a check.
func (c *Client) Ask(ctx context.Context, id uint64, check string) (store.Case, error) {
	return c.act(ctx, id, "ask", map[string]string{"check": check})
}

// HandOn gives a case to somebody else, or to whoever takes it.
func (c *Client) HandOn(ctx context.Context, id uint64, to string) (store.Case, error) {
	return c.act(ctx, id, "hand-on", map[string]string{"to": to})
}

// Close ends a case.
func (c *Client) Close(ctx context.Context, id uint64, o Outcome) (store.Case, error) {
	return c.act(ctx, id, "close", o)
}

// Reopen has a closed case wait again.
func (c *Client) Reopen(ctx context.Context, id uint64) (store.Case, error) {
	return c.act(ctx, id, "reopen", nil)
}

// Forget erases an owner.
func (c *Client) Forget(ctx context.Context, owner string) (Erased, error) {
	return call[Erased](ctx, c, http.MethodPost, "/v1/forget", map[string]string{"owner": owner})
}

// Backup writes the store to w. What was written before an error is no backup.
func (c *Client) Backup(ctx context.Context, w io.Writer) error {
	a, err := c.send(ctx, http.MethodGet, "/v1/backup", nil)
	if err != nil {
		return err
	}
	defer a.Body.Close()
	if _, err := io.Copy(w, a.Body); err != nil {
		return fmt.Errorf("reading the backup: %w", err)
	}
	return nil
}

// Hand hands in an owner's message, for a bridge.
func (c *Client) Hand(ctx context.Context, m Message) (Took, error) {
	return call[Took](ctx, c, http.MethodPost, "/v1/messages", m)
}
