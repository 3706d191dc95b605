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
	"strings"
	"sync"
	"time"

	"github.com/prometheus/client_golang/prometheus/promhttp"
	"github.com/spf13/cobra"

	"triagebot/api"
	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/config"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/discord"
	"triagebot/hearing"
	"triagebot/kb"
	"triagebot/mining/feed"
	"triagebot/web"
)

func serveCommand(s streams) *cobra.Command {
	var path string
	c := &cobra.Command{
		Use:   "serve --config FILE",
		Short: "Runs the bot: store, turns, volunteers, and the chats that the config names",
		Long: "Runs the bot until it is told to stop (SIGTERM or Ctrl-C); it finishes the turns it has.\n" +
			"deploy/triagebot.yaml is a config with every key explained.",
		Args: noMore,
		RunE: func(c *cobra.Command, _ []string) error {
			conf, found := config.Load(path, os.Getenv)
			if len(found) > 0 {
				for _, p := range found {
					fmt.Fprintln(s.err, p)
				}
				return errFound
			}
			return serve(c.Context(), conf, s)
		},
	}
	c.Flags().StringVar(&path, "config", "", "the config (YAML)")
	_ = c.MarkFlagRequired("config") // the flag is there
	return c
}

// stopTime is how long turns in hand may take once the bot is told to stop.
const stopTime = 20 * time.Second

// adapter is a chat, or pages. Addresses that start with its name and a colon
// are sent through it.
type adapter struct {
	name   string
	sender turns.Sender                // nil: nothing is sent through it
	run    func(context.Context) error // until the context ends; nil: nothing to run
}

// server is the bot while it runs.
type server struct {
	conf    *config.Config
	log     *slog.Logger
	now     func() time.Time
	metrics *metrics
	store   *store.Store
	engine  *conversation.Engine
	feed    *desk.Feed
	learned *feed.Feed // what the talks that ended add up to
	written *kb.KB     // the rules without learned priors
	priors  int        // the version that the engine runs with
	senders *senders
	runner  *turns.Runner
	desk    *desk.Desk
	chat    *discord.Adapter // nil without discord in the config
	closers []func() error   // last first
}

func serve(ctx context.Context, conf *config.Config, s streams) (err error) {
	v := &server{conf: conf, log: newLog(conf.Log, s.err), now: desk.Steady(time.Now), metrics: newMetrics(), feed: desk.NewFeed()}
	defer func() { err = errors.Join(err, v.close()) }()
	adapters, announce := v.adapters()
	v.senders = &senders{to: map[string]turns.Sender{web.Place: web.Sender{}}} // talks of the pages need no sending, whether they are served or not
	for _, a := range adapters {
		if a.sender != nil {
			v.senders.to[a.name] = a.sender
		}
	}
	if err := v.open(announce); err != nil {
		return err
	}
	listener, err := net.Listen("tcp", conf.API.Listen)
	if err != nil {
		return fmt.Errorf("listening for the local interface: %w", err)
	}
	pages, err := v.pages()
	if err != nil {
		return errors.Join(err, listener.Close())
	}
	fmt.Fprintf(s.out, "listening on http://%s\n", listener.Addr())
	if v.chat != nil {
		adapters = append(adapters, adapter{name: "discord", run: func(ctx context.Context) error { return v.chat.Run(ctx, v.runner, v.desk) }})
	}
	if conf.Pages != nil {
		a, err := v.webPages(s.out)
		if err != nil {
			return errors.Join(err, listener.Close())
		}
		adapters = append(adapters, a)
	}
	adapters = append(adapters,
		adapter{name: "what is due", run: v.desk.Run},
		adapter{name: "the local interface", run: func(ctx context.Context) error { return listen(ctx, listener, pages, v.log) }},
		adapter{name: "the statistics", run: v.followTalks},
		adapter{name: "the store", run: v.watchStore})
	return v.run(ctx, adapters)
}

// adapters are the chats of the config, and the address that volunteers are told at.
func (v *server) adapters() (list []adapter, announce string) {
	if b := v.conf.Bridge; b != nil {
		client := &http.Client{Timeout: 10 * time.Second, Transport: &http.Transport{MaxIdleConnsPerHost: 32, IdleConnTimeout: time.Minute}}
		list = append(list, adapter{name: strings.TrimSuffix(api.Place, ":"), sender: &api.Deliver{URL: b.Deliver, Token: b.Token.Value(), Client: client}})
		if b.Volunteers != "" {
			announce = api.Place + b.Volunteers
		}
		v.closers = append(v.closers, func() error { client.CloseIdleConnections(); return nil })
	}
	return list, announce
}

// open opens the store and all that stands over it.
func (v *server) open(announce string) error {
	k, err := loadKB(v.conf.KB)
	if err != nil {
		return err
	}
	if v.written, err = loadKB(v.conf.KB); err != nil {
		return err
	}
	if v.store, err = store.Open(v.conf.Store, store.Options{Now: v.now}); err != nil {
		return err
	}
	v.closers = append(v.closers, v.store.Close)
	if v.priors, err = putPriors(v.store, k, v.now, v.log); err != nil {
		return err
	}
	engine, index, err := hearing.Engine(k)
	if err != nil {
		return err
	}
	v.engine = engine
	v.closers = append(v.closers, index.Close)
	if v.learned, err = feed.New(feed.Config{Store: v.store, Engine: engine, Log: v.log}); err != nil {
		return err
	}
	if at, err := v.onDiscord(k); err != nil {
		return err
	} else if at != "" {
		announce = at
	}
	v.runner, err = turns.New(turns.Config{
		Store: v.store, Engine: engine, Sender: counted{v.senders, v.metrics}, Now: v.now, After: time.After,
		Jitter: rand.Float64, Log: v.log, Case: v.document, Announce: announce, Excuse: []string{engine.Excuse()},
		Happened: v.metrics.happened(v.feed), Took: v.metrics.Took,
	})
	if err != nil {
		return err
	}
	v.closers = append(v.closers, func() error {
		ctx, stop := context.WithTimeout(context.Background(), stopTime)
		defer stop()
		return v.runner.Close(ctx)
	})
	v.desk, err = desk.New(desk.Config{
		Store: v.store, Runner: v.runner, Engine: engine, Feed: v.feed, Now: v.now, After: time.After, Log: v.log,
		Announce: announce, Limits: v.conf.Limits.Desk(), Times: v.conf.Times.Desk(),
	})
	return err
}

func (v *server) document(st *conversation.State) (json.RawMessage, error) {
	c, wrong := casefile.Build(v.engine, st)
	data, err := json.Marshal(c)
	return data, errors.Join(wrong, err)
}

// run runs all adapters until one fails or ctx ends, and then ends them all.
func (v *server) run(ctx context.Context, adapters []adapter) error {
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	var (
		running sync.WaitGroup
		failed  = make(chan error, len(adapters))
	)
	for _, a := range adapters {
		if a.run == nil {
			continue
		}
		running.Go(func() {
			if err := a.run(ctx); err != nil && ctx.Err() == nil {
				failed <- fmt.Errorf("%s: %w", a.name, err)
				stop()
			}
		})
	}
	v.log.Info("running", "store", v.conf.Store, "listen", v.conf.API.Listen)
	<-ctx.Done()
	v.log.Info("stopping: no more messages are taken, and the turns in hand are finished")
	running.Wait()
	select {
	case err := <-failed:
		return err
	default:
		return nil
	}
}

func (v *server) close() error {
	var all error
	for i := len(v.closers) - 1; i >= 0; i-- {
		all = errors.Join(all, v.closers[i]())
	}
	return all
}

// watchStore ends the bot when the disk has failed: whoever starts it again has
// the file checked.
func (v *server) watchStore(ctx context.Context) error {
	select {
	case <-v.store.Failed():
		return store.ErrBroken
	case <-ctx.Done():
		return nil
	}
}

// pages are what is served beside the chats.
func (v *server) pages() (http.Handler, error) {
	var keys []api.Key
	for _, p := range v.conf.People {
		key := api.Key{Token: p.Token.Value(), Person: desk.Person{Name: p.Name}}
		for _, r := range p.Roles {
			key.Person.Roles = append(key.Person.Roles, desk.Role(r))
		}
		keys = append(keys, key)
	}
	if b := v.conf.Bridge; b != nil {
		keys = append(keys, api.Key{Token: b.Token.Value(), Person: desk.Person{Name: "bridge"}, Bridge: true})
	}
	h, err := api.New(api.Config{Desk: v.desk, Store: v.store, Runner: v.runner, Keys: keys, Now: v.now, Log: v.log, Demo: v.learned.Demo()})
	if err != nil {
		return nil, err
	}
	if err := v.metrics.registry.Register(standing{v.store, v.desk}); err != nil {
		return nil, err
	}
	m := http.NewServeMux()
	m.Handle("/v1/", h)
	m.HandleFunc("GET /healthz", v.health)
	m.Handle("GET /metrics", promhttp.HandlerFor(v.metrics.registry, promhttp.HandlerOpts{}))
	return m, nil
}

func (v *server) health(w http.ResponseWriter, _ *http.Request) {
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	_, err := v.store.Figures()
	select {
	case <-v.store.Failed():
		err = store.ErrBroken
	default:
	}
	if err != nil {
		w.WriteHeader(http.StatusServiceUnavailable)
		fmt.Fprintln(w, "the store cannot be used")
		return
	}
	fmt.Fprintln(w, "ok")
}

// listen serves until ctx ends, and then finishes the requests in hand.
func listen(ctx context.Context, l net.Listener, h http.Handler, log *slog.Logger) error {
	s := &http.Server{Handler: h, ErrorLog: slog.NewLogLogger(log.Handler(), slog.LevelError), ReadHeaderTimeout: 5 * time.Second, ReadTimeout: 30 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10}
	ended := make(chan error, 1)
	go func() { ended <- s.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-ctx.Done():
	}
	late, stop := context.WithTimeout(context.WithoutCancel(ctx), stopTime)
	defer stop()
	if err := s.Shutdown(late); err != nil {
		_ = s.Close()
	}
	<-ended
	return nil
}

// senders finds the adapter of an address.
type senders struct{ to map[string]turns.Sender }

// notServed is how long a message waits for an adapter that this run has not;
// the next run may have it.
const notServed = time.Hour

func (s *senders) Send(ctx context.Context, o store.Outgoing) error {
	name, _, _ := strings.Cut(o.To, ":")
	if to := s.to[name]; to != nil {
		return to.Send(ctx, o)
	}
	return &turns.RetryError{After: notServed, Err: errors.New("no chat of the config serves this address")}
}

func newLog(c config.Log, to io.Writer) *slog.Logger {
	var level slog.Level
	_ = level.UnmarshalText([]byte(c.Level)) // checked with the config
	o := &slog.HandlerOptions{Level: level}
	if c.Form == "json" {
		return slog.New(slog.NewJSONHandler(to, o))
	}
	return slog.New(slog.NewTextHandler(to, o))
}
