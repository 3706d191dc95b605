package kb

import "slices"

// Likely finds the known word that a mistyped one was meant to be, or "". Two
// words that are equally near are parted by the alphabet.
func Likely(word string, known []string) string {
	best, limit := "", 2
	if len([]rune(word)) < 5 {
		limit = 1 // short words are all near each other
	}
	sorted := slices.Clone(known)
	slices.Sort(sorted)
	for _, k := range sorted {
		if d := distance(word, k, limit); d <= limit && k != word {
			best, limit = k, d-1
		}
	}
	return best
}

// distance counts the letters put in, left out, changed or swapped with their
// neighbour between two words (optimal string alignment). It gives up beyond
// limit and returns limit+1.
func distance(a, b string, limit int) int {
	x, y := []rune(a), []rune(b)
	if abs(len(x)-len(y)) > limit {
		return limit + 1
	}
	before, last, row := make([]int, len(y)+1), make([]int, len(y)+1), make([]int, len(y)+1)
	for j := range last {
		last[j] = j
	}
	for i := 1; i <= len(x); i++ {
		row[0] = i
		for j := 1; j <= len(y); j++ {
			change := 1
			if x[i-1] == y[j-1] {
				change = 0
			}
			row[j] = min(last[j]+1, row[j-1]+1, last[j-1]+change)
			if i > 1 && j > 1 && x[i-1] == y[j-2] && x[i-2] == y[j-1] {
				row[j] = min(row[j], before[j-2]+1)
			}
		}
		before, last, row = last, row, before
	}
	return min(last[len(y)], limit+1)
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}
