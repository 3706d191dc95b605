package mining

import (
	"cmp"
	"maps"
	"slices"
)

// Unused are rules that no case used. With few cases that says little.
type Unused struct {
	Symptoms []string `json:"symptoms"` // never said nor chosen
	Checks   []string `json:"checks"`   // never asked
	Causes   []string `json:"causes"`   // never a suspect, nor confirmed
	Remedies []string `json:"remedies"` // never the one that mended
}

func (a *Aggregate) unused(o Options) Unused {
	u := Unused{[]string{}, []string{}, []string{}, []string{}}
	if o.KB == nil {
		return u
	}
	used := map[Kind]map[string]bool{Symptoms: {}, Causes: {}, Remedies: {}}
	for s := range a.series {
		if used[s.kind] != nil {
			used[s.kind][s.id] = true
		}
	}
	asked := map[string]bool{}
	for k := range a.checks {
		asked[k.check] = true
	}
	for _, s := range o.KB.Symptoms {
		if !used[Symptoms][s.ID] {
			u.Symptoms = append(u.Symptoms, s.ID)
		}
	}
	for _, c := range o.KB.Checks {
		if !asked[c.ID] {
			u.Checks = append(u.Checks, c.ID)
		}
	}
	for _, c := range o.KB.Causes {
		if !used[Causes][c.ID] && a.suspects[c.ID] == 0 {
			u.Causes = append(u.Causes, c.ID)
		}
	}
	for _, r := range o.KB.Remedies {
		if !used[Remedies][r.ID] {
			u.Remedies = append(u.Remedies, r.ID)
		}
	}
	return u
}

// Misled is how often naming a cause was wrong, over all kits.
type Misled struct {
	Named string `json:"named"`
	Wrong Share  `json:"wrong"`
	Twins int    `json:"twins"` // how many other confirmed causes are twins of it by the rules
}

// Confused is one cell of the confusion table that may be shown.
type Confused struct {
	Named     string `json:"named"`
	Confirmed string `json:"confirmed"`
	N         int    `json:"n"`
	SameMend  bool   `json:"same_mend"` // both have the same remedy: a wrong name, but no wrong part
}

func (a *Aggregate) confusionReport(o Options) ([]Misled, []Confused) {
	misled, confused := []Misled{}, []Confused{}
	rows, cols := map[string]bool{}, map[string]bool{}
	sum := map[pair]int{}
	for p, n := range a.confusion {
		rows[p.named], cols[p.confirmed] = true, true
		sum[pair{"", p.named, p.confirmed}] += n
	}
	named, found := slices.Sorted(maps.Keys(rows)), slices.Sorted(maps.Keys(cols))
	table, gone := make([][]int, len(named)), make([]bool, len(named))
	for i, x := range named {
		table[i] = make([]int, len(found))
		total := 0
		for j, y := range found {
			table[i][j] = sum[pair{"", x, y}]
			total += table[i][j]
		}
		gone[i] = total < o.Least
	}
	hidden := hide(table, gone, o.Least)
	for i, x := range named {
		m, right, total, wrong := Misled{Named: x}, false, 0, 0
		for j, y := range found {
			n := table[i][j]
			total += n
			if x == y {
				right = hidden[i][j] // then the share would tell what is hidden
			} else if n > 0 {
				wrong += n
				if o.twins(x, y) {
					m.Twins++
				}
			}
			if n > 0 && !hidden[i][j] {
				confused = append(confused, Confused{x, y, n, x != y && o.sameRemedy(x, y)})
			}
		}
		if m.Wrong = o.share(wrong, total); m.Wrong.N != nil && !right {
			misled = append(misled, m)
		}
	}
	slices.SortStableFunc(misled, func(x, y Misled) int { return cmp.Compare(low(y.Wrong), low(x.Wrong)) })
	return misled, confused
}

func (o Options) sameRemedy(x, y string) bool {
	if o.KB == nil {
		return false
	}
	a, b := o.KB.Cause(x), o.KB.Cause(y)
	return a != nil && b != nil && a.Remedy == b.Remedy
}

func (o Options) twins(x, y string) bool {
	if o.KB == nil {
		return false
	}
	is := func(x, y string) bool {
		c := o.KB.Cause(x)
		if c != nil {
			for _, t := range c.Twins {
				if t.Cause == y {
					return true
				}
			}
		}
		return false
	}
	return is(x, y) || is(y, x)
}
