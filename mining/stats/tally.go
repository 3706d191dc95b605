package stats

import (
	"maps"
	"math"
	"slices"
)

// Tally counts values. It keeps each value once, so that its size depends on
// how many different values there are and not on how many were added; Round
// the values first where they could all differ.
type Tally struct {
	counts map[float64]int
	n      int
}

// Round keeps three significant digits, which is within 0.5 % and leaves at
// most 900 values a decade.
func Round(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return v
	}
	e := 2 - int(math.Floor(math.Log10(math.Abs(v))))
	if e >= 0 {
		f := math.Pow10(e)
		return math.Round(v*f) / f
	}
	f := math.Pow10(-e)
	return math.Round(v/f) * f
}

// Add counts v n times. What is no number is left out.
func (t *Tally) Add(v float64, n int) {
	if math.IsNaN(v) || math.IsInf(v, 0) || n <= 0 {
		return
	}
	if t.counts == nil {
		t.counts = map[float64]int{}
	}
	t.counts[v] += n
	t.n += n
}

// Merge adds all that o counted.
func (t *Tally) Merge(o *Tally) {
	for v, n := range o.counts {
		t.Add(v, n)
	}
}

// N is how many were added.
func (t *Tally) N() int { return t.n }

// Values lists the values, ascending.
func (t *Tally) Values() []float64 { return slices.Sorted(maps.Keys(t.counts)) }

// Count is how often v was added.
func (t *Tally) Count(v float64) int { return t.counts[v] }

// Mean is NaN when nothing was added.
func (t *Tally) Mean() float64 {
	var sum float64
	for _, v := range t.Values() {
		sum += v * float64(t.counts[v])
	}
	return sum / float64(t.n)
}

// Quantile is the smallest value that at least the share p of all do not
// exceed (nearest rank); NaN when nothing was added.
func (t *Tally) Quantile(p float64) float64 {
	rank := max(1, int(math.Ceil(p*float64(t.n)-1e-9)))
	seen := 0
	for _, v := range t.Values() {
		if seen += t.counts[v]; seen >= rank {
			return v
		}
	}
	return math.NaN()
}
