package outside_test

import (
	"math"
	"testing"

	"github.com/blevesearch/bleve/v2"
	"github.com/blevesearch/bleve/v2/analysis/analyzer/custom"
	"github.com/blevesearch/bleve/v2/analysis/tokenizer/whitespace"
	"github.com/blevesearch/bleve/v2/index/scorch"
	"github.com/blevesearch/bleve/v2/search/query"
	"github.com/stretchr/testify/require"
)

// TestBM25AgainstAWorkedExample: three documents and a query whose scores are
// published (hexdocs.pm/bm25; k1 1.2, b 0.75, IDF with 1 inside the logarithm).
// The index is made as the matcher makes it.
func TestBM25AgainstAWorkedExample(t *testing.T) {
	m := bleve.NewIndexMapping()
	m.ScoringModel = "bm25"
	require.NoError(t, m.AddCustomAnalyzer("words", map[string]any{"type": custom.Name, "tokenizer": whitespace.Name}))
	m.DefaultAnalyzer = "words"
	x, err := bleve.NewUsing("", m, scorch.Name, scorch.Name, nil)
	require.NoError(t, err)
	defer x.Close()
	batch := x.NewBatch()
	for id, text := range map[string]string{
		"1": "bm25 is a ranking function",
		"2": "used by search engines",
		"3": "to rank matching documents",
	} {
		require.NoError(t, batch.Index(id, map[string]string{"text": text}))
	}
	require.NoError(t, x.Batch(batch))
	var terms []query.Query
	for _, w := range []string{"ranking", "search", "function"} {
		q := bleve.NewTermQuery(w)
		q.SetField("text")
		terms = append(terms, q)
	}
	res, err := x.Search(bleve.NewSearchRequest(bleve.NewDisjunctionQuery(terms...)))
	require.NoError(t, err)
	got := map[string]float64{}
	for _, h := range res.Hits {
		got[h.ID] = h.Score
	}
	t.Log(got)
	require.Len(t, got, 2)
	published := map[string]float64{"1": 1.8455076734299591, "2": 1.0126973514850315}
	// Each of the terms is in one of the three documents, twice in the first.
	worked := func(terms, length, average float64) float64 {
		const k1, b = 1.2, 0.75
		return terms * math.Log(1+(3-1+0.5)/(1+0.5)) * (k1 + 1) / (1 + k1*(1-b+b*length/average))
	}
	require.InDelta(t, published["1"], worked(2, 5, 13.0/3), 1e-12)
	require.InDelta(t, published["2"], worked(1, 4, 13.0/3), 1e-12)
	// bleve ranks as published. It rounds the average length up to whole words, and
	// multiplies by a factor of the query and by the share of its terms that are
	// there (2 of 3, 1 of 3), which leaves the ratio of two scores.
	require.Greater(t, got["1"], got["2"])
	require.InDelta(t, worked(2, 5, 5)/worked(1, 4, 5), got["1"]/got["2"]/2, 1e-5)
}
