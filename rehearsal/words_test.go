package rehearsal

import (
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/bench"
	"triagebot/kb"
)

func load(t *testing.T) (*kb.KB, *words) {
	t.Helper()
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found), "%v", found)
	w, err := loadWords()
	require.NoError(t, err)
	return k, w
}

// TestWordsFit: an owner has words for every symptom, and no words for what is
// not there.
func TestWordsFit(t *testing.T) {
	k, w := load(t)
	for _, s := range k.Symptoms {
		assert.NotEmpty(t, w.Symptoms[s.ID], s.ID)
	}
	for id := range w.Symptoms {
		assert.NotNil(t, k.Symptom(id), id)
	}
	for id, options := range w.Options {
		c := k.Check(id)
		if !assert.NotNil(t, c, id) {
			continue
		}
		for o := range options {
			assert.NotNil(t, c.Option(o), "%s: %s", id, o)
		}
	}
	for _, c := range k.Checks {
		for _, tool := range c.Tools {
			assert.NotEmpty(t, w.Cannot[tool], tool)
		}
	}
	for _, m := range manners {
		for _, cover := range m.shut {
			assert.NotNil(t, k.Opening(cover), cover)
		}
	}
}

// TestWordsAreTheirOwn: the stock is no copy of the phrases that the matcher
// knows. A few meet by chance, as they do with people.
func TestWordsAreTheirOwn(t *testing.T) {
	k, w := load(t)
	known := map[string]bool{}
	for _, s := range k.Symptoms {
		for _, p := range slices.Concat(s.Phrases, s.Absent) {
			known[strings.ToLower(p)] = true
		}
	}
	same, all := 0, 0
	for _, list := range w.Symptoms {
		for _, text := range list {
			all++
			if known[strings.ToLower(text)] {
				same++
			}
		}
	}
	assert.Less(t, same, all/10, "of %d", all)
}

func TestFixedOrderIsTheList(t *testing.T) {
	k, _ := load(t)
	for _, c := range k.Checks {
		assert.Contains(t, fixedOrder, c.ID)
	}
	for i, id := range fixedOrder {
		assert.NotNil(t, k.Check(id), id)
		assert.NotContains(t, fixedOrder[i+1:], id)
	}
}

func TestTypos(t *testing.T) {
	o := &owner{manner: manner{typos: 1}}
	for seed := range uint64(200) {
		const text = "throttle reads 4.98 V and lights work"
		got := o.typed(lotsFor(seed, "typo"), text)
		assert.NotEqual(t, text, got)
		assert.Contains(t, got, "4.98 V and", "figures and short words stay")
		assert.Len(t, strings.Fields(got), 7)
	}
	o.typos = 0
	assert.Equal(t, "throttle", o.typed(lotsFor(1, "typo"), "throttle"))
}

// TestFigures: whatever the clothing, the figure is the reading, but for a last
// place left out.
func TestFigures(t *testing.T) {
	o := &owner{}
	for _, c := range []struct {
		r    bench.Reading
		want []string
	}{
		{bench.Reading{Value: 4.983, Unit: "V", Decimals: 3}, []string{"4.983", "4.98", "4,983", "4,98"}},
		{bench.Reading{Value: 12490, Unit: "Ω", Decimals: -1}, []string{"12.49 k", "12,49 k"}},
		{bench.Reading{Value: 0.12, Unit: "Ω", Decimals: 2}, []string{"0.12", "0,12"}},
		{bench.Reading{Overload: true, Unit: "Ω"}, []string{"OL", "overload"}},
		{bench.Reading{Value: 2.4e6, Unit: "Ω", Decimals: -5}, []string{"2.4 M", "2,4 M", "2.4 meg", "2,4 meg"}},
	} {
		for seed := range uint64(60) {
			got := o.figure(lotsFor(seed, "figure"), c.r)
			assert.True(t, slices.ContainsFunc(c.want, func(w string) bool { return strings.Contains(got, w) }), "%q", got)
		}
	}
}

func TestMisreadings(t *testing.T) {
	c := &kb.Check{Options: []kb.Option{{ID: "a"}, {ID: "b"}, {ID: "c"}}}
	for seed := range uint64(50) {
		l := lotsFor(seed, "misread")
		assert.NotEqual(t, "a", misreading(l, c, shown{option: "a"}).option)
		r := misreading(l, c, shown{reading: &bench.Reading{Value: 4.83, Unit: "V", Decimals: 2}}).reading
		assert.True(t, math.Abs(r.Value-48.3) < 1e-9 || r.Value == 4.38, "%v", r.Value)
	}
	assert.Equal(t, 5.0, swapped(5, 0), "a single digit cannot be turned round")
	assert.Equal(t, 15.5, swapped(51.5, 1))
}

func TestSpread(t *testing.T) {
	assert.Equal(t, Spread{N: 10, Mean: 5.5, P90: 9}, spreadOf([]float64{10, 9, 8, 7, 6, 5, 4, 3, 2, 1}))
	assert.Equal(t, Spread{N: 1, Mean: 3, P90: 3}, spreadOf([]float64{3}))
	assert.Equal(t, Spread{}, spreadOf(nil))
}
