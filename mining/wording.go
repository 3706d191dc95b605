package mining

import (
	"slices"
	"strings"
	"unicode"
)

// keptWordings bounds the memory that wording may take: what matched nothing
// is a tail of rare sentences, of which only the repeated ones matter.
const keptWordings = 50_000

// wordCounts is one wording, told apart by its set of words.
type wordCounts struct {
	n        int
	text     string         // its words in order, from the first in the alphabet of those alike
	symptoms map[string]int // what those owners turned out to mean
}

// words cuts a message into words that can stand in a pattern: letters alone.
// Addresses, links and numbers are dropped here, so that they go no further.
func words(text string) []string {
	var list []string
	for _, field := range strings.Fields(strings.ToLower(text)) {
		if strings.ContainsAny(field, "@#/\\") || strings.Contains(field, "www.") {
			continue
		}
		for _, w := range strings.FieldsFunc(strings.ReplaceAll(field, "'", ""), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }) {
			if !strings.ContainsFunc(w, unicode.IsDigit) && !empty[w] && len(w) <= 30 && len(list) < 40 {
				list = append(list, w)
			}
		}
	}
	return list
}

// empty are words that say nothing of a fault. Denials stay: they turn a
// sentence round.
var empty = func() map[string]bool {
	set := map[string]bool{}
	for w := range strings.FieldsSeq(`a an the and or but so of to in on at for from with by as is are was were be been am im ive its it this that
		these those my your our me i you he she we they them his her their there here has have had do does did will would can could please hi hello hey
		thanks thank just very really bit quite also then than when while if`) {
		set[w] = true
	}
	return set
}()

// keyOf is the set of words as one string.
func keyOf(list []string) string {
	sorted := slices.Clone(list)
	slices.Sort(sorted)
	return strings.Join(slices.Compact(sorted), " ")
}

func (a *Aggregate) addWording(r Record) {
	seen := map[string]bool{}
	for _, text := range r.Unmatched {
		list := words(text)
		key := keyOf(list)
		if key == "" || seen[key] {
			continue
		}
		seen[key] = true // one owner counts once
		w := &wordCounts{1, strings.Join(list, " "), map[string]int{}}
		for _, s := range r.Symptoms {
			w.symptoms[s]++
		}
		a.keepWording(key, w)
	}
}

func (a *Aggregate) keepWording(key string, w *wordCounts) {
	mine := a.wording[key]
	switch {
	case mine == nil && len(a.wording) >= keptWordings:
		a.leftOut += w.n
	case mine == nil:
		a.wording[key] = w
	default:
		mine.n += w.n
		mine.text = min(mine.text, w.text)
		sumInto(mine.symptoms, w.symptoms)
	}
}

func (a *Aggregate) mergeWording(o *Aggregate) {
	keys := make([]string, 0, len(o.wording))
	for k := range o.wording {
		keys = append(keys, k)
	}
	slices.Sort(keys) // which ones are left out must not depend on chance
	for _, k := range keys {
		a.keepWording(k, o.wording[k])
	}
}
