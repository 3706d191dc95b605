package search

import (
	"math"
	"strconv"

	"triagebot/kb"
	"triagebot/reading"
)

// checkPhrase is one way owners name what is measured.
type checkPhrase struct {
	check  *kb.Check
	words  []string
	weight float64
}

// checkNames are the ways owners name the checks that measure.
type checkNames struct {
	phrases []checkPhrase
	weights map[string]float64 // of a word: the fewer checks it names, the more
	numbers set                // numbers that are part of a name: "the 5 V line"
}

// A check is named when this share of one of its phrases stands near the
// number; a number without a unit needs more.
const (
	namesCheck     = 0.65
	namesCheckBare = 0.75
	sameNamed      = 0.08 // two checks named as well as each other: neither
	claimsCheck    = 5    // a pattern of so many terms knows better than a name
	maxReadings    = 16   // figures read in one message
	bareAnswer     = 4    // words of a message that may be nothing but a number
	fartherWord    = 0.5  // a part named with the number before
)

func (l *lexicon) checkNames(k *kb.KB) checkNames {
	n := checkNames{weights: map[string]float64{}, numbers: set{}}
	users := map[string]map[string]bool{}
	measures := 0
	for _, c := range k.Checks {
		if c.Kind != "measure" {
			continue
		}
		measures++
		for _, p := range append([]string{c.Name}, c.Phrases...) {
			words := l.literal(p)
			if len(words) == 0 {
				continue
			}
			n.phrases = append(n.phrases, checkPhrase{check: c, words: words})
			for _, w := range words {
				if users[w] == nil {
					users[w] = map[string]bool{}
				}
				users[w][c.ID] = true
				if hasDigit(w) {
					n.numbers[w] = true
				}
			}
		}
	}
	for w, ids := range users {
		n.weights[w] = math.Log(1 + float64(measures)/float64(len(ids)))
		if l.light[w] || l.g.measures[w] {
			n.weights[w] *= 0.15
		}
	}
	for i := range n.phrases {
		for _, w := range n.phrases[i].words {
			n.phrases[i].weight += n.weights[w]
		}
	}
	return n
}

// readingsIn finds the checks to which the numbers of a message belong.
func (x *Index) readingsIn(t *text, figures *figures) []Reading {
	var out []Reading
	for i := range figures.list {
		f := &figures.list[i]
		check := x.checkNear(t, figures, i)
		if !f.torn && (check == "" || f.terms >= claimsCheck) {
			for _, c := range x.kb.Checks {
				if c.ID == f.check && (f.Unit == "" || f.Unit == c.Unit) {
					check = c.ID
				}
			}
		}
		if f.torn {
			check = ""
		}
		if check != "" || f.torn || f.Unit != "" || f.Overload || len(t.tokens) <= bareAnswer {
			out = append(out, Reading{check, f.Quantity})
		}
	}
	return out
}

func overlaps(w word, q reading.Quantity) bool { return w.start < q.End && q.Start < w.end }

// isName reports whether a round number with its unit names something: "the
// 5 V line", "a 48 V bike", "5v at the plug is 4.98".
func (x *Index) isName(t *text, q reading.Quantity, all int) bool {
	if q.Unit == "" || q.Decimals != 0 || q.Ranged() {
		return false
	}
	last := -1
	for i := range t.tokens {
		if overlaps(t.tokens[i].word, q) {
			last = i
		}
	}
	if last >= 0 && last+1 < len(t.tokens) {
		if next := &t.tokens[last+1]; next.before == none && (next.part || x.lex.trade[next.stem]) {
			return true
		}
	}
	return all > 1 && x.checks.numbers[strconv.FormatFloat(q.Value, 'f', -1, 64)]
}

// checkNear finds the check whose name stands best about the number.
func (x *Index) checkNear(t *text, figures *figures, n int) string {
	q := figures.list[n].Quantity
	near := x.wordsNear(t, figures, n)
	var best *kb.Check
	bestScore, second := 0.0, 0.0
	for i := range x.checks.phrases {
		cp := &x.checks.phrases[i]
		if q.Unit != "" && cp.check.Unit != q.Unit {
			continue
		}
		var got float64
		for _, w := range cp.words {
			got += x.checks.weights[w] * near[w]
		}
		// Of two names that are there in full, the longer says more.
		s := got / cp.weight * (1 + 0.03*math.Min(got, 6))
		switch {
		case s > bestScore:
			if best != cp.check {
				second = bestScore
			}
			bestScore, best = s, cp.check
		case best != cp.check && s > second:
			second = s
		}
	}
	need := namesCheck
	if q.Unit == "" && !q.Overload {
		need = namesCheckBare
		if !x.measured(t, q) {
			return ""
		}
	}
	if best == nil || bestScore < need || bestScore-second < sameNamed {
		return ""
	}
	return best.ID
}

// wordsNear gives the words of a number's sentence with how near they are:
// fully its own and what is nobody's, less a part named with a number before.
func (x *Index) wordsNear(t *text, figures *figures, n int) map[string]float64 {
	self := figures.list[n].token
	from, to := self, self+1
	for from > 0 && t.tokens[from].before != stop {
		from--
	}
	for to < len(t.tokens) && to-self < 10 && t.tokens[to].before == none && !(n+1 < len(figures.list) && x.lex.g.joints[t.tokens[to].text]) {
		to++
	}
	near := map[string]float64{}
	for i := from; i < to; i++ {
		tok := &t.tokens[i]
		if tok.void || overlaps(tok.word, figures.list[n].Quantity) || !figures.reachable(t, n, i) {
			continue
		}
		count := 1.0
		if figures.groups[i] != n && figures.groups[i] != noFigure {
			count = fartherWord
		}
		w := tok.literal()
		near[w] = max(near[w], count)
	}
	return near
}

func (x *Index) tokenOf(t *text, q reading.Quantity) int {
	for i := range t.tokens {
		if overlaps(t.tokens[i].word, q) {
			return i
		}
	}
	return 0
}

// measured reports whether a verb such as "reads" leads to the number, or a
// word that names a check: "pack volts 52", but not "absolutely zero".
func (x *Index) measured(t *text, q reading.Quantity) bool {
	i := x.tokenOf(t, q)
	for j := i - 1; j >= 0 && j >= i-3; j-- {
		w := t.tokens[j].text
		if x.lex.g.measures[w] || j == i-1 && x.checks.weights[t.tokens[j].literal()] > 1 {
			return true
		}
	}
	return false
}
