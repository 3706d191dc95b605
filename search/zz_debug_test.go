package search

import (
	"fmt"
	"os"
	"strings"
	"testing"
)

func TestDebug(t *testing.T) {
	msgs := os.Getenv("MSG")
	if msgs == "" {
		t.Skip()
	}
	_, x := embedded(t)
	for _, m := range strings.Split(msgs, "|") {
		tx := x.lex.read(m)
		fmt.Printf("== %q\n", m)
		if os.Getenv("SHORT") == "" {
			for ci, c := range tx.clauses {
				fmt.Printf("  [%d hard=%v past=%v gone=%v hyp=%v foreign=%v joint=%s] ", ci, c.hard, c.past, c.gone, c.hypothetical, c.foreign, c.joint)
				for i := c.from; i < c.to; i++ {
					tk := &tx.tokens[i]
					s := tk.term
					if tk.sign() {
						s = "!" + s
					}
					if tk.part {
						s += "(p)"
					}
					if tk.cue {
						s = "<" + s + ">"
					}
					if tk.void {
						s = "~" + s
					}
					fmt.Printf("%s:%.1f ", s, x.tokenWeight(tk))
				}
				fmt.Println()
			}
		}
		s := x.Match(m)
		fmt.Printf("  kit=%s off=%v danger=%v tools=%v unclear=%v readings=%v\n", s.Kit, s.Offtopic, s.Danger, s.Tools, s.Unclear, len(s.Readings))
		for _, y := range s.Symptoms {
			fmt.Printf("     %v %v %.2f (%s)\n", y.ID, y.Present, y.Confidence, y.Phrase)
		}
		if os.Getenv("SHORT") == "" {
			for _, r := range x.Explain(m) {
				fmt.Printf("   %.2f %s %v | %s | %v | %s\n", r.Score, r.Symptom, r.Present, r.Phrase, r.Words, r.Against)
			}
		}
	}
}
