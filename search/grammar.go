package search

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"
)

//go:embed grammar.yaml
var grammarYAML []byte

// grammarFile is grammar.yaml as written; grammar is the same made ready for
// looking up.
type grammarFile struct {
	Light, Fillers, Particles, Auxiliary, Subjects []string
	Irregular                                      []string
	Roles                                          map[string][]string
	Opposites                                      map[string]struct{ Yes, No []string }
	Rewrite, Contractions, Emoji                   map[string]string
	Negation                                       struct{ Nouns, Verbs, Stops, Except []string }
	Joints, Hanging, Lists, Contrast               []string
	Whole, Exception, Measures, Seldom             []string
	Past                                           struct{ Gone, Working, When, Next, Resolved, Long, Mended, Acts, Tries, Vain []string }
	Question                                       struct {
		Opens, Modal, Perception, Polite, Fears, Asks, Advice, Pointing, Asked, Normal, Own []string
	}
	Idioms, Machines, Chatter, Commands, Waits, Answers []string
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
}

// knownRoles are the roles the code asks for with is.
var knownRoles = []string{"not", "torn", "joins", "carries", "condition", "yes", "no", "likewise", "belongs", "began", "still", "doubts", "cures", "finds", "others", "seasons", "passes",
	"pronouns", "persons", "existence", "articles", "alone", "verbal", "owns", "places", "mine", "beside", "answer", "owners", "struck", "trouble", "scarcely", "states", "switched", "governed", "none", "ours"}

// state is a word for what works, or does not.
func (g *grammar) state(no bool) string {
	if no {
		return "dead"
	}
	return "work"
}

// is reports whether a word has a role.
func (g *grammar) is(role, word string) bool { return g.roles[role][word] }

var theGrammar = sync.OnceValues(func() (*grammar, error) { return parseGrammar(grammarYAML) })

func parseGrammar(data []byte) (*grammar, error) {
	var f grammarFile
	dec := yaml.NewDecoder(strings.NewReader(string(data)))
	dec.KnownFields(true)
	if err := dec.Decode(&f); err != nil {
		return nil, fmt.Errorf("reading grammar.yaml: %w", err)
	}
	g := &grammar{
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
		if g.roles[role] == nil {
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
	g.rewrite = seqs{}
	for from, to := range f.Rewrite {
		g.rewrite.add(from, to)
	}
	return g, nil
}

// seqs finds runs of words. A word of the pattern that ends with * stands for
// any ending.
type seqs map[string][]seq // by the first word, or the first word's stem with *

type seq struct {
	words []string
	to    string
}

func newSeqs(patterns []string) seqs {
	s := seqs{}
	for _, p := range patterns {
		s.add(p, "")
	}
	return s
}

func (s seqs) add(pattern, to string) {
	words := strings.Fields(strings.ReplaceAll(pattern, "'", ""))
	if len(words) == 0 {
		return
	}
	key := words[0]
	if strings.HasSuffix(key, "*") {
		key = firstLetters(key)
	}
	list := append(s[key], seq{words, to})
	// The longest first, so that "not just" is found before "not".
	for i := len(list) - 1; i > 0 && len(list[i].words) > len(list[i-1].words); i-- {
		list[i], list[i-1] = list[i-1], list[i]
	}
	s[key] = list
}

// firstLetters is the key of a pattern whose first word is open-ended.
func firstLetters(w string) string {
	if len(w) < 4 {
		return w + "*"
	}
	return w[:3] + "*"
}

// at finds the longest run that begins at word i and says how many words it has.
func (s seqs) at(words func(int) string, i, n int) (seq, int) {
	first := words(i)
	if len(s) == 0 || first == "" {
		return seq{}, 0
	}
	best, size := seq{}, 0
	for _, key := range [2]string{first, firstLetters(first)} {
		for _, q := range s[key] {
			if len(q.words) <= size || i+len(q.words) > n {
				continue
			}
			if fits(q.words, words, i) {
				best, size = q, len(q.words)
			}
		}
	}
	return best, size
}

func fits(pattern []string, words func(int) string, i int) bool {
	for j, p := range pattern {
		w := words(i + j)
		if stem, open := strings.CutSuffix(p, "*"); open {
			if !strings.HasPrefix(w, stem) {
				return false
			}
		} else if p != w {
			return false
		}
	}
	return true
}
