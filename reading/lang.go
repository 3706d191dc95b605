package reading

import (
	"embed"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"gopkg.in/yaml.v3"

	"triagebot/language"
)

//go:embed lang
var langFiles embed.FS

// words say in English what a language's words about numbers mean. The zero
// value changes nothing.
type words struct {
	byFirst map[string][]saying // by the first word, the longest first
	ones    map[string]bool     // "y" between a ten and one of these is dropped
	tens    map[string]bool
	between string
	points  map[string]bool // a decimal sign between two numbers, and nothing else
	fold    func(string) string
}

type saying struct{ words, english []string }

// wordsFile is a file of lang as written.
type wordsFile struct {
	// Says maps a word, or several, to the English for it.
	Says map[string]string `yaml:"says"`
	// Ones and Tens are number words below ten and from twenty; Between is the
	// word that may stand between them ("cuarenta y dos").
	Ones    map[string]string `yaml:"ones"`
	Tens    map[string]string `yaml:"tens"`
	Between string            `yaml:"between"`
	// Points are words that are a decimal sign only between two numbers ("cuatro con dos").
	Points []string `yaml:"points"`
	// Joined: the ones stand before the tens, in one word with Between
	// ("zweiundvierzig"), and Hundred is joined on as well.
	Joined  bool   `yaml:"joined"`
	Hundred string `yaml:"hundred"`
}

var loadedWords sync.Map // code -> *words

// wordsOf gives the words of a language, read when first needed; of English,
// and of a language without a file, none.
func wordsOf(code string) *words {
	if code == "" || code == language.Base {
		return nil
	}
	if w, ok := loadedWords.Load(code); ok {
		return w.(*words)
	}
	w, err := loadWords(code)
	if err != nil {
		w = nil // a test holds that the files parse
	}
	kept, _ := loadedWords.LoadOrStore(code, w)
	return kept.(*words)
}

func loadWords(code string) (*words, error) {
	text, err := langFiles.ReadFile("lang/" + code + ".yaml")
	if err != nil {
		return nil, fmt.Errorf("reading the number words of language %q: %w", code, err)
	}
	var f wordsFile
	dec := yaml.NewDecoder(strings.NewReader(string(text)))
	dec.KnownFields(true)
	if err := dec.Decode(&f); err != nil {
		return nil, fmt.Errorf("reading the number words of language %q: %w", code, err)
	}
	w := &words{byFirst: map[string][]saying{}, ones: map[string]bool{}, tens: map[string]bool{}, fold: language.Plain}
	if l := language.Of(code); l != nil {
		w.fold = l.Folded
	}
	w.between = w.fold(f.Between)
	w.points = map[string]bool{}
	for _, p := range f.Points {
		w.points[w.fold(p)] = true
	}
	for _, word := range slices.Sorted(maps.Keys(f.Says)) {
		w.add(word, f.Says[word])
	}
	for _, word := range slices.Sorted(maps.Keys(f.Ones)) {
		w.add(word, f.Ones[word])
		w.ones[w.fold(word)] = true
	}
	for _, word := range slices.Sorted(maps.Keys(f.Tens)) {
		w.add(word, f.Tens[word])
		w.tens[w.fold(word)] = true
	}
	if f.Joined {
		w.join(f)
	}
	for first := range w.byFirst {
		slices.SortStableFunc(w.byFirst[first], func(a, b saying) int { return len(b.words) - len(a.words) })
	}
	return w, nil
}

func (w *words) add(word, english string) {
	list := strings.Fields(w.fold(word))
	if len(list) == 0 {
		return
	}
	w.byFirst[list[0]] = append(w.byFirst[list[0]], saying{list, strings.Fields(english)})
}

// join adds the numbers that are written as one word: "zweiundvierzig",
// "hundertzweiundvierzig".
func (w *words) join(f wordsFile) {
	below := map[string]string{}
	ones := slices.Sorted(maps.Keys(f.Ones))
	for _, one := range ones {
		below[one] = f.Ones[one]
		for ten, t := range f.Tens {
			below[one+f.Between+ten] = t + " " + f.Ones[one]
		}
	}
	for ten, t := range f.Tens {
		below[ten] = t
	}
	for word, english := range f.Says {
		if isNumberWord(english) {
			below[word] = english
		}
	}
	rests := slices.Sorted(maps.Keys(below))
	for _, rest := range rests {
		w.add(rest, below[rest])
	}
	if f.Hundred == "" {
		return
	}
	for _, one := range append([]string{""}, ones...) {
		hundred := "one hundred"
		if one != "" {
			hundred = f.Ones[one] + " hundred"
		}
		w.add(one+f.Hundred, hundred)
		for _, rest := range rests {
			w.add(one+f.Hundred+rest, hundred+" "+below[rest])
		}
	}
}

// english puts the English words in the place of a language's own. A single
// letter that may be a unit stays as it is.
func (w *words) english(toks []token) []token {
	if w == nil {
		return toks
	}
	out := make([]token, 0, len(toks))
	for i := 0; i < len(toks); {
		t := toks[i]
		if t.kind != word || len(t.text) == 1 && (t.raw != t.text || t.glued) {
			out = append(out, t)
			i++
			continue
		}
		if w.between != "" && i > 0 && i+1 < len(toks) && w.fold(t.text) == w.between &&
			w.tens[w.fold(toks[i-1].text)] && w.ones[w.fold(toks[i+1].text)] {
			i++
			continue
		}
		if w.points[w.fold(t.text)] && i > 0 && i+1 < len(toks) && w.numeric(toks, i-1) && w.numeric(toks, i+1) {
			t.text, t.raw = "point", "point"
			out = append(out, t)
			i++
			continue
		}
		said, n := w.at(toks, i)
		if n == 0 {
			out = append(out, t)
			i++
			continue
		}
		for k, text := range said.english {
			e := token{kind: word, text: text, raw: text, start: t.start, end: toks[i+n-1].end, glued: t.glued && k == 0, fresh: t.fresh && k == 0}
			if strings.ContainsAny(text, ".,") {
				e.kind = mark
			}
			out = append(out, e)
		}
		i += n
	}
	return unhyphen(out)
}

// numeric says whether a token is a number, or a word for one.
func (w *words) numeric(toks []token, i int) bool {
	if toks[i].kind == number {
		return true
	}
	said, n := w.at(toks, i)
	return n > 0 && isNumberWord(said.english[0])
}

func (w *words) at(toks []token, i int) (saying, int) {
	first := w.fold(toks[i].text)
next:
	for _, s := range w.byFirst[first] {
		if i+len(s.words) > len(toks) {
			continue
		}
		for k, text := range s.words[1:] {
			if w.fold(toks[i+1+k].text) != text {
				continue next
			}
		}
		return s, len(s.words)
	}
	return saying{}, 0
}
