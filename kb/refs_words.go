package kb

import "strings"

// patterns checks that the patterns speak of symptoms and kinds that exist, and
// that no kind is left over.
func (l *linker) patterns() {
	used := map[string]bool{}
	for _, section := range []struct {
		name string
		of   map[string][]string
	}{{"kinds", l.Words.Kinds}, {"told", l.Words.Told}, {"denied", l.Words.Denied}, {"figures", l.Words.Figures}} {
		for _, id := range sortedIDs(section.of) {
			at := l.At("words", section.name, id)
			if section.name == "figures" {
				if l.Check(id) == nil {
					l.unknown("check", id, l.known["check"], at)
				}
			} else if section.name != "kinds" && (id != OffTopicWords || section.name != "told") {
				if l.Symptom(id) == nil {
					l.unknown("symptom", id, l.known["symptom"], at)
				}
			}
			for _, text := range section.of[id] {
				for _, kind := range kindsIn(text) {
					used[kind] = true
					if l.Words.Kinds[kind] == nil {
						l.unknown("kind of words", kind, sortedIDs(l.Words.Kinds), at)
					}
				}
			}
		}
	}
	for _, kind := range sortedIDs(l.Words.Kinds) {
		if !used[kind] {
			l.out.warn(l.At("words", "kinds", kind), "unused", "use it in a pattern, or take it out", "no pattern speaks of the kind <%s>", kind)
		}
	}
}

// kindsIn lists the names in angle brackets.
func kindsIn(text string) []string {
	var out []string
	for _, piece := range strings.Split(text, "<")[1:] {
		if name, _, ok := strings.Cut(piece, ">"); ok {
			out = append(out, name)
		}
	}
	return out
}
