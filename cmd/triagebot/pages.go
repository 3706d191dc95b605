package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"log/slog"
	"math/rand/v2"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/web"
	"triagebot/web/account"
)

// chatPages is the talk in a browser, with nothing set up: a store in a named
// file or in a folder that goes when the program ends.
func chatPages(ctx context.Context, s streams, e *conversation.Engine, path, listen string) (err error) {
	if path == "" {
		dir, err := os.MkdirTemp("", "triagebot-*")
		if err != nil {
			return fmt.Errorf("making a folder for the talks: %w", err)
		}
		defer os.RemoveAll(dir)
		path = filepath.Join(dir, "triagebot.db")
	} else if err := makeFolder(path); err != nil {
		return err
	}
	now := desk.Steady(time.Now)
	st, err := store.Open(path, store.Options{Now: now})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, st.Close()) }()
	log := slog.New(slog.NewTextHandler(s.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	feed := desk.NewFeed()
	r, err := turns.New(turns.Config{
		Store: st, Engine: e, Sender: web.Sender{}, Now: now, After: time.After, Jitter: rand.Float64, Log: log,
		Case: caseDocument(e), Excuse: []string{"Something went wrong here. A person takes over."}, Happened: feed.Turn,
	})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.Close(context.WithoutCancel(ctx))) }()
	d, err := desk.New(desk.Config{Store: st, Runner: r, Engine: e, Feed: feed, Now: now, After: time.After, Log: log})
	if err != nil {
		return err
	}
	pages, err := web.New(web.Config{
		KB: e.KB(), Engine: e, Store: st, Turns: r, Desk: d, Accounts: account.New(st, now), Now: now, After: time.After, Log: log,
	})
	if err != nil {
		return err
	}
	return servePages(ctx, s.out, pages, listen)
}

// caseDocument writes the document of a hand-over.
func caseDocument(e *conversation.Engine) func(*conversation.State) (json.RawMessage, error) {
	return func(st *conversation.State) (json.RawMessage, error) {
		c, err := casefile.Build(e, st)
		if c == nil {
			return nil, err
		}
		data, failed := json.Marshal(c)
		return data, errors.Join(err, failed)
	}
}

func makeFolder(path string) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return fmt.Errorf("making the folder of the store: %w", err)
	}
	return nil
}

// servePages serves until ctx ends.
func servePages(ctx context.Context, out io.Writer, pages *web.Server, listen string) error {
	l, err := net.Listen("tcp", listen)
	if err != nil {
		return fmt.Errorf("opening %q for the pages: %w; choose another with --listen", listen, err)
	}
	srv := pages.HTTP()
	fmt.Fprintf(out, "http://%s\n", l.Addr())
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serving the pages: %w", err)
	case <-ctx.Done():
	}
	late, stop := context.WithTimeout(context.WithoutCancel(ctx), 5*time.Second)
	defer stop()
	if err := srv.Shutdown(late); err != nil && !errors.Is(err, http.ErrServerClosed) {
		return fmt.Errorf("stopping the pages: %w", err)
	}
	return nil
}
