package discord

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"time"

	"github.com/bwmarrin/discordgo"

	"triagebot/casefile/turns"
)

// rest asks the platform. It never repeats a request by itself, waits no longer
// than its context, and keeps no bucket.
type rest struct {
	session *discordgo.Session
	gate    *gate
}

// requestTime bounds one request, files and all.
const requestTime = 30 * time.Second

func newSession(token string, client *http.Client) (*discordgo.Session, error) {
	s, err := discordgo.New("Bot " + token)
	if err != nil {
		return nil, fmt.Errorf("setting up discord: %w", err)
	}
	s.Client = client
	s.StateEnabled = false // it would grow for ever, and reading it races with the gateway
	s.SyncEvents = true    // one goroutine an event would lose their order
	s.Compress = false     // link.go reads what comes
	s.ShouldReconnectOnError = false
	s.ShouldRetryOnRateLimit = false
	s.MaxRestRetries = 0
	s.LogLevel = -1 // its log holds what people write
	return s, nil
}

// do asks, and decodes the answer into out unless that is nil. A route that is
// closed is a RetryError at once.
func (r *rest) do(ctx context.Context, method, path string, body, out any) error {
	var (
		data []byte
		err  error
	)
	if body != nil {
		if data, err = json.Marshal(body); err != nil {
			return fmt.Errorf("encoding a request: %w", err)
		}
	}
	return r.raw(ctx, method, path, "application/json", data, out)
}

func (r *rest) raw(ctx context.Context, method, path, kind string, body []byte, out any) error {
	if wait := r.gate.closed(method, path); wait > 0 {
		return &turns.RetryError{After: wait, Err: errors.New("the platform asked to wait")}
	}
	if err := r.gate.pass(ctx); err != nil {
		return err
	}
	answer, err := r.send(ctx, method, path, kind, body)
	if err != nil || out == nil {
		return err
	}
	if err := json.Unmarshal(answer, out); err != nil {
		return fmt.Errorf("reading the platform's answer to %s: %w", method, err)
	}
	return nil
}

// send hands a request to discordgo with a bucket of its own that ends with it.
func (r *rest) send(ctx context.Context, method, path, kind string, body []byte) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, requestTime)
	defer cancel()
	bucket := discordgo.NewRatelimiter().LockBucket(path)
	return r.session.RequestWithLockedBucket(method, discordgo.EndpointAPI+path[1:], kind, body, bucket, 0,
		discordgo.WithContext(ctx), discordgo.WithRetryOnRatelimit(false), discordgo.WithRestRetries(0))
}
