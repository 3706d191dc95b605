package fakeplatform

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"strconv"
	"sync"
	"time"
)

// Token is what the bot must show.
const Token = "loopback-token-which-nobody-guesses"

// Kinds of channels, by the platform's numbers.
const (
	TextChannel   = 0
	DirectMessage = 1
	PublicThread  = 11
	PrivateThread = 12
)

// Permissions, by the platform's bits.
const (
	ViewChannel           = 1 << 10
	SendMessages          = 1 << 11
	AttachFiles           = 1 << 15
	ReadHistory           = 1 << 16
	UseCommands           = 1 << 31
	CreatePrivateThreads  = 1 << 36
	SendMessagesInThreads = 1 << 38
)

// AsInvited is what the bot is given unless a test takes something away.
const AsInvited = ViewChannel | SendMessages | AttachFiles | ReadHistory | CreatePrivateThreads | SendMessagesInThreads

// Platform is a running fake. Its methods are safe for concurrent use.
type Platform struct {
	now    func() time.Time
	server *httptest.Server

	mu       sync.Mutex
	lastID   uint64
	bot      *user
	users    map[string]*user
	guilds   map[string]*guild
	channels map[string]*channel
	messages map[string]*Message
	inters   map[string]*interaction
	files    map[string]file
	nonces   map[string]string // channel and nonce -> message
	commands []map[string]any
	doubled  int
	gripes   []string
	requests map[string]int
	fault    func(Request) *Answer
	heard    chan struct{} // closed and made anew whenever something changes

	gateway gateway
}

type user struct {
	ID     string
	Name   string
	Bot    bool
	closed bool // takes no direct messages
}

type guild struct {
	ID       string
	Name     string
	roles    map[string]string // id -> name
	members  map[string]map[string]bool
	channels []string
}

type channel struct {
	ID       string
	Kind     int
	Guild    string
	Parent   string
	Name     string
	Owner    string
	members  map[string]bool // of a thread or a direct message
	archived bool
	last     string
	list     []string // messages, oldest first
	denied   int64    // permissions the bot has not
}

type file struct {
	name, kind string
	data       []byte
}

// Start starts a platform. The clock only makes ids and times.
func Start(now func() time.Time) *Platform {
	p := &Platform{
		now: now, users: map[string]*user{}, guilds: map[string]*guild{}, channels: map[string]*channel{}, messages: map[string]*Message{},
		inters: map[string]*interaction{}, files: map[string]file{}, nonces: map[string]string{}, requests: map[string]int{},
		heard: make(chan struct{}),
	}
	p.gateway.init()
	p.bot = &user{ID: p.id(), Name: "triagebot", Bot: true}
	p.users[p.bot.ID] = p.bot
	p.server = httptest.NewServer(http.HandlerFunc(p.serve))
	return p
}

// Close ends all connections and the server.
func (p *Platform) Close() {
	p.mu.Lock()
	conns := p.gateway.all()
	p.mu.Unlock()
	for _, c := range conns {
		c.drop()
	}
	p.server.CloseClientConnections()
	p.server.Close()
}

// URL is where REST begins.
func (p *Platform) URL() string { return p.server.URL }

// BotID is the bot's user.
func (p *Platform) BotID() string { return p.bot.ID }

// id gives ids that grow with time, as the platform's do. The lock is held, but
// for the first one.
func (p *Platform) id() string {
	const epoch = 1420070400000
	p.lastID = max(p.lastID+1, uint64(p.now().UnixMilli()-epoch)<<22)
	return strconv.FormatUint(p.lastID, 10)
}

// changed wakes all who wait; the lock is held.
func (p *Platform) changed() {
	close(p.heard)
	p.heard = make(chan struct{})
}

// Wait returns once cond holds, or false after the time given. cond is called
// with nothing locked, whenever something changed.
func (p *Platform) Wait(most time.Duration, cond func() bool) bool {
	over := time.NewTimer(most)
	defer over.Stop()
	for {
		p.mu.Lock()
		heard := p.heard
		p.mu.Unlock()
		if cond() {
			return true
		}
		select {
		case <-heard:
		case <-over.C:
			return cond()
		}
	}
}

// gripe keeps what the bot should not have done; the lock is held.
func (p *Platform) gripe(format string, a ...any) {
	p.gripes = append(p.gripes, fmt.Sprintf(format, a...))
}

// Complaints lists what the bot did that it should not: pings, limits passed,
// fields that are null, permissions it was not given.
func (p *Platform) Complaints() []string {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]string(nil), p.gripes...)
}

// Doubled counts the messages that were sent again and dropped by their nonce.
func (p *Platform) Doubled() int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.doubled
}

// ForgetNonces makes the platform take a second message with a nonce as a new
// one, as it does after a few minutes.
func (p *Platform) ForgetNonces() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.nonces = map[string]string{}
}

// Requests counts the requests so far by method and route, as "POST /channels/ID/messages".
func (p *Platform) Requests(route string) int {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.requests[route]
}

// Commands are the slash commands that the bot registered.
func (p *Platform) Commands() []map[string]any {
	p.mu.Lock()
	defer p.mu.Unlock()
	return append([]map[string]any(nil), p.commands...)
}
