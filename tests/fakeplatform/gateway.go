package fakeplatform

import (
	"encoding/json"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"

	"github.com/gorilla/websocket"
)

// Intents, by the platform's bits.
const (
	intentGuilds         = 1 << 0
	intentGuildMessages  = 1 << 9
	intentDirectMessages = 1 << 12
	intentMessageContent = 1 << 15
)

// gateway is the side of the platform that speaks through websockets. Its fields
// are guarded by the lock of the Platform.
type gateway struct {
	conns      map[*conn]bool
	sessions   map[string]*session
	identifies int
	resumes    int
	closed     []int // codes with which the bot closed
	faults     gatewayFaults
	held       []func()
	interval   int // of heartbeats, in ms
	shards     int
	beats      int
	refused    int
}

type session struct {
	id      string
	seq     int
	intents int
	shard   [2]int
	events  [][]byte // all, for a resume
	conn    *conn
}

func (g *gateway) init() {
	g.conns, g.sessions, g.interval, g.shards = map[*conn]bool{}, map[string]*session{}, 41250, 1
}

func (g *gateway) all() []*conn {
	var list []*conn
	for c := range g.conns {
		list = append(list, c)
	}
	return list
}

// conn is one websocket. What is sent waits in a queue of its own, so that a bot
// that does not read holds up nobody.
type conn struct {
	ws    *websocket.Conn
	queue chan []byte
	once  sync.Once
	done  chan struct{}
}

// mostQueued is more than any test lets pile up.
const mostQueued = 1 << 14

func (c *conn) send(v any) {
	data, err := json.Marshal(v)
	if err != nil {
		panic(err) // maps of plain values
	}
	c.sendRaw(data)
}

func (c *conn) sendRaw(data []byte) {
	select {
	case c.queue <- data:
	case <-c.done:
	default:
		c.drop()
	}
}

// drop cuts the connection without a word.
func (c *conn) drop() {
	c.once.Do(func() {
		close(c.done)
		_ = c.ws.NetConn().Close()
	})
}

// end closes with a code, after what waits was sent.
func (c *conn) end(code int) {
	c.sendRaw(append([]byte{0}, strconv.Itoa(code)...))
}

func (c *conn) write() {
	for {
		select {
		case data := <-c.queue:
			if data[0] == 0 {
				code, _ := strconv.Atoi(string(data[1:]))
				_ = c.ws.WriteControl(websocket.CloseMessage, websocket.FormatCloseMessage(code, ""), time.Time{})
				c.drop()
				return
			}
			if c.ws.WriteMessage(websocket.TextMessage, data) != nil {
				c.drop()
				return
			}
		case <-c.done:
			return
		}
	}
}

type packet struct {
	Op   int             `json:"op"`
	Data json.RawMessage `json:"d"`
}

func (p *Platform) serveGateway(w http.ResponseWriter, r *http.Request) {
	p.mu.Lock()
	f := &p.gateway.faults
	if f.down {
		p.gateway.refused++
		p.changed()
		p.mu.Unlock()
		http.Error(w, "", http.StatusServiceUnavailable)
		return
	}
	hello := true
	if f.noHello > 0 {
		f.noHello--
		hello = false
	}
	p.mu.Unlock()
	up := websocket.Upgrader{CheckOrigin: func(*http.Request) bool { return true }}
	ws, err := up.Upgrade(w, r, nil)
	if err != nil {
		return
	}
	c := &conn{ws: ws, queue: make(chan []byte, mostQueued), done: make(chan struct{})}
	p.mu.Lock()
	p.gateway.conns[c] = true
	interval := p.gateway.interval
	p.changed()
	p.mu.Unlock()
	if hello {
		c.send(map[string]any{"op": 10, "d": map[string]any{"heartbeat_interval": interval}})
	}
	var writing sync.WaitGroup
	writing.Go(c.write)
	p.read(c)
	c.drop()
	writing.Wait()
	_ = ws.Close()
	p.mu.Lock()
	delete(p.gateway.conns, c)
	for _, s := range p.gateway.sessions {
		if s.conn == c {
			s.conn = nil
		}
	}
	p.changed()
	p.mu.Unlock()
}

func (p *Platform) read(c *conn) {
	for {
		_, data, err := c.ws.ReadMessage()
		if err != nil {
			if e, ok := err.(*websocket.CloseError); ok {
				p.botClosed(c, e.Code)
			}
			return
		}
		var in packet
		if json.Unmarshal(data, &in) != nil {
			c.end(4002)
			continue
		}
		switch in.Op {
		case 1:
			p.mu.Lock()
			p.gateway.beats++
			deaf := p.gateway.faults.noAcks
			p.changed()
			p.mu.Unlock()
			if !deaf {
				c.send(map[string]any{"op": 11})
			}
		case 2:
			p.identify(c, in.Data)
		case 6:
			p.resume(c, in.Data)
		}
	}
}

// botClosed voids the session if the bot said goodbye with 1000 or 1001.
func (p *Platform) botClosed(c *conn, code int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.gateway.closed = append(p.gateway.closed, code)
	if code != websocket.CloseNormalClosure && code != websocket.CloseGoingAway {
		return
	}
	for id, s := range p.gateway.sessions {
		if s.conn == c {
			delete(p.gateway.sessions, id)
		}
	}
}

func (p *Platform) identify(c *conn, data json.RawMessage) {
	var d struct {
		Token   string  `json:"token"`
		Intents int     `json:"intents"`
		Shard   *[2]int `json:"shard"`
	}
	_ = json.Unmarshal(data, &d)
	p.mu.Lock()
	defer p.mu.Unlock()
	g := &p.gateway
	g.identifies++
	p.changed()
	switch {
	case g.faults.reconnectFirst > 0:
		g.faults.reconnectFirst--
		c.send(map[string]any{"op": 7, "d": nil})
		return
	case g.faults.closeFirst > 0:
		g.faults.closeFirst--
		c.end(g.faults.closeCode)
		return
	case strings.TrimPrefix(d.Token, "Bot ") != Token:
		c.end(4004)
		return
	case d.Intents&intentMessageContent != 0 && g.faults.contentBarred:
		c.end(4014)
		return
	}
	s := &session{id: "session-" + p.id(), intents: d.Intents, shard: [2]int{0, 1}, conn: c}
	if d.Shard != nil {
		s.shard = *d.Shard
	}
	g.sessions[s.id] = s
	list := []any{}
	for _, x := range p.guilds {
		if s.has(x.ID) {
			list = append(list, map[string]any{"id": x.ID, "unavailable": true})
		}
	}
	s.deliver("READY", map[string]any{
		"v": 9, "user": userObject(p.bot), "guilds": list, "session_id": s.id, "resume_gateway_url": p.gatewayURL(),
		"application": map[string]any{"id": p.bot.ID, "flags": 0},
	}, 1)
	for _, x := range p.guilds {
		if s.has(x.ID) && s.intents&intentGuilds != 0 {
			s.deliver("GUILD_CREATE", p.guildObject(x), 1)
		}
	}
}

func (p *Platform) resume(c *conn, data json.RawMessage) {
	var d struct {
		Session string `json:"session_id"`
		Seq     int    `json:"seq"`
	}
	_ = json.Unmarshal(data, &d)
	p.mu.Lock()
	defer p.mu.Unlock()
	s := p.gateway.sessions[d.Session]
	if s == nil || d.Seq > s.seq {
		c.send(map[string]any{"op": 9, "d": false})
		return
	}
	p.gateway.resumes++
	s.conn = c
	for _, data := range s.events[max(0, d.Seq-p.gateway.faults.replayMore):] {
		c.sendRaw(data)
	}
	s.deliver("RESUMED", map[string]any{}, 1)
	p.changed()
}

// has says whether a guild is on this session's shard.
func (s *session) has(guild string) bool {
	if guild == "" {
		return s.shard[0] == 0
	}
	n, _ := strconv.ParseUint(guild, 10, 64)
	return int((n>>22)%uint64(s.shard[1])) == s.shard[0]
}

func (s *session) deliver(kind string, data any, times int) {
	for range times {
		s.seq++
		raw, err := json.Marshal(map[string]any{"op": 0, "s": s.seq, "t": kind, "d": data})
		if err != nil {
			panic(err)
		}
		s.events = append(s.events, raw)
		if s.conn != nil {
			s.conn.sendRaw(raw)
		}
	}
}

// event gives an event to the sessions that asked for it. data is a value, or a
// function of the session: without the intent for it content is left out. The
// lock is held.
func (p *Platform) event(guild string, intent int, kind string, data any) {
	times := 1 + p.gateway.faults.duplicates
	var ids []string
	for id := range p.gateway.sessions {
		ids = append(ids, id)
	}
	slices.Sort(ids)
	for _, id := range ids {
		s := p.gateway.sessions[id]
		if !s.has(guild) || intent != 0 && s.intents&intent == 0 {
			continue
		}
		v := data
		if fn, ok := data.(func(*session) any); ok {
			v = fn(s)
		}
		if p.gateway.faults.holding {
			p.gateway.held = append(p.gateway.held, func() { s.deliver(kind, v, times) })
			continue
		}
		s.deliver(kind, v, times)
	}
}

func (p *Platform) gatewayURL() string {
	return strings.Replace(p.server.URL, "http", "ws", 1) + "/gateway"
}
