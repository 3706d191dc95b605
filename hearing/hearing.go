// Package hearing lets a talk hear its owner through the index of phrases, in
// whichever language is spoken. Neither of the two knows the other; it leans on
// both.
//
//	engine, closer, err := hearing.Engine(k)
package hearing

import (
	"errors"
	"fmt"
	"io"
	"sync"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/search"
)

// Engine puts a talk together over a knowledge base. Close what comes with it
// when the engine is used no more.
func Engine(k *kb.KB) (*conversation.Engine, io.Closer, error) {
	all := NewIndexes(k)
	x, err := all.In("")
	if err != nil {
		return nil, nil, err
	}
	e, err := conversation.New(k, Through(x), conversation.Speaking(func(k *kb.KB) (conversation.Matcher, error) {
		x, err := all.In(k.Language)
		if err != nil {
			return nil, err
		}
		return Through(x), nil
	}))
	if err != nil {
		return nil, nil, errors.Join(err, all.Close())
	}
	return e, all, nil
}

// Indexes are the indexes of phrases, one a language, each made when it is
// first asked for.
type Indexes struct {
	kb   *kb.KB
	mu   sync.Mutex
	made map[string]*search.Index
}

// NewIndexes makes no index yet.
func NewIndexes(k *kb.KB) *Indexes { return &Indexes{kb: k, made: map[string]*search.Index{}} }

// In gives the index of a language; of the base language where the knowledge
// base has none of that code.
func (x *Indexes) In(code string) (*search.Index, error) {
	k := x.kb.In(code)
	x.mu.Lock()
	defer x.mu.Unlock()
	if have := x.made[k.Language]; have != nil {
		return have, nil
	}
	built, err := search.New(k)
	if err != nil {
		return nil, fmt.Errorf("building the index of phrases: %w", err)
	}
	x.made[k.Language] = built
	return built, nil
}

// Close closes all of them.
func (x *Indexes) Close() error {
	x.mu.Lock()
	defer x.mu.Unlock()
	var failed error
	for code, have := range x.made {
		failed = errors.Join(failed, have.Close())
		delete(x.made, code)
	}
	return failed
}

// Through makes an index what a talk listens with. The talk goes on by the score
// of a reading rather than by its calibrated confidence, because it says what it
// understood and hears of a mistake at once.
func Through(x *search.Index) conversation.Matcher { return matcher{x} }

type matcher struct{ index *search.Index }

func (m matcher) Match(text string) conversation.Heard {
	said := m.index.Match(text)
	h := conversation.Heard{Kit: said.Kit, Danger: said.Danger, Offtopic: said.Offtopic, Unclear: said.Unclear}
	for _, s := range said.Symptoms {
		h.Symptoms = append(h.Symptoms, conversation.HeardSymptom{ID: s.ID, Present: s.Present, Confidence: s.Score})
	}
	for _, r := range said.Readings {
		if r.Check != "" {
			h.Readings = append(h.Readings, conversation.HeardReading{Check: r.Check, Quantity: r.Quantity})
		}
	}
	for _, x := range said.Seen {
		h.Seen = append(h.Seen, conversation.HeardSight{Check: x.Check, Option: x.Option, Confidence: x.Confidence})
	}
	for _, t := range said.Tools {
		h.Tools = append(h.Tools, conversation.HeardTool{ID: t.ID, Has: t.Have})
	}
	return h
}
