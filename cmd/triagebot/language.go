package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/language"
	"triagebot/search"
)

const languageHelp = "code of the language of all messages, such as es (default: each message by its own words, and English where they do not tell)"

// indexes are the phrase indexes of a knowledge base, one a language, each
// built when first needed.
type indexes struct {
	kb   *kb.KB
	mu   sync.Mutex
	made map[string]*search.Index
}

func (x *indexes) in(code string) (*search.Index, error) {
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
	if x.made == nil {
		x.made = map[string]*search.Index{}
	}
	x.made[k.Language] = built
	return built, nil
}

// Close closes all of them.
func (x *indexes) Close() error {
	var failed error
	for _, have := range x.made {
		failed = errors.Join(failed, have.Close())
	}
	return failed
}

// readers are the readers of replies, one a language.
type readers struct {
	kb   *kb.KB
	made map[string]*conversation.Reader
}

// in gives the reader of a language and the knowledge base in it.
func (r *readers) in(code string) (*conversation.Reader, *kb.KB, error) {
	k := r.kb.In(code)
	if have := r.made[k.Language]; have != nil {
		return have, k, nil
	}
	reader, err := conversation.NewReaderIn(k.Language)
	if err != nil {
		return nil, nil, err
	}
	if r.made == nil {
		r.made = map[string]*conversation.Reader{}
	}
	r.made[k.Language] = reader
	return reader, k, nil
}

// languageOf is the language of one message: as given, or by its words.
func languageOf(k *kb.KB, given, text string) string {
	if given != "" {
		return given
	}
	own := func(code, word string) bool {
		return slices.ContainsFunc(k.Recognised(code), func(w string) bool { return language.Plain(w) == word })
	}
	return language.Recognise(text, "", true, own)
}

// knownLanguage refuses a language that the knowledge base does not have.
func knownLanguage(k *kb.KB, code string) error {
	have := append([]string{language.Base}, k.Languages()...)
	if code == "" || slices.Contains(have, code) {
		return nil
	}
	return usageError{fmt.Errorf("the knowledge base has no language %q; it has: %s", code, strings.Join(have, ", "))}
}
