package search

import (
	"slices"
	"strings"
	"unicode/utf8"
)

// speller mends words towards the vocabulary of the trade. It leaves common
// English words alone, so that "hose" does not become "horn".
type speller struct {
	known    map[string]int      // vocabulary -> how often it is used
	given    map[string][]string // wrong -> right, from the knowledge base
	byCut    map[string][]string // vocabulary by its forms with one letter left out
	compound map[string][2]string
	longest  int
	alone    set // words of one letter
	common   func(string) bool
}

// The shortest words that are mended, and those of which two slips are mended.
const (
	mendFrom  = 4
	mendTwice = 6
)

func newSpeller(known map[string]int, given map[string]string, in tongue) *speller {
	s := &speller{common: in.isCommon, known: known, given: map[string][]string{}, byCut: map[string][]string{}, compound: map[string][2]string{}}
	for wrong, right := range given {
		s.given[in.plain(wrong)] = strings.Fields(in.plain(right))
	}
	words := make([]string, 0, len(known))
	for w := range known {
		words = append(words, w)
	}
	slices.Sort(words)
	for _, w := range words {
		s.longest = max(s.longest, len(w))
		if len(w) < mendFrom-1 {
			continue
		}
		s.byCut[w] = append(s.byCut[w], w)
		for _, c := range cuts(w) {
			s.byCut[c] = append(s.byCut[c], w)
		}
	}
	return s
}

// cuts are the forms of w with one letter left out.
func cuts(w string) []string {
	var out []string
	for i, r := range w {
		c := w[:i] + w[i+utf8.RuneLen(r):]
		if len(out) == 0 || out[len(out)-1] != c {
			out = append(out, c)
		}
	}
	return out
}

// mend puts the spelling of words right, and joins and splits them where that
// gives words of the trade.
func (s *speller) mend(in []word) []word {
	out := make([]word, 0, len(in))
	for i := 0; i < len(in); i++ {
		w := in[i]
		if right, ok := s.given[w.text]; ok {
			out = appendWords(out, w, right...)
			continue
		}
		if i+1 < len(in) && in[i+1].before == none && s.joins(w.text, in[i+1].text) {
			w.text += in[i+1].text
			w.end = in[i+1].end
			out = append(out, w)
			i++
			continue
		}
		if s.isWord(w.text) || hasDigit(w.text) {
			out = append(out, w)
			continue
		}
		if to, ok := s.nearest(w.text); ok {
			out = appendWords(out, w, to)
		} else if parts := s.parts(w.text); parts != nil {
			out = appendWords(out, w, parts...)
		} else {
			out = append(out, w)
		}
	}
	return out
}

func appendWords(out []word, w word, texts ...string) []word {
	for i, t := range texts {
		w.text = t
		if i > 0 {
			w.before = none
		}
		out = append(out, w)
	}
	return out
}

func (s *speller) isWord(w string) bool { return s.known[w] > 0 || s.common(w) }

// joins reports whether two written words are one word of the trade torn
// apart: together they are known, and one of them alone is not a word.
func (s *speller) joins(a, b string) bool {
	if len(a)+len(b) < mendFrom+1 || len(a)+len(b) > s.longest || s.known[a+b] == 0 {
		return false
	}
	return !s.isWord(a) || !s.isWord(b) || s.known[a] == 0 && s.known[b] == 0
}

// nearest finds the one word of the trade that w most likely was to be.
func (s *speller) nearest(w string) (string, bool) {
	n := utf8.RuneCountInString(w)
	if n < mendFrom || len(w) > s.longest+2 {
		return "", false
	}
	limit := 1
	if n >= mendTwice {
		limit = 2
	}
	best, bestDistance, tie := "", limit+1, false
	consider := func(forms []string) {
		for _, v := range forms {
			if v == best {
				continue
			}
			d := distance(w, v, bestDistance)
			if w[0] != v[0] {
				d++ // people seldom miss the first letter
			}
			if d > limit || d > bestDistance {
				continue
			}
			if d == bestDistance && best != "" {
				switch better := s.likelier(w, v, best); {
				case better == 0:
					tie = true
					continue
				case better < 0:
					continue
				}
			}
			best, bestDistance, tie = v, d, false
		}
	}
	consider(s.byCut[w])
	for _, c := range cuts(w) {
		consider(s.byCut[c])
		if limit == 2 {
			for _, cc := range cuts(c) {
				consider(s.byCut[cc])
			}
		}
	}
	return best, best != "" && !tie
}

// likelier compares two words as near to w as each other: the one that ends
// like w, then the one used more; 0 when neither is.
func (s *speller) likelier(w, a, b string) int {
	if endA, endB := a[len(a)-1] == w[len(w)-1], b[len(b)-1] == w[len(w)-1]; endA != endB {
		if endA {
			return 1
		}
		return -1
	}
	return s.known[a] - s.known[b]
}

// parts splits a word that was written together: all parts must be words, and
// one of them of the trade.
func (s *speller) parts(w string) []string {
	if len(w) < 6 || len(w) > 40 {
		return nil
	}
	// from[i] is where the last word of the best split of w[:i] begins; fewer
	// and so longer words are better.
	type best struct{ from, count int }
	at := make([]best, len(w)+1)
	for i := 1; i <= len(w); i++ {
		at[i] = best{-1, 1 << 20}
		for j := max(0, i-s.longest); j < i; j++ {
			if j > 0 && at[j].from < 0 {
				continue
			}
			piece := w[j:i]
			if len(piece) < 2 && !s.alone[piece] || s.known[piece] == 0 && !(len(piece) >= 3 && s.common(piece)) {
				continue
			}
			if c := at[j].count + 1; c < at[i].count {
				at[i] = best{j, c}
			}
		}
	}
	if at[len(w)].from < 0 || at[len(w)].count > 6 {
		return nil
	}
	var out []string
	trade := false
	for i := len(w); i > 0; i = at[i].from {
		piece := w[at[i].from:i]
		trade = trade || len(piece) >= 4 && s.known[piece] > 0
		out = append(out, piece)
	}
	slices.Reverse(out)
	if !trade {
		return nil
	}
	return out
}

func hasDigit(s string) bool { return strings.ContainsAny(s, "0123456789") }

// distance counts the slips between a and b: a letter too many, too few,
// wrong, or two neighbours changed about. Above limit it stops counting.
func distance(a, b string, limit int) int {
	if d := len(a) - len(b); d > limit || -d > limit {
		return limit + 1
	}
	x, y := []rune(a), []rune(b)
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			cost := 1
			if x[i-1] == y[j-1] {
				cost = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+cost)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return last[len(y)]
}
