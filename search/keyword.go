package search

// A word is a keyword of a symptom when so many of its phrases use it, and this
// share of all phrases that use it are its own.
// Of danger fewer uses will do: to miss it costs more.
const (
	keywordUses       = 4
	keywordUsesDanger = 3
	keywordShare      = 0.7
)

// addKeywords gives each symptom one-word phrases of the words that are its
// own: "no smoke" denies smoke in whatever words its phrases tell of it.
func (x *Index) addKeywords() {
	first := map[int32]map[int]int{} // term, symptom -> phrase that uses it first
	for i := range x.phrases {
		p := &x.phrases[i]
		if p.symptom < 0 || p.absent {
			continue
		}
		for _, t := range p.terms {
			if t.light || t.part || t.pole {
				continue
			}
			if first[t.id] == nil {
				first[t.id] = map[int]int{}
			}
			if _, ok := first[t.id][p.symptom]; !ok {
				first[t.id][p.symptom] = i
			}
		}
	}
	for id := range x.affinity {
		for _, l := range x.affinity[id] {
			from, ok := first[int32(id)][int(l.symptom)]
			if !ok || l.count < x.keywordUses(int(l.symptom)) || float64(l.count) < keywordShare*float64(x.positive[id]) {
				continue
			}
			source := x.phrases[from]
			for _, t := range source.terms {
				if t.id == int32(id) && !t.sign {
					t.clause, t.half, t.aside = 0, 0, false
					p := phrase{symptom: source.symptom, text: source.text, nth: source.nth, terms: []phraseTerm{t}, keyword: true}
					x.weighPhrase(&p)
					x.phrases = append(x.phrases, p)
					break
				}
			}
		}
	}
}

func (x *Index) keywordUses(symptom int) int32 {
	if x.symptoms[symptom].Danger != "" {
		return keywordUsesDanger
	}
	return keywordUses
}
