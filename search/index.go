package search

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/whitespace"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/mapping"

	"triagebot/kb"
)

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
	within   map[string][]int   // phrases that may stand in a longer clause, by their first word
	chatter  set                // whole messages of other talk
	checks   checkNames
	concepts concepts
	nearly   float64 // how sure a phrase is that is nearly said
	kits     []named
	tools    []named
	bleve    bleve.Index
	without  map[Piece]bool // pieces left out to measure them; nil but in a measurement
}

// linkage says how often a symptom's phrases use a term.
type linkage struct {
	symptom int32
	count   int32
}

// New builds the index over the phrases of k, which must not change after.
// It fails when the index itself cannot be made; what is odd in the phrases is
// for Check to say.
func New(k *kb.KB) (*Index, error) { return build(k, nil) }

func build(k *kb.KB, without map[Piece]bool) (*Index, error) {
	g, err := grammarOf(k.Language)
	if err != nil {
		return nil, err
	}
	x := &Index{lex: newLexicon(g, k, without), without: without, kb: k, symptoms: k.Symptoms, nearly: nearly}
	x.exact, x.within = map[string][]int{}, map[string][]int{}
	x.readPhrases(g, k)
	x.weigh()
	if !without[Keywords] {
		x.addKeywords()
	}
	x.healthy = healthySymptoms(k)
	x.checks = x.lex.checkNames(k)
	x.kits, x.tools = x.lex.kitNames(k), x.lex.toolNames(k)
	if err := x.fill(); err != nil {
		return nil, fmt.Errorf("building the phrase index: %w", err)
	}
	if err := x.readConcepts(k); err != nil {
		return nil, err
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
