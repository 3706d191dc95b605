package mining_test

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"triagebot/casefile"
	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/demo"
	"triagebot/search"
)

func jsonOf(t *testing.T, a *mining.Aggregate, o mining.Options) string {
	t.Helper()
	r, err := mining.NewReport(a, o)
	require.NoError(t, err)
	var b bytes.Buffer
	require.NoError(t, r.WriteJSON(&b))
	return b.String()
}

// However the records are shuffled and parted, the report is the same.
func TestMergeIsTheSame(t *testing.T) {
	k := builtIn(t)
	s := demo.Year(start)
	s.Bikes = 600
	records := slices.Collect(demo.Records(k, s))
	whole := mining.NewAggregate()
	for _, r := range records {
		whole.Add(r)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	rng.Shuffle(len(records), func(i, j int) { records[i], records[j] = records[j], records[i] })
	parts := []*mining.Aggregate{mining.NewAggregate(), mining.NewAggregate(), mining.NewAggregate()}
	for i, r := range records {
		parts[i%3].Add(r)
	}
	merged := mining.NewAggregate()
	for _, p := range parts {
		merged.Merge(p)
	}
	assert.Equal(t, jsonOf(t, whole, mining.Options{KB: k}), jsonOf(t, merged, mining.Options{KB: k}))
}

// No hidden cell follows from the sums, nor is one hidden without need.
func TestHide(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rows, cols := rapid.IntRange(1, 6).Draw(t, "rows"), rapid.IntRange(1, 6).Draw(t, "cols")
		table := make([][]int, rows)
		for i := range table {
			table[i] = rapid.SliceOfN(rapid.IntRange(0, 12), cols, cols).Draw(t, "row")
		}
		hidden := mining.Hide(table, nil, 5)
		small := false
		line := func(n int, at func(int) (int, bool)) {
			count, sum, all := 0, 0, 0
			for i := range n {
				v, hidden := at(i)
				all += v
				if hidden {
					count, sum = count+1, sum+v
				}
			}
			if n > 1 && (count == 1 || sum > 0 && sum < 5 && all >= 5) {
				t.Fatalf("what is hidden follows from the sum, or is small: %v %v", table, hidden)
			}
		}
		for i := range table {
			line(cols, func(j int) (int, bool) { return table[i][j], hidden[i][j] })
			for j, n := range table[i] {
				if n > 0 && n < 5 {
					small = true
					if !hidden[i][j] {
						t.Fatalf("%d is shown: %v", n, table)
					}
				}
			}
		}
		for j := range cols {
			line(rows, func(i int) (int, bool) { return table[i][j], hidden[i][j] })
		}
		if !small && slices.ContainsFunc(hidden, func(r []bool) bool { return slices.Contains(r, true) }) {
			t.Fatalf("hidden without need: %v %v", table, hidden)
		}
	})
}

// No number of a small group is anywhere in a report.
func TestReportShowsNoSmallGroup(t *testing.T) {
	k := builtIn(t)
	s := demo.Year(start)
	s.Bikes = 300
	r, err := mining.NewReport(aggregate(k, s), mining.Options{KB: k})
	require.NoError(t, err)
	fit := func(n *int, what ...any) {
		if n != nil {
			assert.True(t, *n == 0 || *n >= 5, "%d: %v", *n, what)
		}
	}
	hidden := 0
	for _, c := range r.Counts {
		fit(c.N, c.Kind, c.ID, c.Kit, c.By, c.Value)
		if c.N == nil {
			hidden++
		}
	}
	assert.NotZero(t, hidden)
	for _, x := range r.Pareto {
		if x.ID != "(small groups)" {
			fit(&x.N, x)
		}
	}
	for _, x := range r.Checks {
		fit(x.Cannot.N, x.Check)
	}
	for _, x := range r.Confusion {
		fit(&x.N, x)
	}
	for _, x := range r.Rising.Found {
		fit(&x.Recent, x.ID)
		fit(x.Before, x.ID)
	}
	for _, x := range r.Wording.Groups {
		fit(&x.N, x.Text)
	}
	for _, x := range r.Readings {
		for _, b := range x.Bars {
			fit(&b.N, x.Check)
		}
	}
}

// The proposed wording, laid into the knowledge base as a file, loads and is
// then understood.
func TestPatchIsUnderstood(t *testing.T) {
	k := builtIn(t)
	r, err := mining.NewReport(aggregate(k, demo.Year(start)), mining.Options{KB: k})
	require.NoError(t, err)
	require.NotEmpty(t, r.Wording.Groups)
	assert.Equal(t, "no-drive", r.Wording.Groups[0].Symptom)
	var b bytes.Buffer
	require.NoError(t, r.WritePatch(&b))
	patch := fstest.MapFS{"zz-learned.yaml": {Data: b.Bytes()}}
	patched, found := kb.Load(both{kb.Embedded(), patch})
	require.NotNil(t, patched, "%v", found)
	require.False(t, kb.HasErrors(found), "%v", found)
	meant := r.Wording.Groups[0].Symptom
	has := func(k *kb.KB) bool {
		x, err := search.New(k)
		require.NoError(t, err)
		defer x.Close()
		return slices.ContainsFunc(x.Match("my "+demo.Wordings()[0].Text).Symptoms, func(s search.Symptom) bool { return s.ID == meant && s.Present })
	}
	assert.False(t, has(k))
	assert.True(t, has(patched))
}

func TestWordingIsScrubbed(t *testing.T) {
	a := mining.NewAggregate()
	for range 6 {
		a.Add(mining.Record{V: 1, Unmatched: []string{"Grip limp, call 0170 555123 or a.b@example.org see https://example.org/x"}})
	}
	r, err := mining.NewReport(a, mining.Options{})
	require.NoError(t, err)
	require.Len(t, r.Wording.Groups, 1)
	assert.Equal(t, "grip limp call see", r.Wording.Groups[0].Text)
}

func TestOverlay(t *testing.T) {
	k := builtIn(t)
	s := demo.Year(start)
	a := aggregate(k, s)
	o, shifts, err := mining.Learn(a, k, 200, "")
	require.NoError(t, err)
	sums := map[string]float64{}
	for _, x := range shifts {
		sums[x.Kit] += x.After
		if x.Kit == s.Rise.Kit && x.Cause == s.Rise.Cause {
			assert.Greater(t, x.After, x.Before)
		}
	}
	for kit, sum := range sums {
		assert.InDelta(t, 1, sum, 1e-9, kit)
	}
	var b bytes.Buffer
	require.NoError(t, o.WriteYAML(&b))
	again, err := mining.ReadOverlay(&b)
	require.NoError(t, err)
	assert.Equal(t, o, again)
	assert.Equal(t, o.Version(), again.Version())

	kit := k.Kit(s.Rise.Kit)
	before := kit.Priors
	undo, err := again.Apply(k)
	require.NoError(t, err)
	assert.NotEqual(t, before, kit.Priors)
	mass := func(priors map[string]float64) (sum float64) {
		for _, c := range k.Causes {
			if kit.Has(c.Parts) {
				f, ok := priors[c.ID]
				if !ok {
					f = 1
				}
				sum += c.Prior * f
			}
		}
		return sum
	}
	assert.InEpsilon(t, mass(before), mass(kit.Priors), 1e-3, "the mass of the single causes stays")
	undo()
	assert.Equal(t, before, kit.Priors)

	again.Rules = "000000000000"
	_, err = again.Apply(k)
	assert.ErrorContains(t, err, "learn anew")
	_, _, err = mining.Learn(a, k, 0, "")
	assert.Error(t, err)
	for _, bad := range []string{"", "overlay: other\nv: 1\n", "overlay: priors\nv: 1\nkits: {x: {y: -1}}\n", "overlay: priors\nv: 1\nmore: 1\n"} {
		_, err := mining.ReadOverlay(strings.NewReader(bad))
		assert.Error(t, err, "%q", bad)
	}
}

func TestFromCase(t *testing.T) {
	k := builtIn(t)
	at := time.Date(2026, 3, 14, 9, 0, 0, 0, time.UTC)
	volts := 5.02
	c := &casefile.Case{
		KB: casefile.KB{Version: "abc"}, Kit: casefile.Kit{ID: "sorrel-60"}, Complaint: []string{"all gone soft"},
		Symptoms:   []casefile.Symptom{{ID: "no-drive", State: "present", From: "answer"}, {ID: "dead", State: "absent", From: "answer"}},
		Readings:   []casefile.Reading{{Check: "throttle-5v", Value: &volts, Unit: "V", Window: "good", Earlier: []casefile.Reading{{Check: "throttle-5v"}}}},
		Looks:      []casefile.Look{{Check: "look-display", Option: "normal"}},
		NotDone:    []casefile.NotDone{{Check: "fuse-continuity", Why: "cannot"}, {Check: "throttle-alone-rest", Why: "tool"}, {Check: "pack-volts", Why: "not-reached"}},
		Suspects:   []casefile.Suspect{{Causes: []casefile.Cause{{ID: "throttle-stuck-low"}}, Remedy: "replace-throttle"}},
		Remedies:   []casefile.Remedy{{ID: "replace-throttle", Result: "cured"}},
		Transcript: []casefile.Line{{Time: at}, {Time: at.Add(4 * time.Minute)}, {Time: at.Add(20 * time.Hour)}},
	}
	r := mining.FromCase(c, mining.Closing{Closed: at, Bike: "b7", Distance: 1200, Replaced: true}, k)
	assert.Equal(t, "2026-03-14", r.Closed.String())
	assert.True(t, r.Solved)
	assert.Equal(t, "throttle-stuck-low", r.Named)
	assert.Equal(t, "throttle-stuck-low", r.Confirmed, "its remedy cured it")
	assert.Equal(t, "throttle", r.Part)
	assert.Equal(t, []string{"no-drive"}, r.Symptoms)
	assert.Equal(t, 4, r.Questions)
	assert.Equal(t, 19.0, r.Minutes, "the night does not count")
	assert.Equal(t, []string{"all gone soft"}, r.Unmatched)
	assert.Len(t, r.Checks, 4)

	r = mining.FromCase(c, mining.Closing{Closed: at, Person: true, Confirmed: "hall-sensor-dead"}, k)
	assert.False(t, r.Solved)
	assert.Equal(t, "hall-sensor-dead", r.Confirmed)

	data, err := json.Marshal(r)
	require.NoError(t, err)
	for back, err := range mining.Records(bytes.NewReader(data)) {
		require.NoError(t, err)
		assert.Equal(t, r, back)
	}
}

// Records that make no sense neither panic nor stop the counting.
func TestOddRecords(t *testing.T) {
	a := mining.NewAggregate()
	assert.NotEmpty(t, jsonOf(t, a, mining.Options{}), "no records at all")
	for _, r := range []mining.Record{{}, {Closed: -800000, Distance: 1e300, Age: -4}, {Closed: 2_000_000, Age: 1e12, Confirmed: "x", Part: "y", Symptoms: []string{"a", "a"}, Minutes: -1},
		{Closed: 20000, Checks: []mining.Asked{{}, {Cannot: "cannot"}}}} {
		a.Add(r)
	}
	assert.NotEmpty(t, jsonOf(t, a, mining.Options{}))
	for _, o := range []mining.Options{{Least: -1}, {Level: 2}, {False: 1}, {Recent: -3}} {
		_, err := mining.NewReport(a, o)
		assert.Error(t, err)
	}
	for _, err := range mining.Records(strings.NewReader("{\"closed\":\"14.3.\"}\n")) {
		assert.ErrorContains(t, err, "line 1")
	}
}
