package mining

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
)

// WordingFound is what people say that no rule knows.
type WordingFound struct {
	Distinct int     `json:"distinct"` // different sets of words
	LeftOut  int     `json:"left_out"` // cases beyond what was kept
	Small    int     `json:"small"`    // cases in groups too small to show
	Groups   []Words `json:"groups"`
}

// Words is a group of wordings that are alike.
type Words struct {
	N       int     `json:"n"`
	Text    string  `json:"text"`               // the most frequent, without words that say nothing
	Pattern string  `json:"pattern"`            // the words they share, in its order
	Symptom string  `json:"symptom,omitempty"`  // what most of these owners turned out to mean
	Meant   float64 `json:"meant,omitempty"`    // the share that did, or more
	AtLeast bool    `json:"at_least,omitempty"` // more: those who did not are a small group
}

// alike is the share of words in common (Jaccard) from which two wordings
// belong together, and agreed the share of owners that must have meant the
// symptom before a phrase is proposed for it.
const (
	alike  = 0.5
	agreed = 0.6
)

type wordGroup struct {
	set      map[string]bool // of the leader
	text     string
	shared   map[string]bool
	n        int
	symptoms map[string]int
}

// wordingReport groups by leaders: the most frequent wording leads, the next
// joins the first leader that it is alike enough to, or leads a group of its
// own.
func (a *Aggregate) wordingReport(o Options) WordingFound {
	r := WordingFound{Distinct: len(a.wording), LeftOut: a.leftOut, Groups: []Words{}}
	keys := slices.SortedFunc(maps.Keys(a.wording), func(x, y string) int {
		return cmp.Or(cmp.Compare(a.wording[y].n, a.wording[x].n), cmp.Compare(x, y))
	})
	usual := map[string]float64{} // share of all cases with a symptom
	for s, c := range a.series {
		if s.kind == Symptoms {
			usual[s.id] += float64(c.n) / float64(a.n)
		}
	}
	var groups []*wordGroup
	with := map[string][]int{} // word -> groups whose leader has it, ascending
	for _, key := range keys {
		w, list := a.wording[key], strings.Fields(key)
		g := join(groups, with, list)
		if g == nil {
			g = &wordGroup{set: map[string]bool{}, shared: map[string]bool{}, text: w.text, symptoms: map[string]int{}}
			for _, x := range list {
				g.set[x], g.shared[x] = true, true
				with[x] = append(with[x], len(groups))
			}
			groups = append(groups, g)
		}
		g.n += w.n
		sumInto(g.symptoms, w.symptoms)
		maps.DeleteFunc(g.shared, func(x string, _ bool) bool { return !slices.Contains(list, x) })
	}
	for _, g := range groups {
		if g.n < o.Least {
			r.Small += g.n
			continue
		}
		r.Groups = append(r.Groups, g.words(o, usual))
	}
	slices.SortStableFunc(r.Groups, func(x, y Words) int { return cmp.Compare(y.N, x.N) })
	return r
}

func join(groups []*wordGroup, with map[string][]int, list []string) *wordGroup {
	common := map[int]int{}
	for _, x := range list {
		for _, i := range with[x] {
			common[i]++
		}
	}
	for _, i := range slices.Sorted(maps.Keys(common)) {
		union := len(groups[i].set) + len(list) - common[i]
		if float64(common[i]) >= alike*float64(union) {
			return groups[i]
		}
	}
	return nil
}

// words takes for what was meant the symptom that these owners have more often
// than others, by the difference of the shares: what most owners have anyway is
// not what these words say.
func (g *wordGroup) words(o Options, usual map[string]float64) Words {
	w := Words{N: g.n, Text: g.text}
	var shared []string
	for _, x := range strings.Fields(g.text) {
		if g.shared[x] && !slices.Contains(shared, x) {
			shared = append(shared, x)
		}
	}
	if len(shared) < 2 {
		shared = strings.Fields(g.text) // one word alone would catch too much
	}
	w.Pattern = strings.Join(shared, " ")
	best, lead := 0, 0.0
	for _, s := range slices.Sorted(maps.Keys(g.symptoms)) {
		n := g.symptoms[s]
		if more := float64(n)/float64(g.n) - usual[s]; more > lead {
			best, lead, w.Symptom = n, more, s
		}
	}
	switch {
	case best == 0 || best < o.Least:
		w.Symptom = ""
	case showable(best, g.n, o.Least):
		w.Meant = float64(best) / float64(g.n)
	default:
		w.Meant, w.AtLeast = float64(g.n-o.Least)/float64(g.n), true
	}
	return w
}

// WritePatch proposes the phrases to add, as a file that can be laid into the
// folder of a knowledge base as it is: the section words of kb/FORMAT.md, with
// patterns under told. A group is proposed where most of its owners turned out
// to mean one symptom and at least two words are shared; the others are listed
// as comments, for somebody to read.
func (r *Report) WritePatch(w io.Writer) error {
	told := map[string][]Words{}
	var b, rest strings.Builder
	for _, g := range r.Wording.Groups {
		if g.Symptom != "" && g.Meant >= agreed && strings.Contains(g.Pattern, " ") {
			told[g.Symptom] = append(told[g.Symptom], g)
		} else {
			fmt.Fprintf(&rest, "# %d owners: %q: no symptom that most of them meant\n", g.N, g.Text)
		}
	}
	if r.Demo {
		b.WriteString("# DEMO: these owners and their words are invented.\n")
	}
	fmt.Fprintf(&b, "# Wording that matched nothing in %d cases, %s to %s, groups of %d and more. Read each line before use, then: triagebot check\n", r.Cases, r.From, r.To, r.Least)
	if len(told) > 0 {
		b.WriteString("words:\n  told:\n")
	}
	for _, s := range slices.Sorted(maps.Keys(told)) {
		fmt.Fprintf(&b, "    %s:\n", s)
		for _, g := range told[s] {
			fmt.Fprintf(&b, "      - %q # %d owners, %s of them meant this\n", g.Pattern, g.N, g.meant())
		}
	}
	b.WriteString(rest.String())
	_, err := io.WriteString(w, b.String())
	return err
}

func (w Words) meant() string {
	if w.AtLeast {
		return fmt.Sprintf("at least %.0f %%", 100*w.Meant)
	}
	return fmt.Sprintf("%.0f %%", 100*w.Meant)
}
