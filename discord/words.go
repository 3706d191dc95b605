package discord

import (
	_ "embed"
	"fmt"
	"strings"

	"gopkg.in/yaml.v3"

	"triagebot/kb"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// sentences are the adapter's own words in one language.
type sentences struct {
	byName map[string]string
	about  []string // pairs that every sentence may use
}

func loadSentences(language string, about kb.About) (sentences, error) {
	all := map[string]map[string]string{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return sentences{}, fmt.Errorf("reading the sentences of discord: %w", err)
	}
	s, ok := all[language]
	if !ok {
		return sentences{}, fmt.Errorf("discord has no sentences in language %q", language)
	}
	return sentences{s, []string{"thing", about.Thing, "person", about.Person}}, nil
}

// say fills a sentence. Pairs are name, value. One that is not there shows as its
// name, so that a slip is seen.
func (s sentences) say(name string, pairs ...string) string {
	text, ok := s.byName[name]
	if !ok {
		return name
	}
	var fill []string
	for _, list := range [][]string{pairs, s.about} {
		for i := 0; i+1 < len(list); i += 2 {
			fill = append(fill, "{"+list[i]+"}", list[i+1])
		}
	}
	return strings.NewReplacer(fill...).Replace(text)
}

func (s sentences) lines(name string, pairs ...string) []string {
	return strings.Split(s.say(name, pairs...), "\n")
}
