package conversation

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"

	"triagebot/kb"
)

// Engine leads talks by one knowledge base. It holds no talk itself and is safe
// for concurrent use.
type Engine struct {
	kb      *kb.KB
	matcher Matcher
	reader  *Reader
	words   sentences
	models  sync.Map // kit id and asked figures -> *rules.Model
	kept    atomic.Int32
}

// New makes an engine.
func New(k *kb.KB, m Matcher) (*Engine, error) {
	reader, err := NewReader()
	if err != nil {
		return nil, err
	}
	words, err := loadSentences("en")
	if err != nil {
		return nil, err
	}
	return &Engine{kb: k, matcher: m, reader: reader, words: words}, nil
}

// KB is the knowledge base the engine goes by.
func (e *Engine) KB() *kb.KB { return e.kb }

// mostRunes is how much of one message is read; nobody types more, and the
// time of a turn must stay bounded.
const mostRunes = 4000

// clean takes out what cannot be words: invalid bytes and control characters.
func clean(msg string) string {
	var b strings.Builder
	n := 0
	for _, r := range msg {
		if n == mostRunes {
			break
		}
		switch {
		case r == '\n' || r == '\t':
			r = ' '
		case r == unicode.ReplacementChar || unicode.IsControl(r):
			continue
		}
		b.WriteRune(r)
		n++
	}
	return strings.TrimSpace(b.String())
}

// Excuse is what an owner is told when a turn broke down: a person takes over.
func (e *Engine) Excuse() string { return e.sentence("broke-down") }

// Greet opens a talk.
func (e *Engine) Greet(now time.Time) []Event {
	line := e.sentence("greeting")
	return []Event{{Kind: BotSaid, Time: now, Lines: []string{line}}}
}

// Step takes one message of the owner and returns what happened and the turn to
// show. The state given is not changed; applying the events to it brings it up
// to date. An error means that the rules themselves could not be worked out;
// the events are still good and nothing the owner said is lost.
func (e *Engine) Step(st *State, msg string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e, st: st.Clone(), now: now}
	msg = clean(msg)
	t.back = laidAside(st.Reason)
	t.emit(Event{Kind: OwnerSaid, Text: msg})
	err := t.run(msg)
	if err != nil {
		err = fmt.Errorf("answering turn %d: %w", t.st.Turn, err)
		t.handOver(ReasonUnexplained)
	}
	if len(t.lines) > 0 {
		t.emit(Event{Kind: BotSaid, Lines: t.lines})
	}
	return t.events, t.turn(), err
}

// sentence fills in the words of this knowledge base besides those given.
func (e *Engine) sentence(name string, pairs ...string) string {
	person := e.kb.About.Person
	return upper(e.words.say(name, append(pairs, "thing", e.kb.About.Thing, "name", e.kb.About.Name, "person", person, "Person", upper(person))...))
}
