package conversation

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"strings"

	"gopkg.in/yaml.v3"

	"triagebot/commonwords"
	"triagebot/language"
)

// The words of other languages: lang/CODE/sentences.yaml, cues.yaml and
// examples.yaml, each with the same keys as the file of English beside lang.
//
//go:embed lang
var langFiles embed.FS

func newForeignReader(code string) (*Reader, error) {
	in := tongue{lang: language.Of(code), common: commonwords.In(code)}
	if in.lang == nil {
		return nil, fmt.Errorf("reading replies in language %q: it is not known; add language/data/%s.yaml", code, code)
	}
	data, err := langFiles.ReadFile("lang/" + code + "/cues.yaml")
	if err != nil {
		return nil, fmt.Errorf("reading replies in language %q: there are no cues; add conversation/lang/%s/cues.yaml", code, code)
	}
	var y cueYAML
	dec := yaml.NewDecoder(strings.NewReader(string(data)))
	dec.KnownFields(true)
	if err := dec.Decode(&y); err != nil {
		return nil, fmt.Errorf("reading the reply cues of language %q: %w", code, err)
	}
	cues := makeCues(y.folded(in.lang.Folded), in)
	examples := &exampleBook{}
	data, err = langFiles.ReadFile("lang/" + code + "/examples.yaml")
	switch {
	case errors.Is(err, fs.ErrNotExist): // a language may do without
	case err != nil:
		return nil, fmt.Errorf("reading the example replies of language %q: %w", code, err)
	default:
		if examples, err = loadExamples(data, code, cues); err != nil {
			return nil, err
		}
	}
	return &Reader{cues: cues, examples: examples}, nil
}

// folded puts all words of the cues as those of messages are compared; names
// stay as they are.
func (y cueYAML) folded(fold func(string) string) cueYAML {
	for _, list := range []*[]string{&y.Negators, &y.Breaks, &y.Ends, &y.Pronouns, &y.Idle, &y.Light, &y.Names, &y.Articles, &y.OrdinalIdle, &y.Known,
		&y.Things, &y.Judging, &y.OwnMeaning, &y.Places, &y.Elsewhere, &y.Courtesy, &y.Assuring, &y.Shown, &y.Adverbs, &y.Able, &y.Or, &y.PlainYes, &y.PlainNo,
		&y.Danger.Now, &y.Danger.Heat, &y.Danger.Words, &y.Danger.Between, &y.Danger.Supposed, &y.Danger.Harmless} {
		foldList(*list, fold)
	}
	for _, groups := range [][][]string{y.Same, y.Opposite} {
		for _, g := range groups {
			foldList(g, fold)
		}
	}
	for _, list := range y.Phrases {
		foldList(list, fold)
	}
	for i := range y.States {
		foldList(y.States[i].Words, fold)
	}
	for i := range y.Idioms {
		foldList(y.Idioms[i].Words, fold)
		y.Idioms[i].Means = fold(y.Idioms[i].Means)
	}
	short, ordinals := map[string]string{}, map[string]int{}
	for from, to := range y.Short {
		short[fold(from)] = fold(to)
	}
	for w, n := range y.Ordinals {
		ordinals[fold(w)] = n
	}
	y.Short, y.Ordinals = short, ordinals
	return y
}

func foldList(list []string, fold func(string) string) {
	for i := range list {
		list[i] = fold(list[i])
	}
}
