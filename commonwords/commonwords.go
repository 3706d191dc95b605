// Package commonwords knows the plain words of English and of other languages.
// A word that is one is no slip of another: "hose" is not "horn", "lunch" is not
// "launch".
package commonwords

import (
	"embed"
	"strings"
	"sync"
)

//go:embed common-words.txt *.txt
var lists embed.FS

// words is made once: every reader needs the same.
var words = sync.OnceValue(func() map[string]bool { return read("common-words.txt") })

func read(name string) map[string]bool {
	list, err := lists.ReadFile(name)
	if err != nil {
		return nil // a language without a list
	}
	out := make(map[string]bool, 25000)
	for line := range strings.Lines(string(list)) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		for _, w := range strings.Fields(line) {
			out[w] = true
		}
	}
	return out
}

// Has reports whether w, in lower case, is a common word of four to nine letters.
func Has(w string) bool { return words()[w] }

// others keeps the lists of other languages, each read when first asked for.
var others sync.Map

// In is Has for another language by its code: its words are those of the file
// CODE.txt, lower case without accents. A language without a list has none.
func In(code string) func(w string) bool {
	if code == "" || code == "en" {
		return Has
	}
	list, ok := others.Load(code)
	if !ok {
		list, _ = others.LoadOrStore(code, read(code+".txt"))
	}
	known := list.(map[string]bool)
	return func(w string) bool { return known[w] }
}
