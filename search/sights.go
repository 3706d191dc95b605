package search

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"

	"triagebot/kb"
)

// Sight is what an owner says in passing that a look or a try shows. What a
// symptom says already is not said again as a sight.
type Sight struct {
	Check, Option string
	Confidence    float64
	Phrase        string // the pattern it was known by
}

// sight is what a pattern of the knowledge base shows.
type sight struct {
	check, option string
	healthy       bool
	done          bool // it is a try: the owner did something
	text          string
}

// sighting is a place where a pattern of what is seen stands.
type sighting struct {
	sight       int
	conf        float64
	first, last int // clauses
	found       []hit
	why         string // why it does not count, "" when it does
}

// readSights reads the patterns of what is seen.
func (r *conceptReader) readSights(k *kb.KB) error {
	for _, id := range slices.Sorted(maps.Keys(k.Words.Seen)) {
		name, option, _ := strings.Cut(id, "=")
		i := slices.IndexFunc(k.Checks, func(c *kb.Check) bool { return c.ID == name })
		if i < 0 {
			continue // reported by the checker
		}
		c := k.Checks[i]
		healthy := slices.ContainsFunc(c.Options, func(o kb.Option) bool { return o.ID == option && o.Healthy })
		for _, text := range k.Words.Seen[id] {
			p, err := r.read(text)
			if err != nil {
				return fmt.Errorf("reading a pattern of %s: %w", id, err)
			}
			r.out.sights = append(r.out.sights, sight{name, option, healthy, c.Kind == "try", text})
			p.sight = len(r.out.sights)
			r.out.list = append(r.out.list, p)
		}
	}
	return nil
}

// sighted notes a pattern of what is seen, if nothing in it is denied that the
// pattern does not deny itself.
func (m *conceiving) sighted(c *concept) {
	s := sighting{sight: c.sight - 1, first: 1 << 30, last: -1}
	words := 0
	for i := range c.elements {
		w := m.taken[i]
		if w.denied && !c.elements[i].denied {
			return
		}
		words += w.to - w.from
		for j := w.from; j < w.to; j++ {
			k := m.t.tokens[j].seg
			s.first, s.last = min(s.first, k), max(s.last, k)
			s.found = append(s.found, hit{token: j})
		}
	}
	s.conf = min(conceptTop, conceptBase+conceptMore*float64(len(c.elements))+conceptWord*float64(words))
	m.sights = append(m.sights, s)
}

// sightsIn settles which of what was found is told as seen now: of one check
// the surest, and none when two contradict each other.
func (x *Index) sightsIn(t *text, found []sighting) []Sight {
	var out []Sight
	clash := map[string]bool{}
	for i := range found {
		s := &found[i]
		of := &x.concepts.sights[s.sight]
		if s.why = x.unseen(t, s, of); s.why != "" {
			continue
		}
		at := slices.IndexFunc(out, func(o Sight) bool { return o.Check == of.check })
		switch {
		case at < 0:
			out = append(out, Sight{of.check, of.option, round(s.conf), of.text})
		case out[at].Option == of.option:
			out[at].Confidence = max(out[at].Confidence, round(s.conf))
		default:
			s.why = "another answer is told as well"
			clash[of.check] = true
		}
	}
	out = slices.DeleteFunc(out, func(o Sight) bool { return clash[o.Check] })
	slices.SortFunc(out, func(a, b Sight) int { return cmp.Compare(a.Check, b.Check) })
	return out
}

// unseen says why something is not told as seen now, "" when it is. The whole
// sentence is asked: a doubt or a mending anywhere in it is enough.
func (x *Index) unseen(t *text, s *sighting, of *sight) string {
	g := x.lex.g
	from, to := sentence(t, s.first, s.last)
	for k := from; k < to; k++ {
		c := t.clauses[k]
		switch {
		case c.asked || c.hypothetical || x.lex.hasWord(t, c, g.roles["doubts"]) || g.is("condition", c.joint):
			return "asked or supposed, not seen"
		case c.foreign || x.lex.hasWord(t, c, g.roles["others"]):
			return "said of another's"
		case c.over || c.gone || c.past || x.lex.has(t, c, g.pastLong) || x.lex.has(t, c, g.pastWhen) || x.lex.hasWord(t, c, g.roles["seasons"]):
			return "was so in the past"
		case of.healthy && !of.done && g.contrast[c.joint]:
			return "not without an exception"
		case !of.done && (x.lex.hasWord(t, c, g.acts) || x.lex.hasWord(t, c, g.roles["cures"])):
			return "was seen to already"
		case !of.done && x.lex.ownDoing(t, c):
			return "is the owner's own doing"
		case of.done && g.is("began", c.joint):
			return "was done before the fault began"
		}
	}
	return ""
}

// sentence gives the clauses of the sentences in which clauses first to last stand.
func sentence(t *text, first, last int) (from, to int) {
	from, to = first, last+1
	for from > 0 && t.tokens[t.clauses[from].from].before != stop {
		from--
	}
	for to < len(t.clauses) && t.tokens[t.clauses[to].from].before != stop {
		to++
	}
	return from, to
}

func (l *lexicon) hasWord(t *text, c clause, words set) bool {
	for i := c.from; i < c.to; i++ {
		if words[t.tokens[i].text] {
			return true
		}
	}
	return false
}

// ownDoing reports whether a person does something in the clause but look: "I
// switched the breaker off" tells of no fault.
func (l *lexicon) ownDoing(t *text, c clause) bool {
	for i := c.from; i < c.to; i++ {
		if !l.g.is("persons", t.tokens[i].text) {
			continue
		}
		for j := i + 1; j < c.to && j <= i+3; j++ {
			if l.g.is("finds", t.tokens[j].text) {
				return false
			}
		}
		return true
	}
	return false
}
