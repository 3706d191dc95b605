package desk

import (
	_ "embed"
	"fmt"
	"strings"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"triagebot/conversation"
	"triagebot/kb"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// sentences are the desk's own words in one language, by name.
type sentences struct {
	words  map[string]string
	person string
}

func loadSentences(language string, about kb.About) (sentences, error) {
	all := map[string]map[string]string{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return sentences{}, fmt.Errorf("reading the desk's sentences: %w", err)
	}
	words, ok := all[language]
	if !ok {
		return sentences{}, fmt.Errorf("the desk has no sentences in language %q", language)
	}
	return sentences{words, about.Person}, nil
}

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen.
func (s sentences) say(name string, pairs ...string) string {
	text, ok := s.words[name]
	if !ok {
		return name
	}
	fill := []string{"{person}", s.person, "{Person}", upper(s.person)}
	for i := 0; i+1 < len(pairs); i += 2 {
		fill = append(fill, "{"+pairs[i]+"}", pairs[i+1])
	}
	return upper(strings.NewReplacer(fill...).Replace(text))
}

func upper(s string) string {
	_, n := utf8.DecodeRuneInString(s)
	return strings.ToUpper(s[:n]) + s[n:]
}

// in gives the desk's words in a language; in the base language where it has
// none of its own.
func (d *Desk) in(language string) sentences {
	if words, err := loadSentences(language, d.c.Engine.In(language).KB().About); err == nil {
		return words
	}
	return d.words
}

// spokenIn gives the desk's words in the language of a talk. A talk that cannot
// be read is no reason to tell its owner nothing.
func (d *Desk) spokenIn(talk string) sentences {
	_, events, err := d.c.Store.Conversation(talk)
	if err != nil {
		return d.words
	}
	return d.in(conversation.Replay(events).Language)
}
