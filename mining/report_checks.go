package mining

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"triagebot/kb"
	"triagebot/mining/stats"
	"triagebot/rules"
)

// CheckUse is how owners fared with one check, over all kits.
type CheckUse struct {
	Check  string `json:"check"`
	Asked  *int   `json:"asked"`
	Cannot Share  `json:"cannot"` // could not, lacked the tool, or did not open the cover
	Close  Share  `json:"close"`  // of those done: too close to call
	Odd    Share  `json:"odd"`
	// Expected is how often the rules think that an owner cannot do it.
	Expected *float64 `json:"expected"`
}

func (a *Aggregate) checksReport(o Options) []CheckUse {
	sum := map[string]*checkCounts{}
	for key, c := range a.checks {
		if sum[key.check] == nil {
			sum[key.check] = &checkCounts{cannot: map[string]int{}, outcomes: map[string]int{}}
		}
		s := sum[key.check]
		s.asked, s.close, s.odd = s.asked+c.asked, s.close+c.close, s.odd+c.odd
		sumInto(s.cannot, c.cannot)
	}
	list := []CheckUse{}
	for _, id := range slices.Sorted(maps.Keys(sum)) {
		s := sum[id]
		if s.asked < o.Least {
			continue
		}
		cannot := 0
		for _, n := range s.cannot {
			cannot += n
		}
		u := CheckUse{Check: id, Asked: &s.asked, Cannot: o.share(cannot, s.asked)}
		if u.Cannot.N != nil && s.asked > cannot {
			u.Close, u.Odd = o.share(s.close, s.asked-cannot), o.share(s.odd, s.asked-cannot)
		}
		if o.KB != nil {
			if c := o.KB.Check(id); c != nil {
				u.Expected = &c.Cannot
			}
		}
		list = append(list, u)
	}
	slices.SortStableFunc(list, func(x, y CheckUse) int { return cmp.Compare(low(y.Cannot), low(x.Cannot)) })
	return list
}

// low orders shares by what they are at least; hidden ones come last.
func low(s Share) float64 {
	if s.Range == nil {
		return -1
	}
	return s.Range.Low
}

// Readings is what owners of one kit measured at one check.
type Readings struct {
	Check     string      `json:"check"`
	Kit       string      `json:"kit"`
	Unit      string      `json:"unit"`
	N         int         `json:"n"`
	Quantiles []Quantile  `json:"quantiles"`
	Windows   []WindowUse `json:"windows"`
	Bars      []Bar       `json:"bars"` // a histogram; those of small groups are left out
}

// Quantile is the value that the share P does not exceed.
type Quantile struct {
	P     float64 `json:"p"`
	Value float64 `json:"value"`
}

// WindowUse is how many readings fell in a window. From and To are its limits
// on this kit before any earlier reading, nil where the rules no longer have it.
type WindowUse struct {
	Window  string   `json:"window"`
	Healthy bool     `json:"healthy"`
	From    *float64 `json:"from"`
	To      *float64 `json:"to"`
	Share
}

// Bar is one bar of a histogram.
type Bar struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	N    int     `json:"n"`
}

func (a *Aggregate) readingsReport(o Options) []Readings {
	list := []Readings{}
	keys := slices.SortedFunc(maps.Keys(a.checks), func(x, y checkKey) int {
		return cmp.Or(cmp.Compare(x.check, y.check), cmp.Compare(x.kit, y.kit))
	})
	scopes := map[string]*rules.Scope{}
	for _, key := range keys {
		c := a.checks[key]
		if c.values.N() < o.Least {
			continue
		}
		r := Readings{Check: key.check, Kit: kitName(key.kit), Unit: c.unit, N: c.values.N(), Quantiles: []Quantile{}}
		for _, p := range []float64{0.05, 0.25, 0.5, 0.75, 0.95} {
			r.Quantiles = append(r.Quantiles, Quantile{p, c.values.Quantile(p)})
		}
		r.Windows = windowUse(c, key, o, scopes)
		r.Bars = bars(&c.values, o.Least)
		list = append(list, r)
	}
	return list
}

func windowUse(c *checkCounts, key checkKey, o Options, scopes map[string]*rules.Scope) []WindowUse {
	var ids []string
	var check *kb.Check
	if o.KB != nil {
		check = o.KB.Check(key.check)
	}
	if check != nil {
		ids = check.Outcomes()
	}
	total := 0
	for _, id := range slices.Sorted(maps.Keys(c.outcomes)) {
		total += c.outcomes[id]
		if !slices.Contains(ids, id) {
			ids = append(ids, id)
		}
	}
	table := make([][]int, len(ids))
	for i, id := range ids {
		table[i] = []int{c.outcomes[id]}
	}
	hidden := hide(table, nil, o.Least)
	list := []WindowUse{}
	for i, id := range ids {
		u := WindowUse{Window: id}
		if !hidden[i][0] && total > 0 {
			u.Share = o.plain(table[i][0], total)
		}
		if check != nil {
			if w := check.Window(id); w != nil {
				u.Healthy = w.Healthy
				u.From, u.To = limits(w, key.kit, o.KB, scopes)
			}
		}
		list = append(list, u)
	}
	return list
}

// limits are nil where they cannot be worked out, as for a kit that is gone.
func limits(w *kb.Window, kit string, k *kb.KB, scopes map[string]*rules.Scope) (from, to *float64) {
	s, ok := scopes[kit]
	if !ok {
		built := k.Kit(cmp.Or(kit, k.About.Generic))
		if built != nil {
			s, _ = rules.NewScope(k, built, nil)
		}
		scopes[kit] = s
	}
	if s == nil {
		return nil, nil
	}
	if v, err := s.Number(w.From); err == nil {
		from = &v
	}
	if v, err := s.Number(w.To); err == nil {
		to = &v
	}
	return from, to
}

// bars cut the middle 98 % into at most 40 of one round width, so that figures
// with few digits spread evenly over them.
func bars(t *stats.Tally, least int) []Bar {
	low, high := t.Quantile(0.01), t.Quantile(0.99)
	list := []Bar{}
	if !(high > low) {
		return append(list, Bar{low, low, t.N()})
	}
	width := roundUp((high - low) / 38)
	first := math.Round(low / width)
	n := make([]int, int(math.Round(high/width)-first)+1)
	for _, v := range t.Values() {
		if v >= low && v <= high {
			n[int(math.Round(v/width)-first)] += t.Count(v)
		}
	}
	for i, c := range n {
		if c >= least {
			middle := first + float64(i)
			list = append(list, Bar{(middle - 0.5) * width, (middle + 0.5) * width, c})
		}
	}
	return list
}

// roundUp is the next of 1, 2, 5 times a power of ten.
func roundUp(v float64) float64 {
	e := math.Pow10(int(math.Floor(math.Log10(v))))
	for _, m := range []float64{1, 2, 5} {
		if v <= m*e*(1+1e-9) {
			return m * e
		}
	}
	return 10 * e
}
