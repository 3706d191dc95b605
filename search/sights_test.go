package search

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
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

func TestWhatIsSeen(t *testing.T) {
	k := coffee()
	k.Checks = append(k.Checks,
		&kb.Check{ID: "look-tank", Kind: "look", Options: []kb.Option{{ID: "full", Healthy: true}, {ID: "empty"}, {ID: "cracked"}}},
		&kb.Check{ID: "other-lamp", Kind: "try", Options: []kb.Option{{ID: "no-change", Healthy: true}}})
	k.Words.Seen = map[string][]string{
		"look-tank=full":       {"tank ^full"},
		"look-tank=empty":      {"tank ^empty", "!water in tank"},
		"look-tank=cracked":    {"tank ^cracked"},
		"other-lamp=no-change": {"swapped lamp .. !change"},
	}
	x, err := New(k)
	require.NoError(t, err)
	defer x.Close()
	for _, c := range []struct{ name, text, want string }{
		{"told", "it leaks, the tank is cracked", "look-tank=cracked"},
		{"seen by the owner", "i see the tank is empty", "look-tank=empty"},
		{"by a denial of its own", "there is no water in the tank", "look-tank=empty"},
		{"a try, done by the owner", "i swapped the lamp, no change", "other-lamp=no-change"},
		{"denied", "the tank is not cracked", ""},
		{"asked", "is the tank cracked?", ""},
		{"supposed", "maybe the tank is cracked", ""},
		{"a condition", "if the tank is empty it leaks", ""},
		{"long ago", "the tank was cracked last year", ""},
		{"seen to", "the tank was cracked, fixed it", ""},
		{"the owner's own doing", "i made the tank empty", ""},
		{"another's", "his tank is cracked", ""},
		{"with an exception", "the tank is full but the lid is off", ""},
		{"two answers at once", "the tank is full and the tank is cracked", ""},
		{"before the fault", "since i swapped the lamp no change", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var got []string
			for _, s := range x.Match(c.text).Seen {
				got = append(got, s.Check+"="+s.Option)
			}
			assert.Equal(t, c.want, strings.Join(got, " "), "%+v", x.Explain(c.text))
		})
	}
}
