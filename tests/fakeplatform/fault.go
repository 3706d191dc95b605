package fakeplatform

import (
	"encoding/json"
	"net/http"
	"slices"
)

// gatewayFaults are what goes wrong with the gateway.
type gatewayFaults struct {
	down           bool
	noHello        int
	noAcks         bool
	reconnectFirst int
	closeFirst     int
	closeCode      int
	contentBarred  bool
	duplicates     int
	holding        bool
	replayMore     int
}

// Request is a request of the bot, before it is answered.
type Request struct {
	Method, Path string
	Body         []byte
	Header       http.Header
}

// Answer is given instead of the platform's own.
type Answer struct {
	Status    int
	Header    map[string]string
	Body      any
	AfterWork bool // what was asked is done all the same, and only its answer lost
}

// OnRequest has every request go through fn, which may answer it.
func (p *Platform) OnRequest(fn func(Request) *Answer) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.fault = fn
}

// TooMany is the answer to too many requests, of one route or of all.
func TooMany(seconds float64, global bool) *Answer {
	a := &Answer{Status: http.StatusTooManyRequests, Body: map[string]any{"message": "You are being rate limited.", "retry_after": seconds, "global": global}}
	a.Header = map[string]string{"Retry-After": "1"}
	if global {
		a.Header["X-RateLimit-Global"] = "true"
	}
	return a
}

// GatewayDown refuses new connections to the gateway, or takes them again.
func (p *Platform) GatewayDown(down bool) {
	p.with(func(g *gateway) {
		g.faults.down = down
	})
}

// ForgetSessions voids all sessions: nothing can be resumed.
func (p *Platform) ForgetSessions() {
	p.with(func(g *gateway) { g.sessions = map[string]*session{} })
}

// NoHello has the next so many connections never greeted.
func (p *Platform) NoHello(n int) { p.with(func(g *gateway) { g.faults.noHello = n }) }

// NoAcks leaves heartbeats unanswered.
func (p *Platform) NoAcks(on bool) { p.with(func(g *gateway) { g.faults.noAcks = on }) }

// ReconnectFirst answers the next so many identifies with a request to reconnect.
func (p *Platform) ReconnectFirst(n int) { p.with(func(g *gateway) { g.faults.reconnectFirst = n }) }

// CloseFirst answers the next so many identifies by closing with a code.
func (p *Platform) CloseFirst(n, code int) {
	p.with(func(g *gateway) { g.faults.closeFirst, g.faults.closeCode = n, code })
}

// BarContent makes the intent for message content one that was not granted.
func (p *Platform) BarContent() { p.with(func(g *gateway) { g.faults.contentBarred = true }) }

// Duplicate gives every event so many times more.
func (p *Platform) Duplicate(n int) { p.with(func(g *gateway) { g.faults.duplicates = n }) }

// ReplayMore has a resume replay so many events more than were missed.
func (p *Platform) ReplayMore(n int) { p.with(func(g *gateway) { g.faults.replayMore = n }) }

// Heartbeats sets the interval that new connections are told, in milliseconds.
func (p *Platform) Heartbeats(ms int) { p.with(func(g *gateway) { g.interval = ms }) }

// Shards is what the platform asks for.
func (p *Platform) Shards(n int) { p.with(func(g *gateway) { g.shards = n }) }

// Hold keeps events back until Release.
func (p *Platform) Hold() { p.with(func(g *gateway) { g.faults.holding = true }) }

// Release gives what was held, in the opposite order if wanted.
func (p *Platform) Release(backwards bool) {
	p.with(func(g *gateway) {
		held := g.held
		g.held, g.faults.holding = nil, false
		if backwards {
			slices.Reverse(held)
		}
		for _, give := range held {
			give()
		}
	})
}

// Reconnect asks all connections to come anew.
func (p *Platform) Reconnect() { p.tellAll(map[string]any{"op": 7, "d": nil}) }

// AskHeartbeat asks all connections for a sign of life.
func (p *Platform) AskHeartbeat() { p.tellAll(map[string]any{"op": 1, "d": nil}) }

// Invalidate declares all sessions invalid.
func (p *Platform) Invalidate(resumable bool) {
	if !resumable {
		p.ForgetSessions()
	}
	p.tellAll(map[string]any{"op": 9, "d": resumable})
}

func (p *Platform) tellAll(v any) {
	p.with(func(g *gateway) {
		for c := range g.conns {
			c.send(v)
		}
	})
}

// CloseWith closes all connections with a code.
func (p *Platform) CloseWith(code int) {
	p.with(func(g *gateway) {
		for c := range g.conns {
			c.end(code)
		}
	})
}

// Drop cuts all connections without a word.
func (p *Platform) Drop() {
	p.with(func(g *gateway) {
		for c := range g.conns {
			c.drop()
		}
	})
}

// Raw gives an event as it is, such as one with components nobody knows.
func (p *Platform) Raw(kind, data string) {
	p.with(func(*gateway) { p.event("", 0, kind, json.RawMessage(data)) })
}

// Connections, Identifies, Resumes and Beats count what reached the gateway.
func (p *Platform) Connections() (n int) { p.with(func(g *gateway) { n = len(g.conns) }); return n }

// Identifies counts the sessions begun.
func (p *Platform) Identifies() (n int) { p.with(func(g *gateway) { n = g.identifies }); return n }

// Resumes counts the sessions taken up again.
func (p *Platform) Resumes() (n int) { p.with(func(g *gateway) { n = g.resumes }); return n }

// Beats counts the heartbeats.
func (p *Platform) Beats() (n int) { p.with(func(g *gateway) { n = g.beats }); return n }

// Refused counts the connections that were refused.
func (p *Platform) Refused() (n int) { p.with(func(g *gateway) { n = g.refused }); return n }

// Sessions counts those that are connected and ready.
func (p *Platform) Sessions() (n int) {
	p.with(func(g *gateway) {
		for _, s := range g.sessions {
			if s.conn != nil {
				n++
			}
		}
	})
	return n
}

func (p *Platform) with(fn func(*gateway)) {
	p.mu.Lock()
	defer p.mu.Unlock()
	fn(&p.gateway)
}
