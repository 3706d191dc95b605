package mining

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
)

// Count is how many cases of a group were about one thing. By is what the
// group is made by: kit, month, distance or age.
type Count struct {
	Kind  Kind   `json:"kind"`
	ID    string `json:"id"`
	Kit   string `json:"kit"`
	By    string `json:"by"`
	Value string `json:"value"`
	Share        // of the cases of the group
}

// Rank is one bar of a Pareto diagram.
type Rank struct {
	Kind       Kind    `json:"kind"`
	ID         string  `json:"id"`
	N          int     `json:"n"`
	Share      float64 `json:"share"`
	Cumulative float64 `json:"cumulative"`
}

// kinds in the order in which they are reported.
var kinds = []Kind{Cases, Symptoms, Causes, Remedies, Parts}

// grid is the table of one kind: the things down, the kits across.
type grid struct {
	ids, kits []string
	n         [][]int
	gone      []bool   // whose total over all kits must not be shown
	hidden    [][]bool // by kit
	totals    []int
}

func (a *Aggregate) grid(kind Kind, o Options) grid {
	ids, kits := map[string]bool{}, map[string]bool{}
	for s := range a.series {
		kits[s.kit] = true
		if s.kind == kind {
			ids[s.id] = true
		}
	}
	g := grid{ids: slices.Sorted(maps.Keys(ids)), kits: slices.Sorted(maps.Keys(kits))}
	column := make([][]int, len(g.ids))
	for i, id := range g.ids {
		row := make([]int, len(g.kits))
		sum := 0
		for j, kit := range g.kits {
			if c := a.series[series{kind, id, kit}]; c != nil {
				row[j] = c.n
				sum += c.n
			}
		}
		g.n, g.totals, column[i] = append(g.n, row), append(g.totals, sum), []int{sum}
	}
	g.gone = make([]bool, len(g.ids))
	for i, h := range hide(column, nil, o.Least) {
		g.gone[i] = h[0]
	}
	g.hidden = hide(g.n, g.gone, o.Least)
	return g
}

// goneOf says whose total on one kit must not be shown.
func (g grid) goneOf(kit string, cases grid) []bool {
	gone, j := make([]bool, len(g.ids)), slices.Index(g.kits, kit)
	for i := range gone {
		gone[i] = g.hidden[i][j] || cases.hidden[0][j]
	}
	return gone
}

func (a *Aggregate) countsReport(o Options) ([]Count, []Rank) {
	list, pareto := []Count{}, []Rank{}
	cases := a.grid(Cases, o)
	for _, kind := range kinds {
		g := a.grid(kind, o)
		for i, id := range g.ids {
			if !g.gone[i] {
				list = append(list, Count{kind, id, All, "kit", All, o.plain(g.totals[i], a.n)})
			}
			for j, kit := range g.kits {
				c := Count{Kind: kind, ID: id, Kit: kitName(kit), By: "kit", Value: kitName(kit)}
				if g.n[i][j] > 0 && !g.hidden[i][j] && !cases.hidden[0][j] {
					c.Share = o.plain(g.n[i][j], cases.n[0][j])
				}
				if g.n[i][j] > 0 {
					list = append(list, c)
				}
			}
		}
		for _, kit := range g.kits {
			list = append(list, a.along(kind, g.ids, kit, g.goneOf(kit, cases), o)...)
		}
		if kind != Cases {
			pareto = append(pareto, g.pareto(kind, a.n)...)
		}
	}
	return list, pareto
}

// plain is a share whose cell was already found fit to be shown.
func (o Options) plain(x, n int) Share {
	o.Least = 1
	return o.share(x, n)
}

// facets are the ways in which the cases of a kit are cut up.
var facets = []struct {
	by    string
	cells func(*counts) map[int]int
	name  func(int) string
}{
	{"month", func(c *counts) map[int]int { return c.months }, monthName},
	{"distance", func(c *counts) map[int]int { return filled(c.distance[:]) }, func(i int) string { return bandName(distanceBands[:], i, "km") }},
	{"age", func(c *counts) map[int]int { return filled(c.age[:]) }, func(i int) string { return bandName(ageBands[:], i, "months") }},
}

func filled(bands []int) map[int]int {
	m := map[int]int{}
	for i, n := range bands {
		if n > 0 {
			m[i] = n
		}
	}
	return m
}

func bandName(bands []float64, i int, unit string) string {
	switch i {
	case 0:
		return "not known"
	case len(bands) - 1:
		return fmt.Sprintf("%g %s and more", bands[i-1], unit)
	}
	return fmt.Sprintf("%g to %g %s", bands[i-1], bands[i], unit)
}

// along cuts the cases of one kit up by month, distance and age.
func (a *Aggregate) along(kind Kind, ids []string, kit string, gone []bool, o Options) []Count {
	var list []Count
	all := a.series[series{Cases, "", kit}]
	if all == nil {
		return nil
	}
	for _, f := range facets {
		total := f.cells(all)
		values := slices.Sorted(maps.Keys(total))
		if f.by != "month" && len(values) == 1 && values[0] == 0 {
			continue // known of no case
		}
		table := make([][]int, len(ids))
		for i, id := range ids {
			table[i] = make([]int, len(values))
			if c := a.series[series{kind, id, kit}]; c != nil {
				cells := f.cells(c)
				for j, v := range values {
					table[i][j] = cells[v]
				}
			}
		}
		hidden := hide(table, gone, o.Least)
		groups := make([]int, len(values))
		for j, v := range values {
			groups[j] = total[v]
		}
		noGroup := hide([][]int{groups}, nil, o.Least)[0]
		for i, id := range ids {
			for j, v := range values {
				if table[i][j] == 0 {
					continue
				}
				c := Count{Kind: kind, ID: id, Kit: kitName(kit), By: f.by, Value: f.name(v)}
				// The share is of the group's cases, which must be fit to be seen too.
				if !hidden[i][j] && !noGroup[j] {
					c.Share = o.plain(table[i][j], total[v])
				}
				list = append(list, c)
			}
		}
	}
	return list
}

// pareto ranks over all kits; what is hidden comes last, as one.
func (g grid) pareto(kind Kind, cases int) []Rank {
	var list []Rank
	rest, sum := 0, 0
	for i, id := range g.ids {
		sum += g.totals[i]
		if g.gone[i] {
			rest += g.totals[i]
		} else {
			list = append(list, Rank{Kind: kind, ID: id, N: g.totals[i]})
		}
	}
	slices.SortStableFunc(list, func(x, y Rank) int { return cmp.Compare(y.N, x.N) })
	if rest > 0 {
		list = append(list, Rank{Kind: kind, ID: "(small groups)", N: rest})
	}
	before := 0
	for i := range list {
		before += list[i].N
		list[i].Share, list[i].Cumulative = float64(list[i].N)/float64(cases), float64(before)/float64(sum)
	}
	return list
}
