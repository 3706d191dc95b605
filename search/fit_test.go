package search

import (
	"flag"
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"triagebot/kb"
)

var refit = flag.Bool("refit", false, "print weights fitted anew, for score.go")

// bounds keep a weight of the sign its feature has in language; phrases alone,
// short and well said, would give some of them none.
var bounds = map[int][2]float64{
	featDense: {0.7, 3}, featWhole: {0.9, 3}, featHeft: {0.3, 2.5}, featOrder: {0.2, 2}, featCross: {-3, -1},
	featEvidence: {0, 2.2}, featPool: {0, 3}, featClash: {-4, -1.2}, featMixed: {-9, -2.5}, featTurned: {-9, -2.5},
	featTurnedHead: {1, 2.6}, featSingle: {-2, 0}, featHead: {0.5, 3}, featHeadless: {-4, -1.5}, featLeast: {1.8, 3},
	featHanging: {-3, -1}, featExact: {1, 2},
}

// sample is one finding with whether it is right.
type sample struct {
	v      [features]float64
	right  float64
	weight float64
}

// TestWeights fits the weights anew and holds that those in score.go are about
// as good. When the phrases have changed much, run it with -refit and put the
// printed table into score.go.
func TestWeights(t *testing.T) {
	k, x := embedded(t)
	var stored, anew [2][features]float64
	for i, w := range weights {
		stored[0][i], stored[1][i] = w.present, w.absent
	}
	samples := samplesOf(x, k, readLabelled(t, "testdata/dev.txt"))
	for side := range samples {
		anew[side] = fitted(samples[side], stored[side])
		was, is := loss(samples[side], stored[side]), loss(samples[side], anew[side])
		t.Logf("side %d: %d samples, loss %.4f, fitted anew %.4f", side, len(samples[side]), was, is)
		assert.LessOrEqual(t, was, 1.1*is, "the weights have aged: run with -refit")
	}
	if *refit {
		for i := range features {
			fmt.Printf("%d: {%.2f, %.2f},\n", i, anew[0][i], anew[1][i])
		}
	}
}

// samplesOf takes each phrase out in turn and reads it as a message, and reads
// the messages; first the findings that tell of something there, then of
// something not there.
func samplesOf(x *Index, k *kb.KB, lines []labelled) (out [2][]sample) {
	add := func(f *finding, right bool, weight float64) {
		s := sample{v: f.measures(), right: when(right, 1), weight: weight}
		out[int(when(!f.present, 1))] = append(out[int(when(!f.present, 1))], s)
	}
	for _, l := range lines {
		t := x.lex.read(l.text)
		for _, f := range x.findings(t, -1) {
			if f.symptom < 0 {
				continue
			}
			c := t.clauses[f.clause]
			id := x.symptoms[f.symptom].ID
			want, told := l.want[id]
			right := told && want == f.present
			if c.hypothetical || c.foreign || c.gone || c.past || !right && l.isOpen(k, id, f.present) {
				continue
			}
			add(&f, right, messageWeight)
		}
	}
	for pi := range x.phrases {
		p := &x.phrases[pi]
		if p.symptom < 0 || p.keyword {
			continue
		}
		for _, f := range x.findings(x.lex.read(p.text), pi) {
			if f.symptom < 0 {
				continue
			}
			right := f.symptom == p.symptom && f.present != p.absent
			weight := 1.0
			if !f.present && f.symptom != p.symptom {
				if !p.absent && x.excludes(f.symptom, p.symptom) {
					continue // follows from the phrase, so it is not wrong
				}
				weight = asideSample
			}
			add(&f, right, weight)
		}
	}
	return out
}

const (
	messageWeight = 2   // a message counts as much as two phrases
	asideSample   = 0.6 // what a phrase says not to be there beside its matter is not labelled
)

func loss(samples []sample, w [features]float64) float64 {
	sum, all := 0.0, 0.0
	for _, s := range samples {
		z := 0.0
		for i, v := range s.v {
			z += w[i] * v
		}
		p := min(max(logistic(z), 1e-9), 1-1e-9)
		sum -= s.weight * (s.right*math.Log(p) + (1-s.right)*math.Log(1-p))
		all += s.weight
	}
	return sum / all
}

// fitted is ridge logistic regression within bounds, one weight at a time.
func fitted(samples []sample, w [features]float64) [features]float64 {
	const ridge = 1.0
	z := make([]float64, len(samples))
	for n := range samples {
		for i, v := range samples[n].v {
			z[n] += w[i] * v
		}
	}
	for range 150 {
		most := 0.0
		for i := range w {
			slope, bend := -ridge*w[i], ridge
			for n := range samples {
				s := &samples[n]
				if s.v[i] != 0 {
					p := logistic(z[n])
					slope += s.weight * (s.right - p) * s.v[i]
					bend += s.weight * p * (1 - p) * s.v[i] * s.v[i]
				}
			}
			next := w[i] + slope/bend
			if b, ok := bounds[i]; ok {
				next = min(max(next, b[0]), b[1])
			}
			step := next - w[i]
			w[i] = next
			for n := range samples {
				z[n] += step * samples[n].v[i]
			}
			most = max(most, math.Abs(step))
		}
		if most < 1e-3 {
			break
		}
	}
	return w
}
