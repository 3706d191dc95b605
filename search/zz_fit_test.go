package search

import (
	"fmt"
	"math"
	"os"
	"testing"

	"triagebot/kb"
)

type Labelled struct {
	Text string
	Want map[string]bool
	Open map[string]bool
}

var FitData func(t testing.TB) []Labelled
var FitFollows func(k *kb.KB, want map[string]bool, id string) bool

type sample struct {
	v [features]float64
	y float64
	w float64
}

func collect(x *Index, k *kb.KB, dev []Labelled) (pres, abs []sample) {
	add := func(f *finding, y, w float64) {
		s := sample{f.measures(), y, w}
		if f.present {
			pres = append(pres, s)
		} else {
			abs = append(abs, s)
		}
	}
	for _, l := range dev {
		tx := x.lex.read(l.Text)
		for _, f := range x.findings(tx, -1) {
			if f.symptom < 0 {
				continue
			}
			c := tx.clauses[f.clause]
			if c.hypothetical || c.foreign || c.gone || c.past {
				continue
			}
			id := x.symptoms[f.symptom].ID
			mark := "-"
			if f.present {
				mark = "+"
			}
			want, ok := l.Want[id]
			y := 0.0
			if ok && want == f.present {
				y = 1
			} else if l.Open[mark+id] || !f.present && FitFollows(k, l.Want, id) {
				continue
			}
			add(&f, y, 2)
		}
	}
	for pi := range x.phrases {
		p := &x.phrases[pi]
		if p.symptom < 0 || p.keyword {
			continue
		}
		tx := x.lex.read(p.text)
		for _, f := range x.findings(tx, pi) {
			if f.symptom < 0 {
				continue
			}
			y, w := 0.0, 1.0
			if f.symptom == p.symptom && f.present != p.absent {
				y = 1
			} else if !f.present && f.symptom != p.symptom {
				want := map[string]bool{}
				if !p.absent {
					want[x.symptoms[p.symptom].ID] = true
				}
				if FitFollows(k, want, x.symptoms[f.symptom].ID) {
					continue
				}
				w = 0.6
			}
			add(&f, y, w)
		}
	}
	return
}

func fitLogistic(s []sample, w [features]float64) [features]float64 {
	const lambda = 1.0
	z := make([]float64, len(s))
	for n, e := range s {
		for i := range w {
			z[n] += w[i] * e.v[i]
		}
	}
	for it := 0; it < 150; it++ {
		mx := 0.0
		for i := range w {
			g, h := -lambda*w[i], lambda
			for n := range s {
				e := &s[n]
				if e.v[i] == 0 {
					continue
				}
				p := 1 / (1 + math.Exp(-z[n]))
				g += e.w * (e.y - p) * e.v[i]
				h += e.w * p * (1 - p) * e.v[i] * e.v[i]
			}
			nw := w[i] + g/h
			if b, ok := bounds[i]; ok {
				nw = math.Min(math.Max(nw, b[0]), b[1])
			}
			d := nw - w[i]
			if d == 0 {
				continue
			}
			w[i] = nw
			for n := range s {
				z[n] += d * s[n].v[i]
			}
			mx = math.Max(mx, math.Abs(d))
		}
		if mx < 1e-3 {
			break
		}
	}
	return w
}

func TestFit(t *testing.T) {
	if os.Getenv("FIT") == "" {
		t.Skip()
	}
	k := debugKB(t)
	x, err := New(k)
	if err != nil {
		t.Fatal(err)
	}
	dev := FitData(t)
	for round := 0; round < 3; round++ {
		p, a := collect(x, k, dev)
		presentWeights = fitLogistic(p, presentWeights)
		absentWeights = fitLogistic(a, absentWeights)
		ll := 0.0
		for _, e := range p {
			z := 0.0
			for i := range e.v {
				z += presentWeights[i] * e.v[i]
			}
			q := 1 / (1 + math.Exp(-z))
			ll -= e.w * (e.y*math.Log(q+1e-12) + (1-e.y)*math.Log(1-q+1e-12))
		}
		fmt.Println("samples", len(p), len(a), "loss", ll/float64(len(p)))
	}
	names := []string{"bias", "cover", "dense", "whole", "heft", "order", "cross", "evidence", "clash", "mixed", "turned", "single", "square", "head", "least", "turnedHead", "pool", "headless", "exact", "hanging"}
	for n, w := range map[string][features]float64{"present": presentWeights, "absent": absentWeights} {
		fmt.Printf("%sWeights = [features]float64{", n)
		for i, v := range w {
			if i > 0 {
				fmt.Print(", ")
			}
			fmt.Printf("%s: %.2f", names[i], v)
		}
		fmt.Println("}")
	}
}

var bounds = map[int][2]float64{dense: {0.7, 3}, whole: {0.9, 3}, heft: {0.3, 2.5}, order: {0.2, 2}, cross: {-3, -1}, evidence: {0, 2.2}, clash: {-4, -1.2}, mixed: {-9, -2.5}, head: {0.5, 3}, least: {1.8, 3}, turned: {-9, -2.5}, turnedHead: {1, 2.6}, single: {-2, 0}, pool: {0, 3}, headless: {-4, -1.5}, exact: {1, 2}, hanging: {-3, -1}}
