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
	"os"
	"path/filepath"
	"time"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/mining/feed"
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
	changes := desk.NewFeed()
	r, err := turns.New(turns.Config{
		Store: st, Engine: e, Sender: web.Sender{}, Now: now, After: time.After, Jitter: rand.Float64, Log: log,
		Case: caseDocument(e), Excuse: []string{e.Excuse()}, Happened: changes.Turn,
	})
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, r.Close(context.WithoutCancel(ctx))) }()
	d, err := desk.New(desk.Config{Store: st, Runner: r, Engine: e, Feed: changes, Now: now, After: time.After, Log: log})
	if err != nil {
		return err
	}
	learned, err := feed.New(feed.Config{Store: st, Engine: e, Log: log})
	if err != nil {
		return err
	}
	ctx, stop := context.WithCancel(ctx)
	counting := make(chan error, 1)
	go func() { counting <- followTalks(ctx, learned, d, e.KB(), now) }()
	defer func() { stop(); err = errors.Join(err, <-counting) }()
	pages, err := web.New(web.Config{
		Feed: learned, Demo: learned.Demo(), KB: e.KB(), Engine: e, Store: st, Turns: r, Desk: d, Accounts: account.New(st, now), Now: now, After: time.After, Log: log,
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
	fmt.Fprintf(out, "http://%s\n", l.Addr())
	return runPages(ctx, pages, l)
}

// runPages ends the pages that follow first, and finishes what is being served.
func runPages(ctx context.Context, pages *web.Server, l net.Listener) error {
	srv := pages.HTTP()
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	select {
	case err := <-ended:
		return fmt.Errorf("serving the pages: %w", err)
	case <-ctx.Done():
	}
	late, stop := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer stop()
	if err := srv.Shutdown(late); err != nil {
		_ = srv.Close()
	}
	<-ended
	return nil
}

// webPages are the pages under serve.
func (v *server) webPages(out io.Writer) (adapter, error) {
	p := v.conf.Pages
	c := web.Config{
		KB: v.engine.KB(), Engine: v.engine, Store: v.store, Turns: v.runner, Desk: v.desk, Accounts: account.New(v.store, v.now),
		Now: v.now, After: time.After, Log: v.log, Base: p.Address, Proxied: p.Proxied,
		Feed: v.learned, Written: v.written, Priors: v.priors, Demo: v.learned.Demo(),
	}
	if d := p.Discord; d != nil {
		c.Discord = &web.Discord{ClientID: d.Client, Secret: d.Secret.Value(), Site: d.Site, API: d.API, Guild: d.Server, Roles: map[string]desk.Role{}}
		for id, role := range d.Roles {
			c.Discord.Roles[id] = desk.Role(role)
		}
	}
	pages, err := web.New(c)
	if err != nil {
		return adapter{}, err
	}
	l, err := net.Listen("tcp", p.Listen)
	if err != nil {
		return adapter{}, fmt.Errorf("opening the pages: %w", err)
	}
	fmt.Fprintf(out, "pages on http://%s\n", l.Addr())
	return adapter{name: "the pages", run: func(ctx context.Context) error { return runPages(ctx, pages, l) }}, nil
}
