package search

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"triagebot/kb"
)

// concept is a pattern of the knowledge base: a few kinds of words that tell of
// a symptom in whatever words of those kinds they are said. Phrases are matched
// by how near they are; a concept is there or is not.
type concept struct {
	symptom  int    // in Index.symptoms, or offTopic
	check    string // of a pattern of figures: the check to which the number belongs
	sight    int    // of a pattern of what is seen: which of concepts.sights, from 1
	present  bool
	phrase   int // in Index.phrases: what a finding is known by
	elements []element
	head     int     // its denial turns the concept round
	fixed    bool    // it denies something itself, and is not turned round
	denies   bool    // one of its words is a denial
	contrast bool    // it holds over a "but" of its own
	lacks    []int32 // kinds that must not stand there
	rarest   int     // element looked for first
	// Of a pattern of figures: between what the number lies.
	least, most float64
}

// element is one kind of words of a concept.
type element struct {
	kind   int32
	link   link // to the element before
	denied bool // it must be denied
}

// wordRun is one item of a kind: words with the signs they have when said alone.
type wordRun struct {
	stems  []string
	exact  []string // the very word, where another of its stem will not do
	denied []bool
	kinds  []member
}

// member is a kind that a run of words belongs to.
type member struct {
	kind   int32
	denied bool // only when it is denied
	named  bool // by the list of a kind, not written in the pattern itself
}

// concepts are the patterns of a knowledge base, ready for matching.
type concepts struct {
	list   []concept
	sights []sight
	runs   map[string][]*wordRun // by their first stem, longest first
	kinds  int
	use    [][]int // of each kind: the concepts that look for it first
}

// readConcepts reads the patterns of k, and gives each a phrase to be known by.
func (x *Index) readConcepts(k *kb.KB) error {
	r := conceptReader{x: x, kb: k, ids: map[string]int32{}, runs: map[string]*wordRun{}, seen: map[string]*wordRun{}}
	byID := map[string]int{kb.OffTopicWords: offTopic}
	for i, s := range x.symptoms {
		byID[s.ID] = i
	}
	for _, list := range []struct {
		of      map[string][]string
		present bool
	}{{k.Words.Told, true}, {k.Words.Denied, false}} {
		for _, id := range slices.Sorted(maps.Keys(list.of)) {
			symptom, ok := byID[id]
			if !ok {
				continue // the knowledge base's own check reports it
			}
			for _, text := range list.of[id] {
				c, err := r.read(text)
				if err != nil {
					return fmt.Errorf("reading a pattern of %s: %w", id, err)
				}
				c.symptom, c.present, c.phrase = symptom, list.present, len(x.phrases)
				x.phrases = append(x.phrases, phrase{symptom: symptom, absent: !list.present, text: text, past: r.isPast(text), terms: make([]phraseTerm, 1)})
				r.out.list = append(r.out.list, c)
			}
		}
	}
	for _, id := range slices.Sorted(maps.Keys(k.Words.Figures)) {
		for _, text := range k.Words.Figures[id] {
			c, err := r.read(text)
			if err != nil {
				return fmt.Errorf("reading a pattern of %s: %w", id, err)
			}
			c.check = id
			r.out.list = append(r.out.list, c)
		}
	}
	if err := r.readSights(k); err != nil {
		return err
	}
	x.concepts = r.finish()
	return nil
}

// isPast: a pattern that names a word of the past speaks of it of its own accord.
func (r *conceptReader) isPast(text string) bool {
	for _, w := range strings.FieldsFunc(text, func(c rune) bool { return c == ' ' || c == '|' }) {
		if w == "used" {
			return true
		}
	}
	return false
}

// conceptReader gathers the kinds that patterns speak of.
type conceptReader struct {
	x    *Index
	kb   *kb.KB
	ids  map[string]int32    // kind, or alternatives as written -> number
	runs map[string]*wordRun // by their stems
	seen map[string]*wordRun // by the item as written: a kind stands in many patterns
	out  concepts
}

func (r *conceptReader) read(text string) (concept, error) {
	c := concept{head: -1, least: math.Inf(-1), most: math.Inf(1)}
	next, signedHead := inClause, false
	for _, piece := range strings.Fields(text) {
		if l, ok := links[piece]; ok {
			next = l
			continue
		}
		e := element{link: next}
		next = inClause
		lacks, signed, isHead := false, false, false
		for more := true; more; {
			switch piece[0] {
			case '!':
				signed = true
				if strings.Contains(piece, "|!") {
					more = false // each of its alternatives has a sign of its own
					continue
				}
				e.denied = true
			case '^':
				c.head, isHead = len(c.elements), true
			case '-':
				lacks = true
			default:
				more = false
				continue
			}
			if piece = piece[1:]; piece == "" {
				return c, fmt.Errorf("%q has a sign with nothing behind it; write the word right behind it", text)
			}
		}
		if name, limits, ok := strings.Cut(piece, "["); ok {
			if _, err := fmt.Sscanf(limits, "%g:%g]", &c.least, &c.most); err != nil {
				return c, fmt.Errorf("%q gives its number limits that are not understood; write them as 5[0:6]", text)
			}
			piece = name
		}
		if isHead {
			signedHead = signed
		}
		e.kind = r.kind(piece)
		if !lacks && (signed || r.denies(piece)) {
			c.fixed, c.denies = true, true
		}
		for _, w := range strings.Split(piece, "|") {
			c.contrast = c.contrast || r.x.lex.g.contrast[w]
		}
		if lacks {
			c.lacks = append(c.lacks, e.kind)
		} else {
			c.elements = append(c.elements, e)
		}
	}
	if len(c.elements) == 0 {
		return c, fmt.Errorf("%q has no word that must stand there; give at least one", text)
	}
	if c.head < 0 {
		c.head = len(c.elements) - 1
	} else if !signedHead {
		c.fixed = false
	}
	return c, nil
}

// denies reports whether one of the words of a pattern is a denial itself.
func (r *conceptReader) denies(written string) bool {
	g := r.x.lex.g
	for _, w := range strings.Split(written, "|") {
		w = strings.TrimPrefix(w, "=")
		word := func(int) string { return w }
		_, noun := g.negNouns.at(word, 0, 1)
		_, verb := g.negVerbs.at(word, 0, 1)
		_, stops := g.negStops.at(word, 0, 1)
		if noun+verb+stops > 0 {
			return true
		}
	}
	return false
}

// kind gives the number of a kind as written in a pattern.
func (r *conceptReader) kind(written string) int32 {
	if id, ok := r.ids[written]; ok {
		return id
	}
	id := int32(len(r.ids))
	r.ids[written] = id
	r.add(member{kind: id}, strings.Split(written, "|"), 0)
	return id
}

// anyNumber stands for whatever number is said; another stands for itself.
const anyNumber = "5"

// maxNested bounds kinds within kinds, which may run in a circle.
const maxNested = 8

func (r *conceptReader) add(m member, items []string, depth int) {
	for _, item := range items {
		item, only := strings.CutPrefix(item, "!")
		m := member{m.kind, m.denied || only, m.named}
		if name, ok := strings.CutPrefix(item, "<"); ok {
			if depth < maxNested {
				m.named = true
				r.add(m, r.kb.Words.Kinds[strings.TrimSuffix(name, ">")], depth+1)
			}
			continue
		}
		r.addRun(m, item)
	}
}

// addRun notes the words of an item in the form in which a message is read.
func (r *conceptReader) addRun(m member, item string) {
	run, known := r.seen[item]
	if !known {
		run = r.run(item)
		r.seen[item] = run
	}
	if run != nil && !slices.Contains(run.kinds, m) {
		run.kinds = append(run.kinds, m)
	}
}

// run reads an item; nil when it has no word.
func (r *conceptReader) run(item string) *wordRun {
	exact := set{}
	for _, w := range strings.Fields(item) {
		if word, ok := strings.CutPrefix(w, "="); ok {
			exact[word] = true
		}
	}
	t := r.x.lex.read(item)
	if len(t.tokens) == 0 {
		return nil
	}
	run := &wordRun{}
	for i := range t.tokens {
		tok := &t.tokens[i]
		very := ""
		if exact[tok.text] || hasDigit(tok.text) && !strings.Contains(tok.text, anyNumber) {
			very = tok.text
		}
		run.stems = append(run.stems, tok.stem)
		run.exact = append(run.exact, very)
		run.denied = append(run.denied, tok.denied)
	}
	key := strings.Join(run.stems, " ") + strings.Join(run.exact, "=")
	if known := r.runs[key]; known != nil {
		return known
	}
	r.runs[key] = run
	return run
}

func (r *conceptReader) finish() concepts {
	out := r.out
	out.kinds = len(r.ids)
	out.runs = map[string][]*wordRun{}
	members := make([]int, out.kinds)
	for _, key := range slices.Sorted(maps.Keys(r.runs)) {
		run := r.runs[key]
		out.runs[run.stems[0]] = append(out.runs[run.stems[0]], run)
		for _, m := range run.kinds {
			members[m.kind]++
		}
	}
	for _, runs := range out.runs {
		slices.SortStableFunc(runs, func(a, b *wordRun) int { return len(b.stems) - len(a.stems) })
	}
	out.use = make([][]int, out.kinds)
	for i := range out.list {
		c := &out.list[i]
		for j := range c.elements {
			if members[c.elements[j].kind] < members[c.elements[c.rarest].kind] {
				c.rarest = j
			}
		}
		id := c.elements[c.rarest].kind
		out.use[id] = append(out.use[id], i)
	}
	return out
}
