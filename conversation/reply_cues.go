package conversation

import (
	_ "embed"
	"fmt"
	"slices"
	"strings"

	"gopkg.in/yaml.v3"
)

//go:embed cues.yaml
var cueFile []byte

// cueBook is one language of cues.yaml, made ready.
type cueBook struct {
	tongue
	ors               []string          // between the answers that one label offers
	plainYes, plainNo map[string]bool   // with which an offered answer says yes or no
	asked             memo[[]heardWord] // words of questions and offered answers
	offered           memo[surface]

	phrases     map[string][]cue
	begins      map[string]map[string]bool // words that a cue of the phrases begins with; nil where any may
	states      []stateWords
	same        map[string][]sense // by stem; a word can have several senses
	idioms      []idiom
	short       map[string][]string
	negators    map[string]bool
	breaks      map[string]bool
	ends        map[string]bool
	pronouns    map[string]bool
	idle        map[string]bool
	light       map[string]bool
	names       map[string]bool
	articles    map[string]bool
	ordinals    map[string]int
	ordinalIdle map[string]bool
	known       map[string]bool
	alike       map[string]string // states of one meaning
	things      map[string]bool   // of a bike and round it
	judging     map[string]bool   // good or bad, with nothing to go by
	ownMeaning  map[string]bool   // forms apart from their stem's groups
	places      map[string]bool   // on, off, in, out
	elsewhere   map[string]bool   // of another life than the bike's
	courtesy    map[string]bool   // said out of politeness
	assuring    map[string]bool   // strengthens or weakens a yes
	ableWords   map[string]bool
	thingStems  map[string]bool
	adverbs     map[string]bool // stems of words that only strengthen
	adverbWords map[string]bool // the words themselves
	dangerous   cueDanger
}

// sense is what a word stands for, and on which side: "off" is on, not.
type sense struct {
	name string
	not  bool
}

// idiom is a row of words that means something of its own: "on and off".
type idiom struct {
	cue   cue
	means sense
}

type stateWords struct {
	name string
	cues []cue
}

type cueDanger struct {
	now      []cue
	heat     []cue // not danger where the question is about heat
	words    map[string]bool
	between  map[string]bool
	supposed []cue // before it: what if, could it
	harmless []cue // in its clause: a small spark
}

type cueYAML struct {
	Phrases map[string][]string `yaml:"phrases"`
	States  []struct {
		State string   `yaml:"state"`
		Words []string `yaml:"words"`
	} `yaml:"states"`
	Same     [][]string `yaml:"same"`
	Opposite [][]string `yaml:"opposite"`
	Idioms   []struct {
		Words []string `yaml:"words"`
		Means string   `yaml:"means"`
	} `yaml:"idioms"`
	Short       map[string]string `yaml:"short"`
	Negators    []string          `yaml:"negators"`
	Breaks      []string          `yaml:"breaks"`
	Ends        []string          `yaml:"ends"`
	Pronouns    []string          `yaml:"pronouns"`
	Idle        []string          `yaml:"idle"`
	Light       []string          `yaml:"light"`
	Names       []string          `yaml:"names"`
	Articles    []string          `yaml:"articles"`
	OrdinalIdle []string          `yaml:"ordinal-idle"`
	Ordinals    map[string]int    `yaml:"ordinals"`
	Known       []string          `yaml:"known"`
	Alike       map[string]string `yaml:"alike"`
	Things      []string          `yaml:"things"`
	Judging     []string          `yaml:"judging"`
	OwnMeaning  []string          `yaml:"own-meaning"`
	Places      []string          `yaml:"places"`
	Elsewhere   []string          `yaml:"elsewhere"`
	Courtesy    []string          `yaml:"courtesy"`
	Assuring    []string          `yaml:"assuring"`
	Shown       []string          `yaml:"shown"`
	Adverbs     []string          `yaml:"adverbs"`
	Able        []string          `yaml:"able"`
	Or          []string          `yaml:"or"`
	PlainYes    []string          `yaml:"plain-yes"`
	PlainNo     []string          `yaml:"plain-no"`
	Danger      struct {
		Now      []string `yaml:"now"`
		Heat     []string `yaml:"heat"`
		Words    []string `yaml:"words"`
		Between  []string `yaml:"between"`
		Supposed []string `yaml:"supposed"`
		Harmless []string `yaml:"harmless"`
	} `yaml:"danger"`
}

// cue is a row of words to look for; see the head of cues.yaml.
type cue struct {
	steps      []cueStep
	start, end bool
}

type cueStep struct {
	any   bool // exactly one word, whichever
	gap   bool // up to three words, whichever
	words map[string]bool
}

func loadCues(data []byte, language string) (*cueBook, error) {
	var file map[string]cueYAML
	dec := yaml.NewDecoder(strings.NewReader(string(data)))
	dec.KnownFields(true)
	if err := dec.Decode(&file); err != nil {
		return nil, fmt.Errorf("reading the reply cues: %w", err)
	}
	y, ok := file[language]
	if !ok {
		return nil, fmt.Errorf("reading the reply cues: no language %q in cues.yaml", language)
	}
	return makeCues(y, tongue{}), nil
}

// makeCues makes the cues of one language ready.
func makeCues(y cueYAML, in tongue) *cueBook {
	c := &cueBook{
		tongue: in, ors: y.Or, plainYes: wordSet(y.PlainYes), plainNo: wordSet(y.PlainNo),
		phrases: map[string][]cue{}, begins: map[string]map[string]bool{}, same: map[string][]sense{}, short: map[string][]string{},
		negators: wordSet(y.Negators), breaks: wordSet(y.Breaks), ends: wordSet(y.Ends), pronouns: wordSet(y.Pronouns),
		idle: wordSet(y.Idle), light: wordSet(y.Light), names: wordSet(y.Names), articles: wordSet(y.Articles),
		ordinalIdle: wordSet(y.OrdinalIdle), ordinals: y.Ordinals, known: wordSet(y.Known),
		alike: y.Alike, things: wordSet(y.Things), places: wordSet(y.Places), ownMeaning: wordSet(y.OwnMeaning), elsewhere: wordSet(y.Elsewhere), judging: wordSet(y.Judging),
		courtesy: wordSet(y.Courtesy), assuring: wordSet(y.Assuring), ableWords: wordSet(y.Able),
	}
	for k, v := range y.Short {
		c.short[k] = strings.Fields(v)
	}
	for _, set := range []map[string]bool{c.negators, c.breaks, c.ends, c.pronouns, c.idle, c.light, c.names, c.articles, c.things, c.elsewhere, c.judging, c.courtesy, c.assuring} {
		for w := range set {
			c.known[w] = true
		}
	}
	c.adverbWords = wordSet(y.Adverbs)
	c.thingStems, c.adverbs = c.stemSet(slices.Concat(y.Things, y.Shown)), c.stemSet(y.Adverbs)
	for name, list := range y.Phrases {
		c.phrases[name] = c.cueList(list)
		c.begins[name] = beginnings(c.phrases[name])
	}
	for _, s := range y.States {
		c.states = append(c.states, stateWords{s.State, c.cueList(s.Words)})
	}
	c.dangerous = cueDanger{
		now: c.cueList(y.Danger.Now), heat: c.cueList(y.Danger.Heat), words: wordSet(y.Danger.Words), between: wordSet(y.Danger.Between),
		supposed: c.cueList(y.Danger.Supposed), harmless: c.cueList(y.Danger.Harmless),
	}
	c.concepts(y)
	return c
}

// concepts joins words of one meaning, and each pair of opposites as one
// concept with two sides. A word may stand in several groups.
func (c *cueBook) concepts(y cueYAML) {
	add := func(w string, k sense) {
		c.known[w] = true
		if !slices.Contains(c.same[c.stem(w)], k) {
			c.same[c.stem(w)] = append(c.same[c.stem(w)], k)
		}
	}
	for _, group := range y.Same {
		for _, w := range group {
			add(w, sense{name: c.stem(group[0])})
		}
	}
	for _, group := range y.Opposite { // the first against all others
		name := c.stem(group[0])
		for i, w := range group {
			add(w, sense{name, i > 0})
		}
	}
	for _, i := range y.Idioms {
		means, not := strings.CutPrefix(i.Means, "not ")
		for _, w := range i.Words {
			c.idioms = append(c.idioms, idiom{c.cue(w), sense{c.stem(means), not}})
		}
	}
}

// senses gives what a word stands for: itself, and the groups it is in.
func (c *cueBook) senses(w heardWord) []sense {
	out := []sense{{name: w.stem}}
	if c.ownMeaning[w.text] {
		return out
	}
	for _, k := range c.same[w.stem] {
		if k.name == w.stem {
			out[0] = k
			continue
		}
		out = append(out, k)
		if other := c.same[k.name]; k.not { // the opposite of a group's name is its whole group
			for _, o := range other {
				if o.name != k.name && !slices.Contains(out, sense{o.name, !o.not}) {
					out = append(out, sense{o.name, !o.not})
				}
			}
		}
	}
	return out
}

func wordSet(words []string) map[string]bool {
	out := make(map[string]bool, len(words))
	for _, w := range words {
		out[w] = true
	}
	return out
}

func (c *cueBook) stemSet(words []string) map[string]bool {
	out := make(map[string]bool, len(words))
	for _, w := range words {
		out[c.stem(w)] = true
	}
	return out
}

func (c *cueBook) cueList(list []string) []cue {
	out := make([]cue, 0, len(list))
	for _, s := range list {
		out = append(out, c.cue(s))
	}
	return out
}

func (c *cueBook) cue(s string) cue {
	var out cue
	s, out.start = strings.CutPrefix(s, "^")
	for _, f := range strings.Fields(s) {
		switch f {
		case "$":
			out.end = true
		case "_":
			out.steps = append(out.steps, cueStep{any: true})
		case "..":
			out.steps = append(out.steps, cueStep{gap: true})
		default:
			words := strings.Split(f, "|")
			for _, w := range words {
				c.known[w] = true
			}
			out.steps = append(out.steps, cueStep{words: wordSet(words)})
		}
	}
	return out
}

// at reports where the cue ends when it begins at word i.
func (q cue) at(words []heardWord, i int) (int, bool) {
	return match(q.steps, words, i, q.end)
}

func match(steps []cueStep, words []heardWord, i int, end bool) (int, bool) {
	if len(steps) == 0 {
		return i, !end || i == len(words)
	}
	if steps[0].gap {
		for skip := 0; skip <= 3; skip++ {
			if n, ok := match(steps[1:], words, i+skip, end); ok {
				return n, true
			}
		}
		return 0, false
	}
	if i >= len(words) {
		return i, i == len(words) && len(steps) == 1 && steps[0].words["$"]
	}
	w := words[i].text
	if !steps[0].any && !steps[0].words[w] && !(steps[0].words["#"] && '0' <= w[0] && w[0] <= '9') {
		return 0, false
	}
	return match(steps[1:], words, i+1, end)
}

// find returns the first place where one of the cues stands.
func findCue(cues []cue, words []heardWord) (from, to int, ok bool) {
	for i := range words {
		for _, q := range cues {
			if q.start && i > 0 {
				continue
			}
			if n, hit := q.at(words, i); hit {
				return i, n, true
			}
		}
	}
	return 0, 0, false
}

// beginnings are the words that cues can begin with, so that most messages need
// not be held against them; nil where a cue begins with any word or a figure.
func beginnings(cues []cue) map[string]bool {
	out := map[string]bool{}
	for _, q := range cues {
		if len(q.steps) == 0 || q.steps[0].words == nil || q.steps[0].words["#"] {
			return nil
		}
		for w := range q.steps[0].words {
			out[w] = true
		}
	}
	return out
}

func (m *message) find(name string) (from, to int, ok bool) {
	if begins := m.cues.begins[name]; begins != nil && !slices.ContainsFunc(m.words, func(w heardWord) bool { return begins[w.text] }) {
		return 0, 0, false
	}
	return findCue(m.cues.phrases[name], m.words)
}

func (m *message) has(name string) bool {
	_, _, ok := m.find(name)
	return ok
}

// affirms reports whether a danger's cue holds its negation: "will not stop".
func (c *cueBook) affirms(words []heardWord) bool {
	_, _, ok := findCue(c.phrases["denies-itself"], words)
	return ok
}

func (m *message) first(name string) (int, bool) {
	i, _, ok := m.find(name)
	return i, ok
}
