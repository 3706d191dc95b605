package search

import (
	"fmt"
	"os"
	"strings"
	"testing"
	"triagebot/kb"
)

var debugKB func(t testing.TB) *kb.KB

func TestDebug(t *testing.T) {
	msgs := os.Getenv("MSG")
	if msgs == "" {
		t.Skip()
	}
	k := debugKB(t)
	x, err := New(k)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range strings.Split(msgs, "|") {
		tx := x.lex.read(m)
		fmt.Printf("== %q\n", m)
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
				if tk.subject {
					s += "(s)"
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
		said := x.Match(m)
		fmt.Printf("  SAID %+v\n", said)
		_, fs := x.match(m)
		for _, f := range fs {
			if f.conf < 0.2 {
				continue
			}
			id := "OFF"
			if f.symptom >= 0 {
				id = x.symptoms[f.symptom].ID
			}
			fmt.Printf("   %.2f %s present=%v cl=%d cover=%.2f dense=%.2f whole=%.2f heft=%.1f agree=%.2f clash=%v cross=%.2f | %s | %s\n", f.conf, id, f.present, f.clause, f.cover, f.dense, f.whole, f.heft, f.agree, f.clash, f.cross, x.phrases[f.phrase].text, f.why)
		}
	}
}

func SetDebugKB(f func(testing.TB) *kb.KB) { debugKB = f }
