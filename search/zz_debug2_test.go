package search_test

import (
	"testing"

	"triagebot/search"
)

func init() {
	search.SetDebugKB(looseKB)
	search.FitFollows = follows
	search.FitData = func(t testing.TB) []search.Labelled {
		var out []search.Labelled
		for _, l := range readLabelled(t, "testdata/dev.txt") {
			out = append(out, search.Labelled{Text: l.text, Want: l.want, Open: l.open})
		}
		return out
	}
}
