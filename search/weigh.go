package search

import (
	"math"
)

// What a term weighs by its kind, beside how rare it is.
const (
	lightWeight    = 0.15
	particleWeight = 0.5
	thingWeight    = 0.4
	numberWeight   = 0.4
	unknownWeight  = 2.0 // a word that no phrase has
	leastWeight    = 1.0 // of a word with a meaning of its own, however common
	loneParticle   = 2.5 // more, when it is all that is said: "the light is out"
	asideWeight    = 0.4 // of the words of a phrase that only lead up to it
)

// weigh gives each word its weight: the fewer symptoms speak with it, the more
// it says; and notes for which symptoms each term speaks.
func (x *Index) weigh() {
	terms, stems := map[string]map[int]int{}, map[string]map[int]int{}
	count := func(in map[string]map[int]int, name string, class int) {
		if in[name] == nil {
			in[name] = map[int]int{}
		}
		in[name][class]++
	}
	n := len(x.symptoms)
	for i := range x.phrases {
		p := &x.phrases[i]
		class := p.symptom
		if p.absent {
			// The opposite is another way of speaking, and is not counted for
			// the symptom itself.
			class += n
		}
		for _, t := range p.terms {
			count(terms, x.lex.names[t.id], class)
			count(stems, t.stem, class)
		}
	}
	rarity := func(classes map[int]int) float64 {
		users := map[int]bool{}
		for class := range classes {
			users[class%max(1, n)] = true
		}
		df := float64(len(users))
		return math.Log(1 + (float64(n)+2-df+0.5)/(df+0.5))
	}
	x.weights = map[string]float64{}
	for stem, classes := range stems {
		kind := x.lex.kindWeight(stem)
		x.weights[stem] = kind
		if kind > lightWeight {
			x.weights[stem] = kind * max(leastWeight, rarity(classes))
		}
	}
	x.affinity = make([][]linkage, len(x.lex.names))
	x.uses, x.positive = make([]int, len(x.lex.names)), make([]int, len(x.lex.names))
	for id, name := range x.lex.names {
		uses := 0
		for _, c := range terms[name] {
			uses += c
		}
		x.uses[id] = uses
		for class, c := range terms[name] {
			if class < n {
				x.positive[id] += c
			}
		}
		for s := range x.symptoms {
			if c := terms[name][s]; c > 0 {
				x.affinity[id] = append(x.affinity[id], linkage{int32(s), int32(c)})
			}
		}
	}
	for i := range x.phrases {
		x.weighPhrase(&x.phrases[i])
	}
}

// weighPhrase weighs the words of a phrase. Of two clauses joined by a
// contrast ("turns on but doesn't pull away") the one whose words speak less
// for the symptom only leads up to the other.
func (x *Index) weighPhrase(p *phrase) {
	var sum, own [2]float64
	for _, t := range p.terms {
		w := x.weights[t.stem]
		sum[t.half] += w
		if p.symptom >= 0 {
			own[t.half] += w * x.share(t.id, p.symptom)
		}
	}
	aside := -1
	if sum[0] > 0 && sum[1] > 0 && p.symptom >= 0 {
		aside = 0
		if own[0]/sum[0] > own[1]/sum[1] {
			aside = 1
		}
	}
	verbs := map[int]bool{} // clauses with more to say than particles
	for _, t := range p.terms {
		if t.says() && !t.particle {
			verbs[t.clause] = true
		}
	}
	yes, no := false, false
	for j := range p.terms {
		t := &p.terms[j]
		t.weight = x.weights[t.stem]
		if t.particle && !verbs[t.clause] {
			t.weight *= loneParticle
		}
		if t.half == aside {
			t.weight *= asideWeight
			t.aside = true
		}
		p.weight += t.weight
		if t.real() {
			p.real++
		}
		if t.part {
			p.partWeight += t.weight
		}
		if t.says() {
			p.head += t.weight
		}
		if !t.part && !t.light {
			yes, no = yes || !t.sign, no || t.sign
		}
	}
	p.mixed = yes && no
	p.single = len(p.terms) == 0 || p.terms[0].clause == p.terms[len(p.terms)-1].clause
}

// share is how much of a term's use belongs to a symptom.
func (x *Index) share(id int32, symptom int) float64 {
	for _, l := range x.affinity[id] {
		if int(l.symptom) == symptom {
			return float64(l.count) / float64(x.uses[id]+1)
		}
	}
	return 0
}

func (l *lexicon) kindWeight(term string) float64 {
	switch {
	case l.things[term]:
		return thingWeight
	case term == "#":
		return numberWeight
	case l.g.particles[term]:
		return particleWeight
	case l.g.light[term] || l.light[term]:
		return lightWeight
	}
	return 1
}
