package web

import (
	"context"
	"errors"
	"log/slog"
	"net/http"
	"strings"
	"time"

	"triagebot/casefile/store"
	"triagebot/casefile/turns"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/feed"
	"triagebot/web/account"
)

// Turns gives an owner's message its turn; [turns.Runner] does.
type Turns interface {
	Take(ctx context.Context, in turns.Incoming) error
}

// Config is what the pages need.
type Config struct {
	KB       *kb.KB
	Engine   *conversation.Engine
	Store    *store.Store
	Turns    Turns
	Desk     *desk.Desk
	Accounts *account.Book
	// Report is what closed cases teach, as it was last worked out; nil while
	// there is none. It must be quick.
	Report func() *mining.Report
	// Feed counts the talks that end; nil leaves the pages about them empty. It
	// takes the place of Report.
	Feed *feed.Feed
	// Written are the rules without learned priors, for learning anew; nil takes
	// KB.
	Written *kb.KB
	// Priors is the version of learned priors that KB runs with; 0 for none.
	Priors int
	Now    func() time.Time
	After  func(time.Duration) <-chan time.Time
	Log    *slog.Logger // gets no words and no handles

	// Base is the address that browsers use, such as https://talk.example.org.
	// Cookies are sent over TLS only when it begins with https.
	Base string
	// Proxied says that a proxy of ours stands before the server and writes who
	// asks into X-Forwarded-For.
	Proxied bool
	// Demo marks every page as showing invented cases.
	Demo bool
	// Discord lets people sign in by way of Discord; nil does not.
	Discord *Discord
}

// Server serves the pages. It is an http.Handler.
type Server struct {
	c       Config
	mux     *http.ServeMux
	handler http.Handler
	pages   map[string]*page
	static  *static
	limits  limits
	secure  bool // browsers reach it over TLS
	streams streams
	ends    context.Context // ends the news
	stop    context.CancelFunc
}

// New makes the pages ready.
func New(c Config) (*Server, error) {
	for _, missing := range []struct {
		what string
		is   bool
	}{
		{"knowledge base", c.KB == nil}, {"engine", c.Engine == nil}, {"store", c.Store == nil}, {"turns", c.Turns == nil},
		{"desk", c.Desk == nil}, {"accounts", c.Accounts == nil}, {"clock", c.Now == nil || c.After == nil}, {"log", c.Log == nil},
	} {
		if missing.is {
			return nil, errors.New("making the pages: no " + missing.what + " is given")
		}
	}
	s := &Server{c: c, mux: http.NewServeMux(), secure: strings.HasPrefix(c.Base, "https://"), limits: newLimits(c.Now), streams: streams{by: map[string]int{}}}
	if s.c.Written == nil {
		s.c.Written = c.KB
	}
	if s.c.Feed != nil {
		s.c.Report = func() *mining.Report {
			if x := s.c.Feed.Snapshot(); x != nil {
				return x.Report
			}
			return nil
		}
	}
	if s.c.Report == nil {
		s.c.Report = func() *mining.Report { return nil }
	}
	s.ends, s.stop = context.WithCancel(context.Background())
	var err error
	if s.static, err = newStatic(); err != nil {
		return nil, err
	}
	if s.pages, err = newPages(s); err != nil {
		return nil, err
	}
	if err := c.Discord.check(); err != nil {
		return nil, err
	}
	s.routes()
	if s.handler, err = s.guard(s.mux); err != nil {
		return nil, err
	}
	return s, nil
}

func (s *Server) routes() {
	s.mux.Handle("GET /static/", s.static)
	s.signInPages()
	s.ownerPages()
	s.volunteerPages()
	s.keeperPages()
	s.vendorPages()
	s.priorsPages()
	s.mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, s.ask(r), refuse(http.StatusNotFound, "There is no such page", "The address may have a slip in it, or what it led to is gone."))
	})
}

// Close ends the news that pages follow, which would otherwise go on for as long
// as a browser wants.
func (s *Server) Close() { s.stop() }

// ServeHTTP answers a request.
func (s *Server) ServeHTTP(w http.ResponseWriter, r *http.Request) { s.handler.ServeHTTP(w, r) }

// entry is a place in the navigation.
type entry struct {
	Name, Path string
	Role       desk.Role
}

// navigation is shown to those who signed in, by their roles.
var navigation = []entry{
	{"Cases", "/cases", desk.Volunteer},
	{"What fails", "/learned", desk.Vendor},
	{"Rules", "/rules", desk.Keeper},
	{"Priors", "/priors", desk.Keeper},
}
