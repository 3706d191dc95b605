package search

import (
	"bufio"
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/kb"
)

// labelled is one line of testdata: what a careful reader takes the message to say.
type labelled struct {
	text    string
	want    map[string]bool // id -> present
	open    map[string]bool // ids that may be understood or not, "+id" or "-id"
	kit     string
	off     bool
	openOff bool
}

// readLabelled reads "text | id -id ?id kit=.. off".
func readLabelled(t testing.TB, path string) []labelled {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	var out []labelled
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		text, marks, ok := strings.Cut(lines.Text(), "|")
		if !ok {
			continue
		}
		l := labelled{text: strings.TrimSpace(text), want: map[string]bool{}, open: map[string]bool{}}
		for _, m := range strings.Fields(marks) {
			switch {
			case m == "off":
				l.off = true
			case m == "?off":
				l.openOff = true
			case strings.HasPrefix(m, "kit="):
				l.kit = m[4:]
			case strings.HasPrefix(m, "?-"):
				l.open["-"+m[2:]] = true
			case strings.HasPrefix(m, "?"):
				l.open["+"+m[1:]] = true
			case strings.HasPrefix(m, "-"):
				l.want[m[1:]] = false
			default:
				l.want[m] = true
			}
		}
		out = append(out, l)
	}
	require.NoError(t, lines.Err())
	return out
}

// tally counts what was right, too much and missing.
type tally struct{ right, extra, missing int }

func (c tally) f1() float64 {
	if c.right == 0 {
		return 0
	}
	return 2 * float64(c.right) / float64(2*c.right+c.extra+c.missing)
}

func (c tally) String() string {
	p := float64(c.right) / float64(max(1, c.right+c.extra))
	r := float64(c.right) / float64(max(1, c.right+c.missing))
	return fmt.Sprintf("precision %.3f recall %.3f F1 %.3f (%d right, %d extra, %d missing)", p, r, c.f1(), c.right, c.extra, c.missing)
}

type quality struct {
	present, absent, danger, off tally
	kitsRight, kits              int
	bins                         [10]struct{ right, all int } // by confidence
	wrong                        []string
}

func measure(x *Index, k *kb.KB, lines []labelled) *quality {
	q := &quality{}
	danger := map[string]bool{}
	for _, s := range k.Symptoms {
		danger[s.ID] = s.Danger != ""
	}
	for _, l := range lines {
		said := x.Match(l.text)
		var notes []string
		seen := map[string]bool{}
		for _, s := range said.Symptoms {
			want, asked := l.want[s.ID]
			tl, mark := &q.present, "+"
			if !s.Present {
				tl, mark = &q.absent, "-"
			}
			right := asked && want == s.Present
			if !right && l.isOpen(k, s.ID, s.Present) {
				continue
			}
			seen[mark+s.ID] = true
			bin := &q.bins[min(9, int(s.Confidence*10))]
			bin.all++
			if right {
				tl.right++
				bin.right++
				if s.Present && danger[s.ID] {
					q.danger.right++
				}
				continue
			}
			tl.extra++
			if s.Present && danger[s.ID] {
				q.danger.extra++
			}
			notes = append(notes, fmt.Sprintf("extra %s%s %.2f (%s)", mark, s.ID, s.Confidence, s.Phrase))
		}
		ids := make([]string, 0, len(l.want))
		for id := range l.want {
			ids = append(ids, id)
		}
		slices.Sort(ids)
		for _, id := range ids {
			tl, mark := &q.present, "+"
			if !l.want[id] {
				tl, mark = &q.absent, "-"
			}
			if !seen[mark+id] {
				tl.missing++
				if l.want[id] && danger[id] {
					q.danger.missing++
				}
				notes = append(notes, "missing "+mark+id)
			}
		}
		if !l.openOff {
			switch {
			case l.off && said.Offtopic:
				q.off.right++
			case l.off:
				q.off.missing++
				notes = append(notes, "should be off topic")
			case said.Offtopic:
				q.off.extra++
				notes = append(notes, "should not be off topic")
			}
		}
		if l.kit != "" {
			q.kits++
			if said.Kit == l.kit {
				q.kitsRight++
			} else {
				notes = append(notes, "kit "+said.Kit)
			}
		} else if said.Kit != "" {
			notes = append(notes, "extra kit "+said.Kit)
		}
		if len(notes) > 0 {
			q.wrong = append(q.wrong, fmt.Sprintf("%q: %s", l.text, strings.Join(notes, "; ")))
		}
	}
	return q
}

// isOpen reports whether a finding that is not asked for is no mistake either.
func (l *labelled) isOpen(k *kb.KB, id string, present bool) bool {
	if present {
		return l.open["+"+id]
	}
	return l.open["-"+id] || follows(k, l.want, id)
}

// follows reports whether an absent symptom follows by the knowledge base from
// what the message says to be present.
func follows(k *kb.KB, want map[string]bool, id string) bool {
	for _, s := range k.Symptoms {
		for _, e := range s.Excludes {
			if s.ID == id && want[e] || e == id && want[s.ID] {
				return true
			}
		}
	}
	return false
}

func (q *quality) report(t *testing.T, name string, list bool) {
	t.Logf("%s: present  %v", name, q.present)
	t.Logf("%s: absent   %v", name, q.absent)
	t.Logf("%s: danger   %v", name, q.danger)
	t.Logf("%s: offtopic %v", name, q.off)
	t.Logf("%s: kits %d of %d", name, q.kitsRight, q.kits)
	for i, b := range q.bins {
		if b.all > 0 {
			t.Logf("%s: confidence %.1f-%.1f: %d of %d right", name, float64(i)/10, float64(i+1)/10, b.right, b.all)
		}
	}
	if list {
		for _, w := range q.wrong {
			t.Log(w)
		}
	}
}

func embeddedKB(t testing.TB) *kb.KB {
	t.Helper()
	k, found := kb.Load(kb.Embedded())
	require.False(t, kb.HasErrors(found), "%v", found)
	require.NotEmpty(t, k.Symptoms)
	return k
}

func embedded(t testing.TB) (*kb.KB, *Index) {
	t.Helper()
	k := embeddedKB(t)
	x, err := New(k)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, x.Close()) })
	return k, x
}

// The first two thirds of the messages were written from the trade's list of
// symptoms before any phrase was known, and parted by line: every third went to
// heldout.txt, on which nothing was tuned and whose errors are not listed. More
// were added to dev.txt later; owners.txt, wordings.txt and talks.txt were each
// written without a look at the patterns, measured once, and then tuned on. The floors are a little below what was measured
// when they were set, so that a change that costs understanding is seen.
func TestQuality(t *testing.T) {
	k, x := embedded(t)
	dev := measure(x, k, readLabelled(t, "testdata/dev.txt"))
	dev.report(t, "dev", true)
	owners := measure(x, k, readLabelled(t, "testdata/owners.txt"))
	owners.report(t, "owners", true)
	wordings := measure(x, k, readLabelled(t, "testdata/wordings.txt"))
	wordings.report(t, "wordings", true)
	talks := measure(x, k, readLabelled(t, "testdata/talks.txt"))
	talks.report(t, "talks", true)
	held := measure(x, k, readLabelled(t, "testdata/heldout.txt"))
	held.report(t, "held out", false)
	assert.GreaterOrEqual(t, dev.present.f1(), 0.94)
	assert.GreaterOrEqual(t, dev.absent.f1(), 0.93)
	assert.GreaterOrEqual(t, dev.danger.f1(), 0.94)
	assert.GreaterOrEqual(t, dev.off.f1(), 0.90)
	assert.GreaterOrEqual(t, owners.present.f1(), 0.95)
	assert.GreaterOrEqual(t, wordings.present.f1(), 0.95)
	assert.GreaterOrEqual(t, talks.present.f1(), 0.92)
	assert.GreaterOrEqual(t, held.present.f1(), 0.89)
	assert.GreaterOrEqual(t, held.danger.f1(), 0.93)
}

// Every phrase must find its own symptom.
func TestPhrasesFindThemselves(t *testing.T) {
	k, _ := embedded(t)
	lost := 0
	for _, d := range Check(k) {
		t.Log(d)
		if d.Check != "phrase-twice" {
			lost++
		}
	}
	phrases := 0
	for _, s := range k.Symptoms {
		phrases += len(s.Phrases) + len(s.Absent)
	}
	assert.Zero(t, lost, "of %d phrases", phrases)
}
