package search

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestSights reads testdata/sights.txt: what owners say in passing that a look
// would show, and as many sentences in which nothing is told as seen. The
// lines were written before the patterns.
func TestSights(t *testing.T) {
	_, x := embedded(t)
	right, extra, missing := 0, 0, 0
	for _, l := range readLabelled(t, "testdata/sights.txt") {
		var got []string
		for _, s := range x.Match(l.text).Seen {
			got = append(got, s.Check+"="+s.Option)
		}
		for _, id := range got {
			switch {
			case l.want[id]:
				right++
			case !l.open["+"+id]:
				extra++
				t.Logf("%q: %s is too much", l.text, id)
			}
		}
		for id := range l.want {
			if !slices.Contains(got, id) {
				missing++
				t.Logf("%q: %s is missing", l.text, id)
			}
		}
	}
	precision := float64(right) / float64(max(1, right+extra))
	recall := float64(right) / float64(max(1, right+missing))
	t.Logf("right %d, too much %d, missing %d: precision %.3f, recall %.3f", right, extra, missing, precision, recall)
	assert.GreaterOrEqual(t, precision, 0.95)
	assert.GreaterOrEqual(t, recall, 0.85)
}

func TestSightsOfAnother(t *testing.T) {
	x := patterned(t)
	seen := func(text string) string {
		var out []string
		for _, s := range x.Match(text).Seen {
			out = append(out, s.Check+"="+s.Option)
		}
		return strings.Join(out, " ")
	}
	require.NotEmpty(t, x.kb.Checks)
	assert.Empty(t, seen("the pump is loud"))
}
