package main

import (
	"fmt"
	"slices"
	"strings"

	"triagebot/conversation"
	"triagebot/kb"
	"triagebot/language"
)

const languageHelp = "code of the language of all messages, such as es (default: each message by its own words, and English where they do not tell)"

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
