package discord

import (
	"context"
	"net/http"
	"strconv"
	"strings"
	"sync"
	"time"

	"golang.org/x/time/rate"
)

// gate says when the platform may be asked. discordgo's own limiter sleeps
// whatever its caller's context says, keeps its buckets for ever and does not know
// the limit over all routes.
type gate struct {
	now   func() time.Time
	after func(time.Duration) <-chan time.Time

	mu     sync.Mutex
	all    *rate.Limiter
	nobody time.Time            // until then no route may be used
	routes map[string]time.Time // until then this one may not
}

// The platform takes 50 requests a second over all routes.
const (
	perSecond = 45
	atOnce    = 20
)

// mostRoutes is when those that are free again are dropped from memory.
const mostRoutes = 512

func newGate(now func() time.Time, after func(time.Duration) <-chan time.Time) *gate {
	return &gate{now: now, after: after, all: rate.NewLimiter(perSecond, atOnce), routes: map[string]time.Time{}}
}

// closed says how long a route may not be used.
func (g *gate) closed(method, path string) time.Duration {
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	return max(0, g.nobody.Sub(now), g.routes[method+" "+path].Sub(now))
}

// pass waits for the limit over all routes.
func (g *gate) pass(ctx context.Context) error {
	g.mu.Lock()
	now := g.now()
	wait := g.all.ReserveN(now, 1).DelayFrom(now)
	g.mu.Unlock()
	if wait <= 0 {
		return ctx.Err()
	}
	select {
	case <-g.after(wait):
		return nil
	case <-ctx.Done():
		return ctx.Err()
	}
}

// learn takes in what an answer says of its limits. A bucket of the platform
// belongs to one route of one channel at least, so the route is what is closed.
func (g *gate) learn(method, path string, status int, h http.Header) {
	path = trimVersion(path)
	if status == http.StatusTooManyRequests {
		// The answer to the limit over all routes has no Reset-After.
		if h.Get("X-RateLimit-Global") != "" || h.Get("X-RateLimit-Scope") == "global" {
			path = ""
		}
		g.close(method, path, seconds(h.Get("Retry-After")))
		return
	}
	if h.Get("X-RateLimit-Remaining") == "0" {
		g.close(method, path, seconds(h.Get("X-RateLimit-Reset-After")))
	}
}

// longestClosed bounds what an answer can ask for.
const longestClosed = time.Hour

func seconds(s string) time.Duration {
	f, err := strconv.ParseFloat(s, 64)
	if err != nil || !(f > 0) {
		return 0
	}
	return time.Duration(min(f, longestClosed.Seconds()) * float64(time.Second))
}

// close closes a route, or all of them when path is "".
func (g *gate) close(method, path string, d time.Duration) {
	if d <= 0 {
		return
	}
	g.mu.Lock()
	defer g.mu.Unlock()
	now := g.now()
	if path == "" {
		g.nobody = now.Add(d)
		return
	}
	if len(g.routes) >= mostRoutes {
		for k, until := range g.routes {
			if !until.After(now) {
				delete(g.routes, k)
			}
		}
	}
	g.routes[method+" "+path] = now.Add(d)
}

// trimVersion takes "/api/v9" off a path.
func trimVersion(path string) string {
	if rest, ok := strings.CutPrefix(path, "/api/v"); ok {
		if i := strings.IndexByte(rest, '/'); i >= 0 {
			return rest[i:]
		}
	}
	return path
}
