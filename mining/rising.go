package mining

import (
	"cmp"
	"maps"
	"math"
	"slices"
	"sync"

	"triagebot/mining/stats"
)

// Rising is the search for what has become more frequent.
type Rising struct {
	From     Day     `json:"from"`   // first day of the base
	Recent   Day     `json:"recent"` // first day of the recent weeks
	To       Day     `json:"to"`     // last day of the last full week
	Base     int     `json:"base"`   // weeks
	Weeks    int     `json:"weeks"`  // recent ones
	Tested   int     `json:"tested"`
	False    float64 `json:"false"`      // the false alarm rate it is held to
	PerCase  bool    `json:"per_case"`   // shares of cases were compared
	ChartARL float64 `json:"chart_arl"`  // weeks to a false signal that each chart is designed for
	OneSided bool    `json:"one_sided"`  // always: only rises are looked for
	TooShort bool    `json:"too_short"`  // not enough weeks before to compare with
	Found    []Rise  `json:"found"`      // by comparison or by chart, the surest first
	Closest  []Rise  `json:"not_rising"` // the next few, so that one sees how close it was
}

// Rise is one series held against what it was before.
type Rise struct {
	Kind   Kind     `json:"kind"`
	ID     string   `json:"id"`
	Kit    string   `json:"kit"`
	Recent int      `json:"recent"` // cases; rounded down to a multiple of the least group where Before is hidden
	Before *int     `json:"before"` // nil below the least group
	Ratio  *float64 `json:"ratio"`  // of the rates; nil likewise
	Low    *float64 `json:"low"`    // 95 % limits of the ratio
	High   *float64 `json:"high"`
	P      float64  `json:"p"`         // exact, one-sided
	Q      float64  `json:"q"`         // adjusted by Benjamini-Hochberg
	Rises  bool     `json:"rises"`     // Q is at most False
	Signal *Day     `json:"signal"`    // Monday of the week in which the chart signalled
	K      float64  `json:"chart_k"`   // reference value
	H      float64  `json:"chart_h"`   // decision limit
	ARL    float64  `json:"chart_arl"` // in control, exact for the rate taken
}

// leastBase is how many weeks must lie before the recent ones.
const leastBase = 4

// rising compares the recent full weeks with those before, each series by the
// exact conditional test of two Poisson rates (one-sided, for a rise) with
// Benjamini-Hochberg control over all series, and watches the recent weeks by
// a CUSUM each.
//
// A chart takes as its rate the upper 90 % limit of the rate before, because a
// rate put too low makes false signals far more frequent. Its in-control run
// length is Weeks x Tested / False or a little more, so that all charts together raise about
// False false signals a report, or fewer.
//
// What is tested are series with at least Least cases in both periods
// together: that choice looks at their sum alone, which the test is
// conditional on, and so cannot bend it.
func (a *Aggregate) rising(o Options) (Rising, error) {
	last := (o.Now + 1).week() - 1
	recent := last - o.Recent + 1
	base := max(recent-o.Base, a.first.week())
	if a.first > monday(base) {
		base++ // the first week is not a whole one
	}
	r := Rising{
		From: monday(base), Recent: monday(recent), To: monday(last+1) - 1, Base: recent - base, Weeks: o.Recent,
		False: o.False, PerCase: o.PerCase, OneSided: true, Found: []Rise{}, Closest: []Rise{},
	}
	if a.n == 0 || r.Base < leastBase {
		r.TooShort = true
		return r, nil
	}
	type tested struct {
		key    series
		n1, n0 int
	}
	var list []tested
	for key, c := range a.series {
		if key.kind == Cases || key.kind == Remedies || key.id == Unconfirmed || key.id == NotFound {
			continue
		}
		t := tested{key, between(c.weeks, recent, last), between(c.weeks, base, recent-1)}
		if t.n1+t.n0 >= o.Least {
			list = append(list, t)
		}
	}
	r.Tested = len(list)
	if r.Tested == 0 {
		return r, nil
	}
	slices.SortFunc(list, func(x, y tested) int {
		return cmp.Or(cmp.Compare(x.key.kind, y.key.kind), cmp.Compare(x.key.id, y.key.id), cmp.Compare(x.key.kit, y.key.kit))
	})
	r.ChartARL = float64(o.Recent) * float64(r.Tested) / o.False
	step := int(math.Ceil(math.Log(r.ChartARL)/math.Log(arlStep) - 1e-9))
	r.ChartARL = math.Pow(arlStep, float64(step))
	rises, ps := make([]Rise, len(list)), make([]float64, len(list))
	for i, t := range list {
		t1, t0 := float64(o.Recent), float64(r.Base)
		if o.PerCase {
			all := a.series[series{Cases, "", t.key.kit}].weeks
			t1, t0 = float64(between(all, recent, last)), float64(between(all, base, recent-1))
		}
		x := Rise{Kind: t.key.kind, ID: t.key.id, Kit: kitName(t.key.kit), Recent: t.n1, P: 1}
		if t1 > 0 && t0 > 0 {
			test := stats.CompareRates(t.n1, t1, t.n0, t0)
			x.P = test.Greater
			if t.n0 == 0 || t.n0 >= o.Least {
				x.Before = &t.n0
				if t.n0 > 0 {
					x.Ratio, x.Low, x.High = &test.Ratio, &test.Range.Low, &test.Range.High
				}
			}
		}
		ps[i] = x.P
		if err := watch(&x, step, a.series[t.key].weeks, t.n0, r.Base, recent, last); err != nil {
			return r, err
		}
		rises[i] = x
	}
	for i, q := range stats.BenjaminiHochberg(ps) {
		x := &rises[i]
		x.Q, x.Rises = q, q <= o.False
		if x.Before == nil { // what would tell the count is blurred too
			x.P, x.Q, x.K, x.H, x.ARL = blurred(x.P), blurred(q), 0, 0, 0
			x.Recent -= x.Recent % o.Least
		}
	}
	slices.SortStableFunc(rises, func(x, y Rise) int { return cmp.Compare(x.P, y.P) })
	for _, x := range rises {
		switch {
		case x.Recent < o.Least:
		case x.Rises || x.Signal != nil:
			r.Found = append(r.Found, x)
		case len(r.Closest) < 5:
			r.Closest = append(r.Closest, x)
		}
	}
	return r, nil
}

// blurred keeps one significant digit.
func blurred(p float64) float64 {
	if !(p > 0) {
		return p
	}
	e := math.Pow10(int(math.Floor(math.Log10(p))))
	return math.Round(p/e) * e
}

// between adds up the weeks from first to last.
func between(weeks map[int]int, first, last int) int {
	sum := 0
	if len(weeks) < last-first {
		for w, n := range weeks {
			if w >= first && w <= last {
				sum += n
			}
		}
		return sum
	}
	for w := first; w <= last; w++ {
		sum += weeks[w]
	}
	return sum
}

// rise is the rise that the charts are tuned to: a doubling. Rates and run
// lengths are rounded up by steps, so that few designs serve all reports.
const (
	rise     = 2
	rateStep = 1.05
	arlStep  = 1.1
)

// designs keeps the charts made, for designing is most of the work of a report
// and gives the same each time: [2]int of the steps -> stats.CountChart.
var designs sync.Map

func design(rate, arl int) (stats.CountChart, error) {
	key := [2]int{rate, arl}
	if c, ok := designs.Load(key); ok {
		return c.(stats.CountChart), nil
	}
	c, err := stats.NewCountChart(math.Pow(rateStep, float64(rate)), rise, math.Pow(arlStep, float64(arl)))
	if err == nil {
		designs.Store(key, c)
	}
	return c, err
}

// watch runs the chart of one series over the recent weeks.
func watch(x *Rise, arl int, weeks map[int]int, before, base, recent, last int) error {
	rate := stats.PoissonUpper(before, 0.9) / float64(base)
	chart, err := design(int(math.Ceil(math.Log(rate)/math.Log(rateStep))), arl)
	if err != nil {
		return err
	}
	x.K, x.H, x.ARL = chart.K, chart.H, chart.ARL
	sum := 0.0
	for w := recent; w <= last; w++ {
		sum = max(0, sum+float64(weeks[w])-chart.K)
		if sum >= chart.H-1e-9 {
			day := monday(w)
			x.Signal = &day
			return nil
		}
	}
	return nil
}

// Month is one bar of the history of a series; N is nil where it is hidden.
type Month struct {
	Month string `json:"month"`
	N     *int   `json:"n"`
}

// History gives the monthly counts of one series as a report may show them.
func History(a *Aggregate, kind Kind, id, kit string, o Options) ([]Month, error) {
	o, err := o.filled(a)
	if err != nil {
		return nil, err
	}
	if kit == Unknown {
		kit = ""
	}
	c := a.series[series{kind, id, kit}]
	if c == nil {
		return nil, nil
	}
	months := slices.Sorted(maps.Keys(c.months))
	first, last := a.first.month(), a.last.month()
	shown := map[string]*int{}
	g, cases := a.grid(kind, o), a.grid(Cases, o)
	for _, x := range a.along(kind, g.ids, kit, g.goneOf(kit, cases), o) {
		if x.ID == id && x.By == "month" {
			shown[x.Value] = x.N
		}
	}
	list := []Month{}
	for m := first; m <= last; m++ {
		x := Month{Month: monthName(m)}
		if _, seen := slices.BinarySearch(months, m); seen {
			x.N = shown[x.Month]
		} else {
			zero := 0
			x.N = &zero
		}
		list = append(list, x)
	}
	return list, nil
}
