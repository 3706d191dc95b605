package kb

import (
	"slices"
	"strings"
)

// patterns checks that the patterns speak of symptoms and kinds that exist, and
// that no kind is left over.
func (l *linker) patterns() {
	used := map[string]bool{}
	for _, section := range []struct {
		name string
		of   map[string][]string
	}{{"kinds", l.Words.Kinds}, {"told", l.Words.Told}, {"denied", l.Words.Denied}, {"figures", l.Words.Figures}, {"seen", l.Words.Seen}} {
		for _, id := range sortedIDs(section.of) {
			at := l.At("words", section.name, id)
			switch section.name {
			case "figures":
				if l.Check(id) == nil {
					l.unknown("check", id, l.known["check"], at)
				}
			case "seen":
				l.sight(id, at)
			case "told", "denied":
				if l.Symptom(id) == nil && (id != OffTopicWords || section.name != "told") {
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

// sight checks that check=option names a look or a try and one of its options.
func (l *linker) sight(id string, at Pos) {
	name, option, ok := strings.Cut(id, "=")
	c := l.Check(name)
	switch {
	case !ok:
		l.out.error(at, "sight", "write it as check=option, as look-chain=off", "%q names no option of a check", id)
	case c == nil:
		l.unknown("check", name, l.known["check"], at)
	case !slices.ContainsFunc(c.Options, func(o Option) bool { return o.ID == option }):
		var ids []string
		for _, o := range c.Options {
			ids = append(ids, o.ID)
		}
		l.unknown("option of "+name, option, ids, at)
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
