package search

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/whitespace"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/mapping"

	"triagebot/kb"
)

// offTopic is the class of phrases that are no symptom.
const offTopic = -1

// phrase is one phrase of the knowledge base, ready for matching.
type phrase struct {
	symptom    int // in Index.symptoms, or offTopic
	absent     bool
	text       string
	nth        int // its place in the symptom's list
	terms      []phraseTerm
	weight     float64 // of all terms
	head       float64 // of what it says of its parts
	partWeight float64 // of the parts
	real       int     // words with a meaning of their own
	parts      bool    // one of the terms names a part
	mixed      bool    // it denies one word and not another
	single     bool    // one clause
	hangs      bool    // one of its clauses says when or why
	keyword    bool    // not written so, but a word that is the symptom's own
	// It speaks of the past, asks, or names another machine of its own accord,
	// so that a message may do so too.
	past, asks, foreign bool
}

type phraseTerm struct {
	id       int32
	weight   float64
	stem     string
	part     bool
	pole     bool
	sign     bool
	subject  bool
	lacking  bool
	light    bool
	particle bool
	aside    bool // it only leads up to the rest
	half     int  // 1 behind a contrast
	clause   int
}

func (p *phrase) has(id int32) bool {
	for i := range p.terms {
		if p.terms[i].id == id {
			return true
		}
	}
	return false
}

// Index finds the symptoms an owner's message speaks of. It is made by New.
type Index struct {
	lex      *lexicon
	kb       *kb.KB
	symptoms []*kb.Symptom
	healthy  []bool // symptoms that are a healthy answer of a check
	phrases  []phrase
	weights  map[string]float64 // of each stem
	affinity [][]linkage        // of each term: the symptoms that use it
	positive []int              // of each term: how many phrases that tell of a symptom have it
	uses     []int              // of each term: how many phrases of any kind have it
	exact    map[string][]int   // phrases by their plain words
	chatter  set                // whole messages of other talk
	checks   checkNames
	kits     []named
	tools    []named
	bleve    bleve.Index
}

// linkage says how often a symptom's phrases use a term.
type linkage struct {
	symptom int32
	count   int32
}

// New builds the index over the phrases of k, which must not change after.
// It fails when the index itself cannot be made; what is odd in the phrases is
// for Check to say.
func New(k *kb.KB) (*Index, error) {
	g, err := theGrammar()
	if err != nil {
		return nil, err
	}
	x := &Index{lex: newLexicon(g, k), kb: k, symptoms: k.Symptoms}
	x.exact = map[string][]int{}
	x.readPhrases(g, k)
	x.weigh()
	x.addKeywords()
	x.healthy = healthySymptoms(k)
	x.checks = x.lex.checkNames(k)
	x.kits, x.tools = x.lex.kitNames(k), x.lex.toolNames(k)
	if err := x.fill(); err != nil {
		return nil, fmt.Errorf("building the phrase index: %w", err)
	}
	return x, nil
}

// Close gives the index's memory back; Match must not be used after it.
func (x *Index) Close() error {
	if err := x.bleve.Close(); err != nil {
		return fmt.Errorf("closing the phrase index: %w", err)
	}
	return nil
}

func (x *Index) readPhrases(g *grammar, k *kb.KB) {
	for i, s := range k.Symptoms {
		for n, p := range s.Phrases {
			x.addPhrase(phrase{symptom: i, text: p, nth: n})
		}
		for n, p := range s.Absent {
			x.addPhrase(phrase{symptom: i, text: p, nth: n, absent: true})
		}
	}
	x.chatter = set{}
	for _, p := range g.chatter {
		x.chatter[joinTokens(x.lex.read(p))] = true
	}
	for n, p := range k.Words.OffTopic {
		x.addPhrase(phrase{symptom: offTopic, text: p, nth: n})
	}
	for n, p := range g.chatter {
		x.addPhrase(phrase{symptom: offTopic, text: p, nth: n})
	}
}

func (x *Index) addPhrase(p phrase) {
	t := x.lex.read(p.text)
	for _, c := range t.clauses {
		p.hangs = p.hangs || x.lex.g.hanging[c.joint]
		p.past = p.past || c.past || c.gone
		p.asks = p.asks || c.hypothetical
		p.foreign = p.foreign || c.foreign
	}
	half := 0
	for i := range t.tokens {
		tok := &t.tokens[i]
		if i > 0 && t.clauses[tok.seg].hard {
			half = 1
		}
		if !tok.matched() {
			continue
		}
		p.terms = append(p.terms, phraseTerm{
			id: x.lex.learnTerm(tok.term), stem: tok.stem,
			part: tok.part, pole: tok.pole, sign: tok.sign(), subject: tok.subject, lacking: tok.lacking, light: tok.light, particle: x.lex.g.particles[tok.text], half: half, clause: tok.seg,
		})
		p.parts = p.parts || tok.part
	}
	if len(p.terms) > 0 {
		key := t.plainRun(0, len(t.clauses))
		x.exact[key] = append(x.exact[key], len(x.phrases))
		x.phrases = append(x.phrases, p)
	}
}

// What a term weighs by its kind, beside how rare it is.
const (
	lightWeight    = 0.15
	particleWeight = 0.5
	thingWeight    = 0.4
	numberWeight   = 0.4
	unknownWeight  = 2.0 // a word that no phrase has
	leastWeight    = 1.0 // of a word with a meaning of its own, however common
	loneParticle   = 2.5 // more, when it is all that is said: "the light is out"
	asideWeight    = 0.4 // of the words of a phrase that only lead up to it
)

// weigh gives each word its weight: the fewer symptoms speak with it, the more
// it says; and notes for which symptoms each term speaks.
func (x *Index) weigh() {
	terms, stems := map[string]map[int]int{}, map[string]map[int]int{}
	count := func(in map[string]map[int]int, name string, class int) {
		if in[name] == nil {
			in[name] = map[int]int{}
		}
		in[name][class]++
	}
	n := len(x.symptoms)
	for i := range x.phrases {
		p := &x.phrases[i]
		class := p.symptom
		if p.absent {
			// The opposite is another way of speaking, and is not counted for
			// the symptom itself.
			class += n
		}
		for _, t := range p.terms {
			count(terms, x.lex.names[t.id], class)
			count(stems, t.stem, class)
		}
	}
	rarity := func(classes map[int]int) float64 {
		users := map[int]bool{}
		for class := range classes {
			users[class%max(1, n)] = true
		}
		df := float64(len(users))
		return math.Log(1 + (float64(n)+2-df+0.5)/(df+0.5))
	}
	x.weights = map[string]float64{}
	for stem, classes := range stems {
		kind := x.lex.kindWeight(stem)
		x.weights[stem] = kind
		if kind > lightWeight {
			x.weights[stem] = kind * max(leastWeight, rarity(classes))
		}
	}
	x.affinity = make([][]linkage, len(x.lex.names))
	x.uses, x.positive = make([]int, len(x.lex.names)), make([]int, len(x.lex.names))
	for id, name := range x.lex.names {
		uses := 0
		for _, c := range terms[name] {
			uses += c
		}
		x.uses[id] = uses
		for class, c := range terms[name] {
			if class < n {
				x.positive[id] += c
			}
		}
		for s := range x.symptoms {
			if c := terms[name][s]; c > 0 {
				x.affinity[id] = append(x.affinity[id], linkage{int32(s), int32(c)})
			}
		}
	}
	for i := range x.phrases {
		x.weighPhrase(&x.phrases[i])
	}
}

// A word is a keyword of a symptom when so many of its phrases use it, and this
// share of all phrases that use it are its own.
// Of danger fewer uses will do: to miss it costs more.
const (
	keywordUses       = 4
	keywordUsesDanger = 3
	keywordShare      = 0.7
)

// addKeywords gives each symptom one-word phrases of the words that are its
// own: "no smoke" denies smoke in whatever words its phrases tell of it.
func (x *Index) addKeywords() {
	first := map[int32]map[int]int{} // term, symptom -> phrase that uses it first
	for i := range x.phrases {
		p := &x.phrases[i]
		if p.symptom < 0 || p.absent {
			continue
		}
		for _, t := range p.terms {
			if t.light || t.part || t.pole {
				continue
			}
			if first[t.id] == nil {
				first[t.id] = map[int]int{}
			}
			if _, ok := first[t.id][p.symptom]; !ok {
				first[t.id][p.symptom] = i
			}
		}
	}
	for id := range x.affinity {
		for _, l := range x.affinity[id] {
			from, ok := first[int32(id)][int(l.symptom)]
			if !ok || l.count < x.keywordUses(int(l.symptom)) || float64(l.count) < keywordShare*float64(x.positive[id]) {
				continue
			}
			source := x.phrases[from]
			for _, t := range source.terms {
				if t.id == int32(id) && !t.sign {
					t.clause, t.half, t.aside = 0, 0, false
					p := phrase{symptom: source.symptom, text: source.text, nth: source.nth, terms: []phraseTerm{t}, keyword: true}
					x.weighPhrase(&p)
					x.phrases = append(x.phrases, p)
					break
				}
			}
		}
	}
}

func (x *Index) keywordUses(symptom int) int32 {
	if x.symptoms[symptom].Danger != "" {
		return keywordUsesDanger
	}
	return keywordUses
}

// weighPhrase weighs the words of a phrase. Of two clauses joined by a
// contrast ("turns on but doesn't pull away") the one whose words speak less
// for the symptom only leads up to the other.
func (x *Index) weighPhrase(p *phrase) {
	var sum, own [2]float64
	for _, t := range p.terms {
		w := x.weights[t.stem]
		sum[t.half] += w
		if p.symptom >= 0 {
			own[t.half] += w * x.share(t.id, p.symptom)
		}
	}
	aside := -1
	if sum[0] > 0 && sum[1] > 0 && p.symptom >= 0 {
		aside = 0
		if own[0]/sum[0] > own[1]/sum[1] {
			aside = 1
		}
	}
	verbs := map[int]bool{} // clauses with more to say than particles
	for _, t := range p.terms {
		if t.says() && !t.particle {
			verbs[t.clause] = true
		}
	}
	yes, no := false, false
	for j := range p.terms {
		t := &p.terms[j]
		t.weight = x.weights[t.stem]
		if t.particle && !verbs[t.clause] {
			t.weight *= loneParticle
		}
		if t.half == aside {
			t.weight *= asideWeight
			t.aside = true
		}
		p.weight += t.weight
		if t.real() {
			p.real++
		}
		if t.part {
			p.partWeight += t.weight
		}
		if t.says() {
			p.head += t.weight
		}
		if !t.part && !t.light {
			yes, no = yes || !t.sign, no || t.sign
		}
	}
	p.mixed = yes && no
	p.single = len(p.terms) == 0 || p.terms[0].clause == p.terms[len(p.terms)-1].clause
}

// share is how much of a term's use belongs to a symptom.
func (x *Index) share(id int32, symptom int) float64 {
	for _, l := range x.affinity[id] {
		if int(l.symptom) == symptom {
			return float64(l.count) / float64(x.uses[id]+1)
		}
	}
	return 0
}

func (l *lexicon) kindWeight(term string) float64 {
	switch {
	case l.things[term]:
		return thingWeight
	case term == "#":
		return numberWeight
	case l.g.particles[term]:
		return particleWeight
	case l.g.light[term] || l.light[term]:
		return lightWeight
	}
	return 1
}

// fill lays the phrases into a bleve index in memory.
func (x *Index) fill() error {
	m, err := indexMapping()
	if err != nil {
		return err
	}
	// scorch in memory: the older in-memory index knows no BM25.
	x.bleve, err = bleve.NewUsing("", m, scorch.Name, scorch.Name, nil)
	if err != nil {
		return err
	}
	batch := x.bleve.NewBatch()
	for i := range x.phrases {
		var terms []string
		for _, t := range x.phrases[i].terms {
			terms = append(terms, x.lex.names[t.id])
			if t.pole {
				terms = append(terms, t.stem)
			}
		}
		if err := batch.Index(strconv.Itoa(i), document{strings.Join(terms, " ")}); err != nil {
			return err
		}
	}
	return x.bleve.Batch(batch)
}

// document is a phrase as bleve sees it: terms parted by blanks.
type document struct {
	Terms string `json:"terms"`
}

func indexMapping() (mapping.IndexMapping, error) {
	m := bleve.NewIndexMapping()
	m.ScoringModel = "bm25"
	if err := m.AddCustomAnalyzer("terms", map[string]any{"type": custom.Name, "tokenizer": whitespace.Name}); err != nil {
		return nil, err
	}
	field := bleve.NewTextFieldMapping()
	field.Analyzer = "terms"
	field.Store, field.DocValues, field.IncludeTermVectors, field.IncludeInAll = false, false, false, false
	doc := bleve.NewDocumentStaticMapping()
	doc.AddFieldMappingsAt("terms", field)
	m.DefaultMapping = doc
	m.DefaultAnalyzer = "terms"
	return m, nil
}

// healthySymptoms are those that only say that something is as it should be:
// the healthy answer of a look or a try.
func healthySymptoms(k *kb.KB) []bool {
	out := make([]bool, len(k.Symptoms))
	for _, c := range k.Checks {
		for _, o := range c.Options {
			for i, s := range k.Symptoms {
				if o.Healthy && o.Symptom == s.ID {
					out[i] = true
				}
			}
		}
	}
	return out
}
