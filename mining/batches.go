package mining

import (
	"cmp"
	"maps"
	"slices"

	"triagebot/mining/stats"
)

// Batches is the search for bikes of one month of building that have more
// trouble with a part than others of the kit at the same age.
type Batches struct {
	Tested int     `json:"tested"`
	False  float64 `json:"false"`
	Found  []Batch `json:"found"`
}

// Batch is one month of building whose bikes stand out.
type Batch struct {
	Part     string  `json:"part"`
	Kit      string  `json:"kit"`
	Built    string  `json:"built"` // month
	Cases    int     `json:"cases"`
	Expected float64 `json:"expected"` // had the part been as the others', to one decimal
	P        float64 `json:"p"`        // exact, one-sided
	Q        float64 `json:"q"`        // adjusted by Benjamini-Hochberg
}

// batchesReport compares, within each band of age, the share of cases that are
// over the part among bikes built in the month with that among all others of
// the kit, because how many bikes were built is not known here. It takes the
// other parts' cases as the measure of how many bikes there are: a batch bad in
// every part does not stand out.
func (a *Aggregate) batchesReport(o Options) Batches {
	r := Batches{False: o.False, Found: []Batch{}}
	type cell struct {
		kit  string
		band int
	}
	all, ofPart, ofMonth := map[cell]int{}, map[cell]map[string]int{}, map[cell]map[int]int{}
	for k, n := range a.batches {
		c := cell{k.kit, k.band}
		if ofPart[c] == nil {
			ofPart[c], ofMonth[c] = map[string]int{}, map[int]int{}
		}
		all[c] += n
		ofPart[c][k.part] += n
		ofMonth[c][k.built] += n
	}
	// What is tested must not depend on how the part's cases lie over the months,
	// or the test would be bent: all months with Least cases of any kind, and all
	// parts with Least cases over all months.
	parts, months := map[string]map[string]int{}, map[string]map[int]int{}
	for c := range all {
		if parts[c.kit] == nil {
			parts[c.kit], months[c.kit] = map[string]int{}, map[int]int{}
		}
		sumInto(parts[c.kit], ofPart[c])
		sumInto(months[c.kit], ofMonth[c])
	}
	var list []Batch
	var ps []float64
	for _, kit := range slices.Sorted(maps.Keys(parts)) {
		for _, part := range slices.Sorted(maps.Keys(parts[kit])) {
			if part == "" || parts[kit][part] < o.Least {
				continue
			}
			for _, built := range slices.Sorted(maps.Keys(months[kit])) {
				if months[kit][built] < o.Least {
					continue
				}
				var strata []stats.Stratum
				for b := range ageBands {
					c := cell{kit, b}
					if ofMonth[c][built] > 0 {
						strata = append(strata, stats.Stratum{All: all[c], Rows: ofMonth[c][built], Marked: ofPart[c][part], Both: a.batches[batchKey{kit, built, b, part}]})
					}
				}
				seen, _, p := stats.ExcessInStrata(strata)
				expected := 0.0
				for _, s := range strata {
					if others := s.All - s.Rows; others > 0 {
						expected += float64(s.Rows*(s.Marked-s.Both)) / float64(others)
					}
				}
				list = append(list, Batch{part, kitName(kit), monthName(built), seen, float64(int(expected*10+0.5)) / 10, p, 0})
				ps = append(ps, p)
			}
		}
	}
	r.Tested = len(list)
	for i, q := range stats.BenjaminiHochberg(ps) {
		if list[i].Q = q; q <= o.False && list[i].Cases >= o.Least {
			r.Found = append(r.Found, list[i])
		}
	}
	slices.SortStableFunc(r.Found, func(x, y Batch) int { return cmp.Compare(x.P, y.P) })
	return r
}
