package conversation

import (
	"fmt"
	"strings"
	"sync"
	"sync/atomic"
	"time"
	"unicode"

	"triagebot/kb"
	"triagebot/language"
)

// Engine leads talks by one knowledge base. It holds no talk itself and is safe
// for concurrent use.
type Engine struct {
	kb      *kb.KB
	matcher Matcher
	reader  *Reader
	words   sentences
	lang    *language.Language
	base    *Engine      // of an engine in another language: that of the base language
	maker   MatcherMaker // nil where only the base language is spoken
	others  sync.Map     // code of a language -> *spoken
	models  sync.Map     // kit id and asked figures -> *rules.Model
	kept    atomic.Int32
}

// New makes an engine.
func New(k *kb.KB, m Matcher, options ...Option) (*Engine, error) {
	reader, err := NewReaderIn(k.Language)
	if err != nil {
		return nil, err
	}
	words, err := loadSentencesIn(k.Language)
	if err != nil {
		return nil, err
	}
	e := &Engine{kb: k, matcher: m, reader: reader, words: words, lang: language.Of(k.Language)}
	for _, o := range options {
		o(e)
	}
	return e, nil
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

// Greet opens a talk, and says which other languages may be spoken.
func (e *Engine) Greet(now time.Time) []Event {
	lines := []string{e.sentence("greeting")}
	for _, code := range e.kb.Languages() {
		if l := language.Of(code); l != nil && l.Welcome != "" && e.spoken(code) != nil {
			lines = append(lines, l.Welcome)
		}
	}
	return []Event{{Kind: BotSaid, Time: now, Lines: lines}}
}

// Step takes one message of the owner and returns what happened and the turn to
// show. The state given is not changed; applying the events to it brings it up
// to date. An error means that the rules themselves could not be worked out;
// the events are still good and nothing the owner said is lost.
func (e *Engine) Step(st *State, msg string, now time.Time) ([]Event, Turn, error) {
	t := &step{e: e.In(st.Language), st: st.Clone(), now: now}
	msg = clean(msg)
	t.back = laidAside(st.Reason)
	t.emit(Event{Kind: OwnerSaid, Text: msg})
	msg, answered, err := t.settleLanguage(msg)
	if !answered && err == nil {
		err = t.run(msg)
	}
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
