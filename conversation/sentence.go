package conversation

import (
	_ "embed"
	"fmt"
	"maps"
	"strings"

	"gopkg.in/yaml.v3"

	"triagebot/language"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// sentences are the bot's own words in one language, by name.
type sentences map[string]string

func loadSentences(code string) (sentences, error) {
	all := map[string]sentences{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return nil, fmt.Errorf("reading the bot's sentences: %w", err)
	}
	s, ok := all[code]
	if !ok {
		return nil, fmt.Errorf("the bot has no sentences in language %q", code)
	}
	return s, nil
}

// loadSentencesIn gives the sentences of a language, those that it lacks in English.
func loadSentencesIn(code string) (sentences, error) {
	base, err := loadSentences(language.Base)
	if err != nil || code == "" || code == language.Base {
		return base, err
	}
	data, err := langFiles.ReadFile("lang/" + code + "/sentences.yaml")
	if err != nil {
		return nil, fmt.Errorf("the bot has no sentences in language %q; add conversation/lang/%s/sentences.yaml", code, code)
	}
	own := sentences{}
	if err := yaml.Unmarshal(data, &own); err != nil {
		return nil, fmt.Errorf("reading the bot's sentences in language %q: %w", code, err)
	}
	all := maps.Clone(base)
	maps.Copy(all, own)
	return all, nil
}

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen and nothing is lost.
func (s sentences) say(name string, pairs ...string) string {
	text, ok := s[name]
	if !ok {
		return name
	}
	if len(pairs) == 0 {
		return text
	}
	fill := make([]string, 0, len(pairs))
	for i := 0; i+1 < len(pairs); i += 2 {
		fill = append(fill, "{"+pairs[i]+"}", pairs[i+1])
	}
	return strings.NewReplacer(fill...).Replace(text)
}

// upper makes the first letter of a sentence a capital.
func upper(s string) string {
	for i, r := range s {
		return strings.ToUpper(string(r)) + s[i+len(string(r)):]
	}
	return s
}

// SaysProbes says whether a line is the one about where the probes go.
func (e *Engine) SaysProbes(line string) bool {
	begin, _, _ := strings.Cut(e.words["probes"], "{")
	return strings.HasPrefix(line, begin)
}
