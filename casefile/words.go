package casefile

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"
	"unicode/utf8"

	"gopkg.in/yaml.v3"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// sentences are this package's own words, all in one file so that they can be
// read and changed as a whole. The file is part of the program: a test holds
// that it parses and that every name used here is in it.
var sentences = sync.OnceValue(func() map[string]string {
	all := map[string]map[string]string{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return nil
	}
	return all["en"]
})

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen and nothing is lost.
func say(name string, pairs ...string) string {
	text, ok := sentences()[name]
	if !ok {
		return name
	}
	fill := make([]string, 0, len(pairs))
	for i := 0; i+1 < len(pairs); i += 2 {
		fill = append(fill, "{"+pairs[i]+"}", pairs[i+1])
	}
	return strings.NewReplacer(fill...).Replace(text)
}

// sayOr is say for a name made of an id that may have no sentence.
func sayOr(name, otherwise string) string {
	if text, ok := sentences()[name]; ok {
		return text
	}
	return otherwise
}

// The steps of a Bayes factor by which evidence is usually put in words: about
// half a power of ten for a plain word, a whole one for a strong one (Jeffreys).
// Below slight it hardly matters.
const (
	strong = 10
	plain  = 3
	slight = 1.25
)

// weightWords says how strongly a weight speaks.
func weightWords(w float64) string {
	side := "for"
	if w < 1 {
		side, w = "against", 1/w
	}
	switch {
	case w >= strong:
		return say("speaks-strongly-" + side)
	case w >= plain:
		return say("speaks-" + side)
	case w >= slight:
		return say("speaks-slightly-" + side)
	}
	return say("speaks-hardly")
}

// mostRatio bounds the ratios written out: beyond it the figure rests on the
// slip assumed in the rules, not on what was seen.
const mostRatio = 1000

// ratio writes a weight as people say it: 12 to 1, or 1 to 40.
func ratio(w float64) string {
	if w >= 1 {
		return say("ratio", "a", twoDigits(w), "b", "1")
	}
	return say("ratio", "a", "1", "b", twoDigits(1/w))
}

func twoDigits(x float64) string {
	switch {
	case !(x < mostRatio):
		return say("over", "n", strconv.Itoa(mostRatio))
	case x < 10:
		return strconv.FormatFloat(math.Round(x*10)/10, 'f', -1, 64)
	}
	return strconv.FormatFloat(math.Round(x), 'f', -1, 64)
}

// percent writes a probability without pretending to certainty.
func percent(p float64) string {
	switch {
	case p < 0.005:
		return say("percent-below", "n", "1")
	case p > 0.995:
		return say("percent-over", "n", "99")
	}
	return say("percent", "n", fmt.Sprintf("%.0f", 100*p))
}

// digits cuts a figure to four significant digits: more would say that the
// rules' rates are known that well, and would differ between processors.
func digits(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	short, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 4, 64), 64)
	if err != nil {
		return x
	}
	return short
}

// text makes a string fit for JSON, which must be UTF-8.
func text(s string) string { return strings.ToValidUTF8(s, string(utf8.RuneError)) }

func texts(list []string) []string {
	out := make([]string, len(list))
	for i, s := range list {
		out[i] = text(s)
	}
	return out
}

func upperFirst(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return strings.ToUpper(string(r)) + s[n:]
}

// clip cuts a text to about n runes; the whole of it is elsewhere in the case.
func clip(s string, n int) string {
	r := []rune(s)
	if len(r) <= n {
		return s
	}
	return strings.TrimSpace(string(r[:n])) + "…"
}

// or joins with commas and a last "or".
func or(list []string) string {
	if len(list) < 2 {
		return strings.Join(list, "")
	}
	return strings.Join(list[:len(list)-1], ", ") + " " + say("or") + " " + list[len(list)-1]
}
