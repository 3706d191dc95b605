package search

import (
	"cmp"
	"slices"
)

// A word is a keyword of a symptom when so many of its phrases use it, and this
// share of all phrases that use it are its own. Of danger fewer uses will do:
// to miss it costs more.
const (
	keywordUses       = 4
	keywordUsesDanger = 2
	keywordShare      = 0.7
)

// addKeywords gives each symptom one-word phrases of the words that are its
// own: "no smoke" denies smoke in whatever words its phrases tell of it.
func (x *Index) addKeywords() {
	bySymptom := make([][]int, len(x.symptoms))
	for i := range x.phrases {
		if p := &x.phrases[i]; p.symptom >= 0 && !p.absent {
			bySymptom[p.symptom] = append(bySymptom[p.symptom], i)
		}
	}
	for s, own := range bySymptom {
		var kept []int32
		for _, id := range x.keywordsOf(s, own) {
			if p, ok := x.keywordPhrase(id, own, kept); ok {
				kept = append(kept, id)
				x.weighPhrase(&p)
				x.phrases = append(x.phrases, p)
			}
		}
	}
}

// keywordsOf lists the terms that are mostly the symptom's own, the most used
// first.
func (x *Index) keywordsOf(symptom int, own []int) []int32 {
	need := keywordUses
	if x.symptoms[symptom].Danger != "" {
		need = keywordUsesDanger
	}
	uses := map[int32]int{}
	var ids []int32
	for _, i := range own {
		for _, t := range x.phrases[i].terms {
			if t.light || t.part || t.pole {
				continue
			}
			if uses[t.id]++; uses[t.id] == 1 {
				ids = append(ids, t.id)
			}
		}
	}
	ids = slices.DeleteFunc(ids, func(id int32) bool {
		return uses[id] < need || float64(uses[id]) < keywordShare*float64(x.positive[id])
	})
	slices.SortStableFunc(ids, func(a, b int32) int { return cmp.Compare(uses[b], uses[a]) })
	return ids
}

// keywordPhrase makes a phrase of one term, if some phrase says the matter with
// it and without the keywords before it: "plastic" only goes with "smell".
func (x *Index) keywordPhrase(id int32, own []int, kept []int32) (phrase, bool) {
	for _, i := range own {
		source := &x.phrases[i]
		if !source.has(id) || slices.ContainsFunc(kept, source.has) {
			continue
		}
		for _, t := range source.terms {
			if t.id == id && !t.sign {
				t.clause, t.half, t.aside = 0, 0, false
				return phrase{symptom: source.symptom, text: source.text, terms: []phraseTerm{t}, keyword: true}, true
			}
		}
	}
	return phrase{}, false
}
