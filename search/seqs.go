package search

import "strings"

// seqs finds runs of words. A word of the pattern that ends with * stands for
// any ending.
type seqs map[string][]seq // by the first word, or the first word's stem with *

type seq struct {
	words []string
	to    string
}

func newSeqs(patterns []string) seqs {
	s := seqs{}
	for _, p := range patterns {
		s.add(p, "")
	}
	return s
}

func (s seqs) add(pattern, to string) {
	words := strings.Fields(strings.ReplaceAll(pattern, "'", ""))
	if len(words) == 0 {
		return
	}
	key := words[0]
	if strings.HasSuffix(key, "*") {
		key = firstLetters(key)
	}
	list := append(s[key], seq{words, to})
	// The longest first, so that "not just" is found before "not".
	for i := len(list) - 1; i > 0 && len(list[i].words) > len(list[i-1].words); i-- {
		list[i], list[i-1] = list[i-1], list[i]
	}
	s[key] = list
}

// firstLetters is the key of a pattern whose first word is open-ended.
func firstLetters(w string) string {
	if len(w) < 4 {
		return w + "*"
	}
	return w[:3] + "*"
}

// at finds the longest run that begins at word i and says how many words it has.
func (s seqs) at(words func(int) string, i, n int) (seq, int) {
	first := words(i)
	if len(s) == 0 || first == "" {
		return seq{}, 0
	}
	best, size := seq{}, 0
	for _, key := range [2]string{first, firstLetters(first)} {
		for _, q := range s[key] {
			if len(q.words) <= size || i+len(q.words) > n {
				continue
			}
			if fits(q.words, words, i) {
				best, size = q, len(q.words)
			}
		}
	}
	return best, size
}

func fits(pattern []string, words func(int) string, i int) bool {
	for j, p := range pattern {
		w := words(i + j)
		if stem, open := strings.CutSuffix(p, "*"); open {
			if !strings.HasPrefix(w, stem) {
				return false
			}
		} else if p != w {
			return false
		}
	}
	return true
}
