package picture

import (
	_ "embed"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"triagebot/probe"
)

//go:embed sentences.yaml
var sentencesYAML []byte

// sentences are this package's own words, all in one file so that they can be
// read and changed as a whole. A test holds that it parses and that every name
// used here is in it.
var sentences = sync.OnceValue(func() map[string]map[string]string {
	all := map[string]map[string]string{}
	if err := yaml.Unmarshal(sentencesYAML, &all); err != nil {
		return nil
	}
	return all
})

// voice is the language of a picture, by its code; "" is English. What is drawn
// for owners speaks theirs; the picture of a case speaks that of the workshop.
type voice struct{ code string }

// words are the sentences about probes in the picture's language.
func (v voice) words() probe.Words { return probe.In(v.code) }

// say is [say] in the picture's language; what that lacks is said in English.
func (v voice) say(name string, pairs ...string) string {
	if text, ok := sentences()[v.code][name]; ok {
		return filled(text, pairs)
	}
	return say(name, pairs...)
}

// say fills a sentence. Pairs are name, value, name, value. A sentence that is
// not there shows as its name, so that a slip is seen and nothing is lost.
func say(name string, pairs ...string) string {
	text, ok := sentences()["en"][name]
	if !ok {
		return name
	}
	return filled(text, pairs)
}

func filled(text string, pairs []string) string {
	fill := make([]string, 0, len(pairs))
	for i := 0; i+1 < len(pairs); i += 2 {
		fill = append(fill, "{"+pairs[i]+"}", pairs[i+1])
	}
	return strings.NewReplacer(fill...).Replace(text)
}

// capital begins a text with a capital, as a heading or a sentence does.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 || r == utf8.RuneError {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// stop ends a text with a full stop.
func stop(s string) string {
	if s == "" || strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

// idWords is an id as words: throttle-5v, throttle 5v.
func idWords(id string) string { return strings.ReplaceAll(id, "-", " ") }

// parts cuts a list written with commas.
func parts(s string) []string {
	var list []string
	for p := range strings.SplitSeq(s, ",") {
		if p = strings.TrimSpace(p); p != "" {
			list = append(list, p)
		}
	}
	return list
}
