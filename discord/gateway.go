package discord

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"sync/atomic"
	"time"

	"github.com/bwmarrin/discordgo"
	"github.com/gorilla/websocket"
)

// FatalError is a refusal of the gateway that no new attempt can change.
type FatalError struct {
	Code int
	Do   string
}

func (e *FatalError) Error() string {
	return fmt.Sprintf("the gateway refuses the bot (close code %d): %s", e.Code, e.Do)
}

// fatal are the close codes after which it makes no sense to come back, and
// what to do about them.
var fatal = map[int]string{
	4004: "the token is not valid; make a new one in the developer portal",
	4010: "the shard is not one of this bot's; start anew",
	4011: "the bot is in so many servers that it needs more shards; start anew, they are asked for at the start",
	4012: "this version of the gateway is no longer served; use a newer triagebot",
	4013: "the intents are not valid; use a newer triagebot",
	4014: "an intent was asked for that the portal does not grant: switch on the message content intent there, or set discord.content to false",
}

// Times of the gateway.
const (
	openTime   = time.Minute // for one attempt to open a session
	silentTime = time.Minute // a living gateway answers a heartbeat every 41 s
	firstPause = time.Second // before coming back, doubled from time to time
	lastPause  = 2 * time.Minute
	betweenIDs = 5 * time.Second   // between two identifies, by the platform's rule
	beginEvery = 108 * time.Second // the platform takes the token back after 1000 new sessions a day; 800 and
	beginBurst = 100               // so many at once stay below
	mostWedged = 3                 // sessions given up because Open never came back
)

// shard keeps one session with the gateway open.
type shard struct {
	a        *Adapter
	id, all  int
	gateway  string
	session  *discordgo.Session
	down     chan struct{} // told when a connection is closed
	mu       sync.Mutex
	link     *link
	wedged   int
	from     atomic.Uint64 // messages newer than this are fetched, once a session is new
	ready    atomic.Bool   // the session began, so that the next Open resumes it
	identify chan struct{} // holds one token: who has it may identify
}

// run keeps the session open until ctx ends. It returns an error that no new
// attempt can mend.
func (s *shard) run(ctx context.Context) error {
	pause := firstPause
	for {
		opened := s.a.c.Now()
		err := s.once(ctx)
		if ctx.Err() != nil {
			return nil
		}
		if f := (*FatalError)(nil); errors.As(err, &f) {
			return err
		}
		if s.wedged >= mostWedged {
			return fmt.Errorf("keeping the gateway open: it did not answer %d times, and each time left something behind; start the program anew: %w", s.wedged, err)
		}
		if s.a.c.Now().Sub(opened) > lastPause { // it held for a while
			pause = firstPause
		}
		s.a.lost.Add(1)
		s.a.c.Log.Warn("the gateway is gone", "shard", s.id, "error", safe(err))
		wait := pause/2 + time.Duration(s.a.c.Jitter()*float64(pause))
		if errors.Is(err, errInvalid) { // the platform wants 1 to 5 s before a new session
			wait = time.Second + time.Duration(s.a.c.Jitter()*float64(4*time.Second))
		}
		select {
		case <-s.a.c.After(wait):
		case <-ctx.Done():
			return nil
		}
		pause = min(2*pause, lastPause)
	}
}

// once opens the session, resumed where that can be, and returns when it is gone.
func (s *shard) once(ctx context.Context) error {
	if s.session == nil {
		if err := s.renew(); err != nil {
			return err
		}
	}
	err := s.open(ctx)
	if err == nil {
		s.a.connected.Add(1)
		defer s.a.connected.Add(-1)
		for over := false; !over; {
			select {
			case <-s.down: // may be an echo of the connection before
				_, over = s.current().ending()
			case <-ctx.Done():
				_ = s.session.Close()
				return nil
			}
		}
		err = errEnded
	}
	l := s.current()
	if l == nil {
		return err
	}
	why, _ := l.ending()
	if do := fatal[why.code]; do != "" {
		return &FatalError{why.code, do}
	}
	if why.invalid || void[why.code] {
		s.session = nil // what came in between is fetched over REST
		err = errInvalid
	}
	if why.code != 0 {
		err = fmt.Errorf("closed with code %d", why.code)
	}
	return err
}

// errInvalid is returned when the session is void besides the connection.
var errInvalid = errors.New("the session cannot be resumed")

func (s *shard) current() *link {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.link
}

// void are the close codes that end the session besides the connection.
var void = map[int]bool{1000: true, 1001: true, 4003: true, 4007: true, 4009: true}

// open runs discordgo's Open, which may never come back: an ended link wakes it,
// and one that sleeps on regardless is left behind with its session.
func (s *shard) open(ctx context.Context) error {
	if !s.ready.Load() {
		select {
		case <-s.identify:
		case <-ctx.Done():
			return ctx.Err()
		}
		now := s.a.c.Now()
		if wait := s.a.begins.ReserveN(now, 1).DelayFrom(now); wait > 0 {
			s.a.c.Log.Warn("so many sessions were begun that the next must wait", "wait", wait)
			select {
			case <-s.a.c.After(wait):
			case <-ctx.Done():
				s.identify <- struct{}{}
				return ctx.Err()
			}
		}
		defer s.a.running.Go(func() { // the next may identify a while after this one
			select {
			case <-s.a.c.After(betweenIDs):
			case <-ctx.Done():
			}
			s.identify <- struct{}{}
		})
	}
	session, opened := s.session, make(chan error, 1)
	go func() {
		defer func() {
			if p := recover(); p != nil {
				opened <- fmt.Errorf("opening a session broke down (%T)", p)
			}
		}()
		opened <- session.Open()
	}()
	cut := func() error {
		if l := s.current(); l != nil {
			l.end(ending{})
		}
		select {
		case err := <-opened:
			return err
		case <-s.a.c.After(openTime):
			s.wedged++
			s.session = nil
			return errors.New("opening a session does not come back")
		}
	}
	select {
	case err := <-opened:
		return err
	case <-s.a.c.After(openTime):
		_ = cut()
		return fmt.Errorf("opening a session took more than %v", openTime)
	case <-ctx.Done():
		_ = cut()
		return ctx.Err()
	}
}

// renew makes a session that has nothing to resume.
func (s *shard) renew() error {
	session, err := newSession(s.a.c.Token, &http.Client{Transport: staticGateway{s.gateway}})
	if err != nil {
		return err
	}
	session.Identify.Intents = s.a.intents()
	session.ShardID, session.ShardCount = s.id, s.all
	session.Dialer = &websocket.Dialer{
		HandshakeTimeout:  openTime / 2,
		NetDialContext:    s.dial(nil),
		NetDialTLSContext: s.dial(&tls.Config{}),
	}
	session.AddHandler(s.a.handler(s))
	session.AddHandler(func(x *discordgo.Session, _ *discordgo.Disconnect) {
		select {
		case s.down <- struct{}{}:
		default:
		}
	})
	s.session = session
	s.ready.Store(false)
	return nil
}

// dial connects, through TLS when a config is given, and puts a link in between.
func (s *shard) dial(secure *tls.Config) func(context.Context, string, string) (net.Conn, error) {
	return func(ctx context.Context, network, address string) (net.Conn, error) {
		var (
			c   net.Conn
			err error
		)
		if secure != nil {
			c, err = (&tls.Dialer{Config: secure}).DialContext(ctx, network, address)
		} else {
			c, err = (&net.Dialer{}).DialContext(ctx, network, address)
		}
		if err != nil {
			return nil, fmt.Errorf("connecting to the gateway: %w", err)
		}
		l := newLink(c)
		s.a.running.Go(func() { l.watch(func() <-chan time.Time { return s.a.c.After(silentTime) }) })
		s.mu.Lock()
		s.link = l
		s.mu.Unlock()
		return l, nil
	}
}

// staticGateway answers discordgo's question for the gateway's address, which
// was asked once for all shards. It asks nothing else over this client.
type staticGateway struct{ url string }

// RoundTrip implements http.RoundTripper.
func (g staticGateway) RoundTrip(req *http.Request) (*http.Response, error) {
	body := fmt.Sprintf(`{"url":%q}`, g.url)
	return &http.Response{
		StatusCode: http.StatusOK, Status: "200 OK", Proto: "HTTP/1.1", ProtoMajor: 1, ProtoMinor: 1,
		Header: http.Header{}, Body: noCloser{strings.NewReader(body)}, Request: req,
	}, nil
}

type noCloser struct{ *strings.Reader }

// Close implements io.Closer.
func (noCloser) Close() error { return nil }

// places is what the platform says of its gateway.
type places struct {
	URL    string `json:"url"`
	Shards int    `json:"shards"`
	Limit  struct {
		Remaining   int `json:"remaining"`
		ResetAfter  int `json:"reset_after"`
		Concurrency int `json:"max_concurrency"`
	} `json:"session_start_limit"`
}

// gatewayPlaces asks where the gateway is and how many shards there must be,
// until it is told or ctx ends.
func (a *Adapter) gatewayPlaces(ctx context.Context) (places, error) {
	pause := firstPause
	for {
		var p places
		err := a.rest.do(ctx, http.MethodGet, "/gateway/bot", nil, &p)
		if err == nil && p.Limit.Remaining < p.Shards {
			err = fmt.Errorf("only %d of the sessions of today are left", p.Limit.Remaining)
			pause = max(pause, min(time.Duration(p.Limit.ResetAfter)*time.Millisecond, lastPause))
		}
		if err == nil {
			if a.c.Bases.Gateway != "" {
				p.URL = a.c.Bases.Gateway
			}
			if u, bad := url.Parse(p.URL); bad == nil && u.Path == "" {
				p.URL += "/"
			}
			p.Shards = max(p.Shards, 1)
			return p, nil
		}
		if code := statusOf(err); code == http.StatusUnauthorized {
			return p, &FatalError{4004, fatal[4004]}
		}
		a.c.Log.Warn("asking for the gateway", "error", safe(err), "again in", pause)
		select {
		case <-a.c.After(pause/2 + time.Duration(a.c.Jitter()*float64(pause))):
		case <-ctx.Done():
			return p, ctx.Err()
		}
		pause = min(2*pause, lastPause)
	}
}
