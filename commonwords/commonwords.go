// Package commonwords knows the plain words of English. A word that is one is
// no slip of another: "hose" is not "horn", "lunch" is not "launch".
package commonwords

import (
	_ "embed"
	"strings"
	"sync"
)

//go:embed common-words.txt
var list string

// words is made once: every reader needs the same.
var words = sync.OnceValue(func() map[string]bool {
	out := make(map[string]bool, 25000)
	for line := range strings.Lines(list) {
		if strings.HasPrefix(line, "#") {
			continue
		}
		for _, w := range strings.Fields(line) {
			out[w] = true
		}
	}
	return out
})

// Has reports whether w, in lower case, is a common word of four to nine letters.
func Has(w string) bool { return words()[w] }
