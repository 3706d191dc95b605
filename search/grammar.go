package search

import (
	"embed"
	"fmt"
	"reflect"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"

	"triagebot/commonwords"
	"triagebot/language"
)

//go:embed grammar.yaml
var grammarYAML []byte

//go:embed lang
var grammarFiles embed.FS

// grammarFile is grammar.yaml as written; grammar is the same made ready for
// looking up.
type grammarFile struct {
	Light, Fillers, Particles, Auxiliary, Subjects []string
	Irregular                                      []string
	Roles                                          map[string][]string
	Opposites                                      map[string]struct{ Yes, No []string }
	Rewrite, Contractions, Emoji                   map[string]string
	Pairs                                          map[string][2]string
	Negation                                       struct{ Nouns, Verbs, Stops, Except []string }
	Joints, Hanging, Lists, Contrast               []string
	Whole, Exception, Measures, Seldom             []string
	Past                                           struct{ Gone, Working, When, Next, Resolved, Long, Mended, Acts, Tries, Vain []string }
	Question                                       struct {
		Opens, Modal, Perception, Polite, Fears, Asks, Advice, Pointing, Asked, Normal, Own []string
	}
	Idioms, Machines, Chatter, Commands, Waits, Answers []string
	Endings                                             struct{ Stopped, Verbs, Denied []string }
	State                                               struct{ Yes, No string }
}

type set map[string]bool

func newSet(words ...string) set {
	s := set{}
	for _, line := range words {
		for _, w := range strings.Fields(line) {
			s[strings.ReplaceAll(w, "'", "")] = true
		}
	}
	return s
}

// pole is a word's place in a pair of opposites.
type pole struct {
	concept string
	no      bool
}

type grammar struct {
	roles                                          map[string]set
	light, fillers, particles, auxiliary, subjects set
	base                                           map[string]string // irregular form -> base form
	poles                                          map[string]pole
	rewrite                                        seqs
	pairs                                          map[string][2]string // a word, its second half and what that stands for: "weder", "noch", "oder"
	contractions                                   map[string][]string
	emoji                                          map[string]string
	negNouns, negVerbs, negStops, negNot           seqs
	joints, hanging, lists, contrast               set
	whole, exception, measures                     set
	pastGone, pastWhen, pastNext, pastLong, mended seqs
	pastWorking                                    set
	resolved, tries, vain                          seqs
	seldom                                         seqs
	acts                                           set
	opens, modal, perception, polite, own          set
	fears, asks, normal                            seqs
	advice, asked, pointing                        set
	idioms, machines                               seqs
	chatter                                        []string
	commands, waits                                seqs
	answers                                        set
	stopped, verbEndings                           []string // endings of what is stopped ("stopped charging"), and of words that are verbs where they name parts
	deniedVerbs                                    []string // endings of verbs that a negation behind them denies ("der Motor dreht nicht")
	works, dead                                    string   // words for what works, and for what does not
	tongue
}

// tongue is what a language does to single words; the zero value is English.
type tongue struct {
	lang   *language.Language
	common func(string) bool
	own    set // words of its grammar
}

// plain is a word as it is compared.
func (t tongue) plain(raw string) string {
	if t.lang == nil {
		return plain(raw)
	}
	return t.lang.Folded(plain(raw))
}

func (t tongue) isCommon(w string) bool {
	if t.common == nil {
		return commonwords.Has(w)
	}
	return t.common(w) || t.own[w]
}

// knownRoles are the roles the code asks for with is.
var knownRoles = []string{"not", "torn", "joins", "moment", "carries", "condition", "yes", "no", "likewise", "belongs", "began", "still", "doubts", "cures", "finds", "others", "seasons", "passes",
	"pronouns", "persons", "existence", "articles", "alone", "verbal", "owns", "places", "mine", "beside", "answer", "owners", "struck", "trouble", "scarcely", "states", "switched", "governed", "none", "ours"}

// state is a word for what works, or does not.
func (g *grammar) state(no bool) string {
	if no {
		return g.dead
	}
	return g.works
}

// is reports whether a word has a role.
func (g *grammar) is(role, word string) bool { return g.roles[role][word] }

var theGrammar = sync.OnceValues(func() (*grammar, error) { return parseGrammar(grammarYAML, tongue{}) })

var grammars sync.Map // code -> *grammar

// grammarOf gives the grammar of a language, read when first needed; "" is English.
func grammarOf(code string) (*grammar, error) {
	if code == "" || code == language.Base {
		return theGrammar()
	}
	if g, ok := grammars.Load(code); ok {
		return g.(*grammar), nil
	}
	lang := language.Of(code)
	data, err := grammarFiles.ReadFile("lang/" + code + ".yaml")
	if err != nil || lang == nil {
		return nil, fmt.Errorf("reading the grammar of language %q: there is none; add search/lang/%s.yaml", code, code)
	}
	g, err := parseGrammar(data, tongue{lang: lang, common: commonwords.In(code), own: set{}})
	if err != nil {
		return nil, fmt.Errorf("language %q: %w", code, err)
	}
	kept, _ := grammars.LoadOrStore(code, g)
	return kept.(*grammar), nil
}

func parseGrammar(data []byte, in tongue) (*grammar, error) {
	var f grammarFile
	dec := yaml.NewDecoder(strings.NewReader(string(data)))
	dec.KnownFields(true)
	if err := dec.Decode(&f); err != nil {
		return nil, fmt.Errorf("reading grammar.yaml: %w", err)
	}
	if in.lang != nil {
		// What the grammar itself speaks of is no slip either: idioms, machines.
		for _, list := range [][]string{f.Idioms, f.Machines, f.Chatter, f.Commands, f.Past.Working, f.Past.Acts, f.Past.Mended, f.Question.Fears} {
			for w := range newSet(list...) {
				in.own[in.lang.Folded(w)] = true
			}
		}
		foldTexts(reflect.ValueOf(&f).Elem(), in.lang.Folded)
	}
	g := &grammar{
		tongue: in, stopped: f.Endings.Stopped, verbEndings: f.Endings.Verbs, deniedVerbs: f.Endings.Denied, works: f.State.Yes, dead: f.State.No,
		light: newSet(f.Light...), fillers: newSet(f.Fillers...), particles: newSet(f.Particles...), auxiliary: newSet(f.Auxiliary...),
		subjects: newSet(f.Subjects...), base: map[string]string{}, poles: map[string]pole{},
		contractions: map[string][]string{}, emoji: f.Emoji,
		negNouns: newSeqs(f.Negation.Nouns), negVerbs: newSeqs(f.Negation.Verbs),
		negStops: newSeqs(f.Negation.Stops), negNot: newSeqs(f.Negation.Except),
		joints: newSet(f.Joints...), hanging: newSet(f.Hanging...), lists: newSet(f.Lists...), contrast: newSet(f.Contrast...),
		whole: newSet(f.Whole...), exception: newSet(f.Exception...), measures: newSet(f.Measures...), seldom: newSeqs(f.Seldom),
		pastGone: newSeqs(f.Past.Gone), pastWhen: newSeqs(f.Past.When), pastNext: newSeqs(f.Past.Next), pastLong: newSeqs(f.Past.Long), mended: newSeqs(f.Past.Mended),
		pastWorking: newSet(f.Past.Working...), resolved: newSeqs(f.Past.Resolved),
		acts: newSet(f.Past.Acts...), tries: newSeqs(f.Past.Tries), vain: newSeqs(f.Past.Vain),
		opens: newSet(f.Question.Opens...), modal: newSet(f.Question.Modal...),
		perception: newSet(f.Question.Perception...), own: newSet(f.Question.Own...), polite: newSet(f.Question.Polite...),
		fears: newSeqs(f.Question.Fears), asks: newSeqs(f.Question.Asks),
		advice: newSet(f.Question.Advice...), asked: newSet(f.Question.Asked...), pointing: newSet(f.Question.Pointing...), normal: newSeqs(f.Question.Normal),
		idioms: newSeqs(f.Idioms), machines: newSeqs(f.Machines),
		chatter: f.Chatter, commands: newSeqs(f.Commands), waits: newSeqs(f.Waits), answers: newSet(f.Answers...),
	}
	g.roles = map[string]set{}
	for role, words := range f.Roles {
		g.roles[role] = newSet(words...)
	}
	for _, role := range knownRoles {
		if g.roles[role] == nil && in.lang == nil {
			return nil, fmt.Errorf("reading grammar.yaml: roles: %q is missing; give it a list of words", role)
		}
	}
	for _, line := range f.Irregular {
		words := strings.Fields(line)
		for _, w := range words[1:] {
			g.base[w] = words[0]
		}
	}
	for concept, o := range f.Opposites {
		for _, w := range o.Yes {
			g.poles[w] = pole{concept, false}
		}
		for _, w := range o.No {
			g.poles[w] = pole{concept, true}
		}
	}
	for from, to := range f.Contractions {
		g.contractions[from] = strings.Fields(to)
	}
	g.rewrite, g.pairs = seqs{}, f.Pairs
	for from, to := range f.Rewrite {
		g.rewrite.add(from, to)
	}
	return g, nil
}

// foldTexts puts the words of a grammar as those of messages are compared.
func foldTexts(v reflect.Value, fold func(string) string) {
	switch v.Kind() {
	case reflect.Struct:
		for i := range v.NumField() {
			foldTexts(v.Field(i), fold)
		}
	case reflect.Slice:
		for i := range v.Len() {
			foldTexts(v.Index(i), fold)
		}
	case reflect.Map:
		for _, key := range v.MapKeys() {
			to := reflect.New(v.Type().Elem()).Elem()
			to.Set(v.MapIndex(key))
			foldTexts(to, fold)
			if v.Type().Elem().Kind() == reflect.String { // from -> to: both are words
				v.SetMapIndex(key, reflect.Value{})
				key = reflect.ValueOf(fold(key.String()))
			}
			v.SetMapIndex(key, to)
		}
	case reflect.String:
		v.SetString(fold(v.String()))
	}
}
