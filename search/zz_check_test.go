package search_test

import (
	"fmt"
	"testing"

	"triagebot/search"
)

func TestZCheck(t *testing.T) {
	k := looseKB(t)
	n := map[string]int{}
	for _, d := range search.Check(k) {
		n[d.Check]++
		fmt.Println(d.Check, d.Text)
	}
	fmt.Println(n)
}
