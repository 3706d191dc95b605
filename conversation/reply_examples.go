package conversation

import (
	_ "embed"
	"fmt"
	"math"
	"slices"

	"gopkg.in/yaml.v3"
)

//go:embed examples.yaml
var exampleFile []byte

// exampleBook counts in how many examples of an intent a word, or two words in
// a row, stands.
type exampleBook struct {
	intents []Intent
	said    map[Intent]int            // examples
	with    map[string]map[Intent]int // examples with the words
}

func loadExamples(data []byte, language string, cues *cueBook) (*exampleBook, error) {
	var file map[string]map[string]map[Intent][]string
	if err := yaml.Unmarshal(data, &file); err != nil {
		return nil, fmt.Errorf("reading the example replies: %w", err)
	}
	b := &exampleBook{said: map[Intent]int{}, with: map[string]map[Intent]int{}}
	for kind, intents := range file[language] {
		for intent, texts := range intents {
			for _, text := range texts {
				b.said[intent]++
				for _, f := range features(kind, cues.words(text)) {
					if b.with[f] == nil {
						b.with[f] = map[Intent]int{}
					}
					b.with[f][intent]++
				}
			}
		}
	}
	if len(b.said) == 0 {
		return nil, fmt.Errorf("reading the example replies: no language %q in examples.yaml", language)
	}
	for i := range b.said {
		b.intents = append(b.intents, i)
	}
	slices.Sort(b.intents)
	return b, nil
}

// features are the words and the pairs of words of a message, each once by
// itself and once with the kind of the question, sorted.
func features(kind string, words []heardWord) []string {
	var out []string
	before := "^"
	add := func(s string) { out = append(out, s, s+"@"+kind) }
	for _, w := range words {
		text := w.text
		if '0' <= text[0] && text[0] <= '9' {
			text = "#"
		}
		add(text)
		add(before + " " + text)
		before = text
	}
	add(before + " $")
	slices.Sort(out)
	return slices.Compact(out)
}

// nearest is the intent of which the examples make the words likeliest, as a
// naive Bayes classifier has it, if it is well ahead of the next. Words that
// stand in no example say nothing.
func (b *exampleBook) nearest(kind string, words []heardWord, idle map[string]bool) (Intent, bool) {
	const smooth, ahead = 0.1, 5.0 // settled on replies apart from the examples
	known := 0
	total := 0
	for _, n := range b.said {
		total += n
	}
	score := make([]float64, len(b.intents))
	for k, i := range b.intents {
		score[k] = 0.5 * math.Log(float64(b.said[i])/float64(total))
	}
	for _, f := range features(kind, words) {
		with := b.with[f]
		if with == nil {
			continue
		}
		known++
		for k, i := range b.intents {
			score[k] += math.Log((float64(with[i]) + smooth) / (float64(b.said[i]) + 2*smooth))
		}
	}
	best, next := 0, math.Inf(-1)
	for k := 1; k < len(score); k++ {
		if score[k] > score[best] {
			best, next = k, score[best]
		} else {
			next = max(next, score[k])
		}
	}
	return b.intents[best], known >= 4 && score[best]-next >= ahead && b.knows(b.intents[best], words, idle)
}

// knows reports whether most words that tell something stand in examples of the
// intent: one word of many is no likeness.
func (b *exampleBook) knows(i Intent, words []heardWord, idle map[string]bool) bool {
	all, hit := 0, 0
	for _, w := range words {
		if idle[w.text] {
			continue
		}
		all++
		if b.with[w.text][i] > 0 {
			hit++
		}
	}
	return all == 0 || 10*hit >= 6*all
}

// likened reads a message by the examples.
func (m *message) likened() (Reply, bool) {
	kind := "measure"
	switch {
	case m.q.Kind == "yesno":
		kind = "yesno"
	case len(m.q.Options) > 0:
		kind = "options"
	case m.q.Kind == "try" || m.q.Kind == "talk":
		kind = "task"
	}
	if len(m.examples.intents) == 0 {
		return Reply{}, false // a language without examples
	}
	i, ok := m.examples.nearest(kind, m.words, m.cues.idle)
	if !ok || i == IntentOther || i == IntentYes && m.asksCured() && !m.aboutFault() {
		return Reply{}, false
	}
	return Reply{Intent: i, Confidence: 0.45}, true
}
