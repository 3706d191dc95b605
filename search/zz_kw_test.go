package search

import (
	"fmt"
	"testing"
)

func TestKW(t *testing.T) {
	k := debugKB(t)
	x, _ := New(k)
	for _, p := range x.phrases {
		if p.keyword {
			fmt.Print(x.symptoms[p.symptom].ID, " ", p.terms[0].stem, "; ")
		}
	}
	fmt.Println()
}
