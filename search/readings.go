package search

import (
	"triagebot/kb"
	"triagebot/reading"
)

// checkPhrase is one way owners name what is measured.
type checkPhrase struct {
	check  *kb.Check
	words  []string
	light  []bool
	weight float64
}

// A check is named when this share of one of its phrases stands near the
// number; a number without a unit needs more.
const (
	namesCheck     = 0.65
	namesCheckBare = 0.8
	sameNamed      = 0.08 // two checks named as well as each other: neither
)

func (l *lexicon) checkPhrases(k *kb.KB) []checkPhrase {
	var out []checkPhrase
	for _, c := range k.Checks {
		if c.Kind != "measure" {
			continue
		}
		for _, p := range append([]string{c.Name}, c.Phrases...) {
			cp := checkPhrase{check: c}
			for _, w := range l.literal(p) {
				light := l.light[w]
				cp.words, cp.light = append(cp.words, w), append(cp.light, light)
				cp.weight += nameWeight(light)
			}
			if cp.weight > 0 {
				out = append(out, cp)
			}
		}
	}
	return out
}

func nameWeight(light bool) float64 {
	if light {
		return 0.2
	}
	return 1
}

// readingsIn finds the numbers in a message and the checks they belong to.
func (x *Index) readingsIn(message string, t *text) []Reading {
	quantities := reading.Find(message)
	if len(quantities) == 0 {
		return nil
	}
	var out []Reading
	partOfName := make([]bool, len(quantities))
	checks := make([]string, len(quantities))
	for i, q := range quantities {
		check, words := x.checkNear(t, q, quantities, i)
		checks[i] = check
		for j, other := range quantities {
			for _, w := range words {
				if i != j && overlaps(t.tokens[w].word, other) {
					partOfName[j] = true
				}
			}
		}
	}
	for i, q := range quantities {
		if !partOfName[i] && (checks[i] != "" || q.Unit != "" || q.Overload || len(quantities) == 1) {
			out = append(out, Reading{checks[i], q})
		}
	}
	return out
}

func overlaps(w word, q reading.Quantity) bool { return w.start < q.End && q.Start < w.end }

// checkNear finds the check whose name stands best in the clause of the
// number, and the tokens that name it.
func (x *Index) checkNear(t *text, q reading.Quantity, all []reading.Quantity, at int) (string, []int) {
	from, to := x.nearNumber(t, q, all, at)
	bestScore, second := 0.0, 0.0
	var best *kb.Check
	var bestWords []int
	for i := range x.checks {
		cp := &x.checks[i]
		if q.Unit != "" && cp.check.Unit != q.Unit {
			continue
		}
		s, words := x.laysOn(cp, t, from, to, q)
		switch {
		case s > bestScore:
			if best != cp.check {
				second = bestScore
			}
			bestScore, best, bestWords = s, cp.check, words
		case best != cp.check && s > second:
			second = s
		}
	}
	need := namesCheck
	if q.Unit == "" {
		need = namesCheckBare
	}
	if best == nil || bestScore < need || bestScore-second < sameNamed {
		return "", nil
	}
	return best.ID, bestWords
}

// nearNumber gives the tokens between the numbers on both sides, within the
// sentence: "5v at the plug is 4.98, signal 0.8".
func (x *Index) nearNumber(t *text, q reading.Quantity, all []reading.Quantity, at int) (from, to int) {
	self := 0
	for i := range t.tokens {
		if overlaps(t.tokens[i].word, q) {
			self = i
			break
		}
	}
	from, to = self, self
	for from > 0 && self-from < 10 && t.tokens[from].before != stop {
		from--
	}
	for to < len(t.tokens) && to-self < 8 && (to == self || t.tokens[to].before == none) {
		to++
	}
	return from, to
}

// laysOn scores how much of a check's name stands in the tokens. A longer name
// beats a shorter one that fits as well.
func (x *Index) laysOn(cp *checkPhrase, t *text, from, to int, q reading.Quantity) (float64, []int) {
	var got float64
	var words []int
	for i, w := range cp.words {
		for j := from; j < to; j++ {
			tok := &t.tokens[j]
			if tok.void || overlaps(tok.word, q) || x.lex.literalWord(tok.text) != w {
				continue
			}
			got += nameWeight(cp.light[i])
			if !cp.light[i] {
				words = append(words, j)
			}
			break
		}
	}
	share := got / cp.weight
	return share + 0.04*min(got, 5)*share, words
}
