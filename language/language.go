// Package language knows in which languages owners may write: how each is
// recognised by its own common words, how an owner asks for it, and how its
// words are folded and stemmed. Each language is one file of data; what is said
// in it is kept where it is said (see DEVELOPERS.md, Add a language).
//
// English is the base: what another language lacks is said in English, and a
// message that is short or unclear counts as English. All is deterministic, and
// safe for concurrent use.
package language

import (
	"embed"
	"fmt"
	"io/fs"
	"path"
	"slices"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"
)

// Base is the code of the base language.
const Base = "en"

// Language is one language that owners may write in.
type Language struct {
	Code    string            `yaml:"-"`
	Name    string            `yaml:"name"`    // in its own words
	Stemmer string            `yaml:"stemmer"` // see stem.go; "" leaves words as they are
	Decimal string            `yaml:"decimal"` // the decimal sign; a point when not given
	Nouns   bool              `yaml:"nouns"`   // nouns keep their capital inside a sentence
	Fold    map[string]string `yaml:"fold"`    // spellings that count as one: "ue" is "u"
	Letters string            `yaml:"letters"` // signs that only this language has
	Welcome string            `yaml:"welcome"` // says that it may be spoken, too
	Asked   []string          `yaml:"asked"`   // how an owner asks for it, in any language
	Words   []string          `yaml:"words"`   // common words by which it is recognised

	words map[string]bool
	asked [][]string
	fold  *strings.Replacer
	stem  func(string) string
}

//go:embed data
var data embed.FS

var all = sync.OnceValues(func() ([]*Language, error) { return load(data) })

func load(fsys fs.FS) ([]*Language, error) {
	files, err := fs.Glob(fsys, "data/*.yaml")
	if err != nil {
		return nil, fmt.Errorf("listing the languages: %w", err)
	}
	slices.Sort(files)
	var list []*Language
	for _, name := range files {
		text, err := fs.ReadFile(fsys, name)
		if err != nil {
			return nil, fmt.Errorf("reading language %s: %w", name, err)
		}
		l := &Language{Code: strings.TrimSuffix(path.Base(name), ".yaml")}
		dec := yaml.NewDecoder(strings.NewReader(string(text)))
		dec.KnownFields(true)
		if err := dec.Decode(l); err != nil {
			return nil, fmt.Errorf("reading language %s: %w", name, err)
		}
		if err := l.prepare(); err != nil {
			return nil, fmt.Errorf("reading language %s: %w", name, err)
		}
		list = append(list, l)
	}
	return list, nil
}

func (l *Language) prepare() error {
	var ok bool
	if l.stem, ok = stemmers[l.Stemmer]; !ok && l.Stemmer != "" {
		return fmt.Errorf("there is no stemmer %q; use one of stem.go, or none", l.Stemmer)
	}
	var pairs []string
	keys := make([]string, 0, len(l.Fold))
	for from := range l.Fold {
		keys = append(keys, from)
	}
	slices.Sort(keys) // a replacer takes the first that fits: a fixed order, the longer first
	slices.SortStableFunc(keys, func(a, b string) int { return len(b) - len(a) })
	for _, from := range keys {
		pairs = append(pairs, from, l.Fold[from])
	}
	l.fold = strings.NewReplacer(pairs...)
	l.words = map[string]bool{}
	for _, line := range l.Words {
		for _, w := range strings.Fields(line) {
			l.words[Plain(w)] = true
		}
	}
	for _, s := range l.Asked {
		l.asked = append(l.asked, split(s))
	}
	return nil
}

// All lists the languages by their codes, the base among them.
func All() []*Language {
	list, err := all()
	if err != nil {
		return nil // a test holds that the files parse
	}
	return list
}

// Of finds a language by its code; nil when there is none. "" is the base.
func Of(code string) *Language {
	if code == "" {
		code = Base
	}
	for _, l := range All() {
		if l.Code == code {
			return l
		}
	}
	return nil
}

// Folded is a word in lower case without accents, with the language's own
// spellings brought together, so that "fährt", "faehrt" and "fahrt" are one.
func (l *Language) Folded(word string) string { return l.fold.Replace(Plain(word)) }

// Stem is the stem of a folded word.
func (l *Language) Stem(word string) string {
	if l.stem == nil || len(word) > longestWord {
		return word
	}
	return l.stem(word)
}

// longestWord is the longest word that is worth a stem.
const longestWord = 40
