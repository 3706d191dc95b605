package web

import (
	"fmt"
	"net/http"
	"sync"
	"time"

	"triagebot/desk"
)

// Bounds of the news: one connection stays open for each page that follows.
const (
	mostStreams     = 2000
	mostStreamsFrom = 40               // by one address: tabs of one household
	breath          = 25 * time.Second // so that a proxy does not take silence for the end
)

// news tells a page when something changed that it shows. Nothing of what
// changed is in it: the page is loaded again, under the same rules as before.
// still says, before each word, whether whoever asks may still see it.
func (s *Server) news(a *asking, w http.ResponseWriter, concerns func(desk.Change) bool, still func() bool) error {
	from := s.from(a.Request)
	if !s.streams.enter(from) {
		w.Header().Set("Retry-After", "60")
		return refuse(http.StatusServiceUnavailable, "Too many pages follow at once", "Load the page again to see what is new.")
	}
	defer s.streams.leave(from)
	changes, stop := s.c.Desk.Watch()
	defer stop()
	w.Header().Set("Content-Type", "text/event-stream")
	w.Header().Set("X-Accel-Buffering", "no")
	out := http.NewResponseController(w)
	// A page may be followed for hours. Who does not read fills no memory here: the
	// words are few, and the connection of who is gone ends by itself.
	_ = out.SetWriteDeadline(time.Time{}) // not every connection has one
	tell := func(what string) bool {
		_, err := fmt.Fprint(w, what)
		return err == nil && out.Flush() == nil
	}
	// The first word comes once the watching has begun: what changed between the
	// page and this is looked for at once.
	if !tell("retry: 4000\nevent: changed\ndata: -\n\n") {
		return nil
	}
	for {
		select {
		case <-a.Context().Done():
			return nil
		case <-s.ends.Done():
			return nil
		case c, ok := <-changes:
			if !ok {
				return nil
			}
			if c.Kind != desk.LookAgain && !concerns(c) {
				continue
			}
			if !still() || !tell("event: changed\ndata: -\n\n") {
				return nil
			}
		case <-s.c.After(breath):
			if !still() || !tell(": \n\n") {
				return nil
			}
		}
	}
}

// signedIn says whether the session of a page still goes on.
func (s *Server) signedIn(a *asking) func() bool {
	return func() bool {
		_, _, err := s.c.Accounts.Signed(a.token)
		return err == nil
	}
}

// streams counts the connections that stay open.
type streams struct {
	mu  sync.Mutex
	all int
	by  map[string]int
}

func (x *streams) enter(from string) bool {
	x.mu.Lock()
	defer x.mu.Unlock()
	if x.all >= mostStreams || x.by[from] >= mostStreamsFrom {
		return false
	}
	x.all++
	x.by[from]++
	return true
}

func (x *streams) leave(from string) {
	x.mu.Lock()
	defer x.mu.Unlock()
	x.all--
	if x.by[from]--; x.by[from] == 0 {
		delete(x.by, from)
	}
}
