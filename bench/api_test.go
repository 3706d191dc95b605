package bench_test

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

// lists loads the built-in knowledge base, for its ids alone.
func lists(t *testing.T) *kb.KB {
	t.Helper()
	k, found := kb.Load(kb.Embedded())
	require.NotNil(t, k, "%v", found)
	return k
}

func bike(t testing.TB, kit string, seed uint64, causes ...string) *bench.Bike {
	t.Helper()
	b, err := bench.New(kit, causes, seed)
	require.NoError(t, err)
	return b
}

var kits = []string{"teasel-48", "sorrel-60", "yarrow-72", "generic"}

// TestEveryCauseOfTheList: what the knowledge base can name, the bench can
// break, on the same kits, and it can break more than that.
func TestEveryCauseOfTheList(t *testing.T) {
	k := lists(t)
	for _, id := range kits {
		kit := k.Kit(id)
		require.NotNil(t, kit, id)
		var want []string
		for _, c := range k.Causes {
			if kit.Has(c.Parts) {
				want = append(want, c.ID)
			}
		}
		want = append(want, bench.Unknown()...)
		slices.Sort(want)
		assert.Equal(t, want, bench.Causes(id), id)
	}
	require.GreaterOrEqual(t, len(bench.Unknown()), 3)
	for _, u := range bench.Unknown() {
		assert.Nil(t, k.Cause(u), "%q is listed", u)
	}
}

// TestEveryCheckOfTheList: every check can be done on every kit that has it,
// with and without faults, and gives an option that the check offers.
func TestEveryCheckOfTheList(t *testing.T) {
	k := lists(t)
	for _, id := range kits {
		t.Run(id, func(t *testing.T) {
			t.Parallel()
			kit := k.Kit(id)
			for _, cause := range append([]string{""}, bench.Causes(id)...) {
				var causes []string
				if cause != "" {
					causes = append(causes, cause)
				}
				b := bike(t, id, 5, causes...)
				for _, c := range k.Checks {
					if !kit.Has(c.Parts) {
						continue
					}
					answer(t, b, c, cause)
				}
			}
		})
	}
}

func answer(t *testing.T, b *bench.Bike, c *kb.Check, cause string) {
	t.Helper()
	if c.Kind == "measure" {
		r, err := b.Measure(c.ID)
		require.NoError(t, err, "%q with %q", c.ID, cause)
		assert.Equal(t, c.Unit, r.Unit, c.ID)
		assert.False(t, math.IsNaN(r.Value) || math.IsInf(r.Value, 0), c.ID)
		return
	}
	do := b.Look
	if c.Kind == "try" {
		do = b.Try
	}
	option, err := do(c.ID)
	require.NoError(t, err, "%q with %q", c.ID, cause)
	offered := slices.ContainsFunc(c.Options, func(o kb.Option) bool { return o.ID == option })
	assert.True(t, offered, "%q with %q gives %q, which is not offered", c.ID, cause, option)
}

// TestSymptomsAreListed: an owner of the bench notices nothing but symptoms
// that the knowledge base knows, and every one of them is decided.
func TestSymptomsAreListed(t *testing.T) {
	k := lists(t)
	for _, id := range kits {
		got, err := bike(t, id, 2).Symptoms()
		require.NoError(t, err)
		for s := range got {
			assert.NotNil(t, k.Symptom(s), s)
		}
		for _, s := range k.Symptoms {
			_, decided := got[s.ID]
			assert.Equal(t, k.Kit(id).Has(s.Parts) && needed(k.Kit(id), s.ID), decided, "%q on %q", s.ID, id)
		}
	}
}

// needed says whether a kit has what an odd symptom is about, where the
// knowledge base does not say so.
func needed(kit *kb.Kit, symptom string) bool {
	return symptom != "speed-reading-wrong" || kit.Has([]string{"speed-sensor"})
}

func TestSoundBikesHaveNothingToComplainOf(t *testing.T) {
	for _, id := range kits {
		for seed := range uint64(25) {
			b := bike(t, id, seed)
			c, err := b.Complaints()
			require.NoError(t, err)
			assert.Empty(t, c, "%q seed %d", id, seed)
			drives, err := b.Drives()
			require.NoError(t, err)
			assert.True(t, drives)
			assert.False(t, b.Faulty())
		}
	}
}

// TestMostFaultsAreNoticed: a fault that nobody notices cannot be rehearsed.
// Only a meter that misleads leaves the bike itself in order.
func TestMostFaultsAreNoticed(t *testing.T) {
	for _, id := range kits {
		unnoticed := 0
		causes := bench.Causes(id)
		for _, cause := range causes {
			if cause == "meter-misused" {
				continue
			}
			for seed := range uint64(2) {
				works, err := bike(t, id, seed, cause).Works()
				require.NoError(t, err, "%q on %q", cause, id)
				if works {
					unnoticed++
					t.Logf("%s %s seed %d: nothing noticed", id, cause, seed)
				}
			}
		}
		assert.Less(t, unnoticed, len(causes)/20)
	}
}

// TestFixTakesTheFaultAway: after the remedy of each of two faults the bike
// is the sound one it was built from, and the other fault is what it was.
func TestFixTakesTheFaultAway(t *testing.T) {
	for _, id := range kits {
		causes := bench.Causes(id)
		for i := 0; i < len(causes); i += 3 {
			first := causes[i]
			second := causes[(i+7)%len(causes)]
			b := bike(t, id, 9, first, second)
			had, err := b.Fix(first)
			require.NoError(t, err)
			assert.True(t, had)
			assert.Equal(t, []string{second}, b.Faults())
			alone, err := bike(t, id, 9, second).Symptoms()
			require.NoError(t, err)
			left, err := b.Symptoms()
			require.NoError(t, err)
			assert.Equal(t, alone, left, "%q mended, %q left", first, second)
			had, err = b.Fix(first)
			require.NoError(t, err)
			assert.False(t, had, "mended twice")
			_, err = b.Fix(second)
			require.NoError(t, err)
			works, err := b.Works()
			require.NoError(t, err)
			assert.True(t, works && !b.Faulty(), "%q and %q", first, second)
		}
	}
}

func TestSameSeedSameBike(t *testing.T) {
	read := func() string {
		var out strings.Builder
		b := bike(t, "yarrow-72", 3, "main-negative-loose", "throttle-sticky")
		for range 3 {
			for _, check := range []string{"throttle-rest", "negative-drop", "motor-temp-ohms"} {
				r, err := b.Measure(check)
				require.NoError(t, err)
				out.WriteString(r.String() + " ")
			}
		}
		text, err := bench.Netlist(b)
		require.NoError(t, err)
		return out.String() + text
	}
	assert.Equal(t, read(), read())
	one, err := bench.Netlist(bike(t, "yarrow-72", 1))
	require.NoError(t, err)
	two, err := bench.Netlist(bike(t, "yarrow-72", 2))
	require.NoError(t, err)
	assert.NotEqual(t, one, two, "two seeds give one bike")
}

// TestOrderOfAskingChangesNothing: what is looked at before a reading has no
// part in it.
func TestOrderOfAskingChangesNothing(t *testing.T) {
	a, b := bike(t, "sorrel-60", 4, "water-in-plug"), bike(t, "sorrel-60", 4, "water-in-plug")
	_, err := b.Symptoms()
	require.NoError(t, err)
	_, err = b.Try("hall-toggle")
	require.NoError(t, err)
	for _, check := range []string{"throttle-rest", "control-5v", "pack-volts"} {
		x, err := a.Measure(check)
		require.NoError(t, err)
		y, err := b.Measure(check)
		require.NoError(t, err)
		assert.Equal(t, x, y, check)
	}
}

func TestErrorsSayWhatThereIs(t *testing.T) {
	for _, c := range []struct {
		err  func() error
		says string
	}{
		{func() error { _, err := bench.New("teasel", nil, 1); return err }, `no kit "teasel", use one of teasel-48`},
		{func() error { _, err := bench.New("teasel-48", []string{"rust"}, 1); return err }, `no fault "rust"`},
		{func() error { _, err := bench.New("teasel-48", []string{"key-off"}, 1); return err }, `needs a key-switch`},
		{func() error { _, err := bike(t, "teasel-48", 1).Measure("key-volts-in"); return err }, "has no key-switch"},
		{func() error { _, err := bike(t, "teasel-48", 1).Measure("weight"); return err }, `"weight": no such check here`},
		{func() error { _, err := bike(t, "teasel-48", 1).Look("look-chain"); return err }, "has no chain"},
		{func() error { _, err := bike(t, "teasel-48", 1).Try("look-chain"); return err }, "no such check here"},
	} {
		assert.ErrorContains(t, c.err(), c.says)
	}
}
