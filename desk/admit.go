package desk

import (
	"container/list"
	"strconv"
	"sync"
	"time"
	"unicode/utf8"

	"golang.org/x/time/rate"
)

// Limits bound what owners and servers may send. A number that is 0 gets a
// default.
type Limits struct {
	OwnerEvery  time.Duration // one message of an owner in so long, over time
	OwnerBurst  int           // and so many at once
	ServerEvery time.Duration
	ServerBurst int
	Message     int // characters of a message
	Known       int // owners and servers kept in memory
}

// sayAgain is how long nobody is told again that they write too much.
const sayAgain = time.Minute

// A server is told no more than this, however many write too much on it.
const (
	answersAtOnce = 10
	answerEvery   = 6 * time.Second
)

func (l *Limits) complete() {
	for _, n := range []struct {
		value   *int
		usually int
	}{{&l.OwnerBurst, 10}, {&l.ServerBurst, 100}, {&l.Message, 4000}, {&l.Known, 20_000}} {
		if *n.value <= 0 {
			*n.value = n.usually
		}
	}
	if l.OwnerEvery <= 0 {
		l.OwnerEvery = 3 * time.Second
	}
	if l.ServerEvery <= 0 {
		l.ServerEvery = 200 * time.Millisecond
	}
}

// gate keeps a limiter each for the owners and servers that wrote last.
type gate struct {
	mu     sync.Mutex
	limits Limits
	words  sentences
	known  map[string]*list.Element
	order  *list.List // who wrote last first
	time   steady     // a limiter gives nothing until the time it saw last is back
}

type writer struct {
	name    string
	writes  *rate.Limiter
	answers *rate.Limiter
	told    time.Time
}

func newGate(l Limits, words sentences) *gate {
	return &gate{limits: l, words: words, known: map[string]*list.Element{}, order: list.New()}
}

// of finds a writer. One that is forgotten because many others wrote since
// starts with a full burst, which the limit of the server still bounds.
func (g *gate) of(name string, every time.Duration, burst int) *writer {
	if e := g.known[name]; e != nil {
		g.order.MoveToFront(e)
		return e.Value.(*writer)
	}
	w := &writer{name: name, writes: rate.NewLimiter(rate.Every(every), burst), answers: rate.NewLimiter(rate.Every(answerEvery), answersAtOnce)}
	g.known[name] = g.order.PushFront(w)
	if g.order.Len() > g.limits.Known {
		last := g.order.Back()
		delete(g.known, last.Value.(*writer).name)
		g.order.Remove(last)
	}
	return w
}

// Admit says whether a message of an owner may have a turn now, and otherwise
// what to answer, which is nothing when they were told within the last minute.
// Server is "" for a direct message. Ask it once for a message; one that comes
// again, after a reconnect, has its turn already.
func (d *Desk) Admit(owner, server string, now time.Time) (ok bool, say []string) {
	g := d.gate
	g.mu.Lock()
	defer g.mu.Unlock()
	now = g.time.at(now)
	o := g.of("o"+owner, g.limits.OwnerEvery, g.limits.OwnerBurst)
	s := g.of("s"+server, g.limits.ServerEvery, g.limits.ServerBurst)
	sentence := "slower"
	defer func() {
		if !ok {
			d.slowed.Add(1)
		}
	}()
	if o.writes.AllowN(now, 1) {
		if server == "" || s.writes.AllowN(now, 1) {
			return true, nil
		}
		sentence = "busy"
	}
	if !o.told.IsZero() && now.Sub(o.told) < sayAgain {
		return false, nil
	}
	if !s.answers.AllowN(now, 1) {
		return false, nil
	}
	o.told = now
	return false, []string{g.words.say(sentence)}
}

// Fits says whether a message is short enough for a turn, and otherwise what to
// answer.
func (d *Desk) Fits(text string) (ok bool, say []string) {
	if utf8.RuneCountInString(text) <= d.c.Limits.Message {
		return true, nil
	}
	return false, []string{d.words.say("too-long", "most", strconv.Itoa(d.c.Limits.Message))}
}
