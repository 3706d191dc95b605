package checker

import (
	"fmt"
	"slices"

	"triagebot/kb"
	"triagebot/search"
)

// languages checks the texts and the phrases of every language as those of the
// base are checked.
func languages(k *kb.KB, chooses Chooses) []kb.Diagnostic {
	var found []kb.Diagnostic
	for _, code := range k.Languages() {
		texts := k.CheckLanguage(code)
		found = append(found, texts...)
		if kb.HasErrors(texts) {
			continue // the rest would speak of their consequences
		}
		own := k.In(code)
		x, err := search.New(own)
		if err != nil {
			found = append(found, kb.Diagnostic{Pos: kb.Pos{File: "lang/" + code}, Severity: kb.Error, Check: "language",
				Text: fmt.Sprintf("language %q cannot be spoken: %v", code, err), Cure: "mend that; until then it is answered in the base language"})
			continue
		}
		said := append(phrases(own, x), sayings(own, x)...)
		_ = x.Close() // in memory: nothing is lost
		found = slices.Concat(found, said, newPlaces(search.Check(own), said))
		if chooses != nil {
			found = append(found, answers(own, chooses)...)
		}
	}
	return found
}
