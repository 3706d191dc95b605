package mining_test

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
	"triagebot/mining"
	"triagebot/mining/demo"
)

var start = func() mining.Day {
	d, err := mining.ParseDay("2025-12-01") // a Monday
	if err != nil {
		panic(err)
	}
	return d
}()

func builtIn(t testing.TB) *kb.KB {
	k, found := kb.Load(kb.Embedded())
	require.NotNil(t, k, "%v", found)
	return k
}

func aggregate(k *kb.KB, s demo.Settings) *mining.Aggregate {
	a := mining.NewAggregate()
	for r := range demo.Records(k, s) {
		a.Add(r)
	}
	return a
}

// The demo year holds a rise, a bad batch and a part that wears: each is found,
// and nothing that is not there.
func TestPlantedIsFound(t *testing.T) {
	k := builtIn(t)
	s := demo.Year(start)
	a := aggregate(k, s)
	for _, b := range demo.Fleet(k, s) {
		a.AddRunning(b)
	}
	r, err := mining.NewReport(a, mining.Options{KB: k})
	require.NoError(t, err)
	assert.True(t, r.Demo)

	part := k.Cause(s.Rise.Cause).Part
	var rising []string
	for _, x := range r.Rising.Found {
		rising = append(rising, string(x.Kind)+" "+x.ID+" "+x.Kit)
		if x.Kind == mining.Causes && x.ID == s.Rise.Cause {
			assert.True(t, x.Rises, "by comparison of periods")
			require.NotNil(t, x.Signal, "by chart")
			assert.GreaterOrEqual(t, *x.Signal, start+mining.Day(7*s.Rise.Week))
		}
		assert.Equal(t, s.Rise.Kit, x.Kit, "%s %s did not rise", x.Kind, x.ID)
	}
	assert.Contains(t, rising, "cause "+s.Rise.Cause+" "+s.Rise.Kit)
	assert.Contains(t, rising, "part "+part+" "+s.Rise.Kit)

	require.Len(t, r.Batches.Found, 1, "%v", r.Batches.Found)
	b := r.Batches.Found[0]
	assert.Equal(t, []string{k.Cause(s.Batch.Cause).Part, s.Batch.Kit, s.Batch.Built.Month()}, []string{b.Part, b.Kit, b.Built})
	assert.Greater(t, float64(b.Cases), 3*b.Expected)
}

// A part that wears is seen to wear, with the parameters it was given.
func TestLifeIsRecovered(t *testing.T) {
	k := builtIn(t)
	s := demo.Settings{Seed: 5, Start: start, Weeks: 200, Bikes: 2000, Old: 1, Brief: true,
		Wear: &demo.Wear{Kit: "yarrow-72", Cause: "throttle-stuck-low", Shape: 2.2, Scale: 6000}}
	a := mining.NewAggregate()
	for r := range demo.Records(k, s) {
		// What each case was is not of interest here: the part failed.
		r.Part, r.Replaced = k.Cause(s.Wear.Cause).Part, true
		a.Add(r)
	}
	for _, b := range demo.Fleet(k, s) {
		a.AddRunning(b)
	}
	r, err := mining.NewReport(a, mining.Options{KB: k})
	require.NoError(t, err)
	i := slices.IndexFunc(r.Lives, func(l mining.PartLife) bool { return l.Unit == "km" })
	require.GreaterOrEqual(t, i, 0)
	l := r.Lives[i]
	assert.True(t, l.Fleet)
	// Distances are whole and looked at weekly.
	assert.InEpsilon(t, 2.2, l.Shape, 0.1)
	assert.InEpsilon(t, 6000, l.Scale, 0.1)
	assert.Greater(t, l.Shape, 1.5)
	require.NotEmpty(t, l.Curve)
}

// Two hundred years in which nothing rises: at most the stated share of them
// raises an alarm. 0.05 of 200 is 10; that 18 or more come by chance at exactly
// that rate has a probability of 1.4 %, and the seeds are fixed.
func TestFalseAlarms(t *testing.T) {
	k := builtIn(t)
	byComparison, byChart, byBatch := 0, 0, 0
	const years = 200
	tested := 0
	for year := range uint64(years) {
		a := aggregate(k, demo.Settings{Seed: 1000 + year, Start: start, Weeks: 52, Bikes: 1200, Rate: 0.03, Brief: true})
		rising, batches, err := a.Alarms(mining.Options{})
		require.NoError(t, err)
		tested += rising.Tested
		compared, charted := false, false
		for _, x := range rising.Found {
			compared = compared || x.Rises
			charted = charted || x.Signal != nil
		}
		if compared {
			byComparison++
		}
		if charted {
			byChart++
		}
		if len(batches.Found) > 0 {
			byBatch++
		}
	}
	t.Logf("of %d years without a rise, false alarms in %d by comparison, %d by chart, %d by batch; %d series a year",
		years, byComparison, byChart, byBatch, tested/years)
	assert.Less(t, byComparison, 18)
	assert.Less(t, byChart, 18)
	assert.Less(t, byBatch, 18)
	assert.Greater(t, tested/years, 50, "the test must look at enough series to be able to fail")
}
