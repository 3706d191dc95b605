package plots

import (
	"slices"

	"triagebot/mining"
)

// Of long lists, only so many are drawn.
const (
	mostBars     = 18
	mostPictures = 8 // of one sort
)

// All draws what the report holds, in a fixed order. shifts are those of
// mining.Learn and may be nil.
func All(a *mining.Aggregate, r *mining.Report, shifts []mining.Shift, o mining.Options) ([]*Picture, error) {
	var list []*Picture
	add := func(p *Picture) {
		if p != nil {
			if r.Demo {
				p.plot.Title.Text += "\ndemo: invented cases"
			}
			list = append(list, p)
		}
	}
	for _, k := range []mining.Kind{mining.Causes, mining.Parts, mining.Symptoms} {
		add(pareto(r, k))
	}
	for i, x := range r.Rising.Found {
		if i == mostPictures {
			break
		}
		months, err := mining.History(a, x.Kind, x.ID, x.Kit, o)
		if err != nil {
			return nil, err
		}
		add(history(r, x, months))
	}
	for _, l := range first(r.Lives, func(l mining.PartLife) bool { return len(l.Curve) > 1 }, func(x, y mining.PartLife) int { return y.Failures - x.Failures }) {
		add(life(l))
	}
	for _, m := range first(r.Readings, func(m mining.Readings) bool { return len(m.Bars) > 1 }, func(x, y mining.Readings) int { return y.N - x.N }) {
		add(readings(m))
	}
	add(cannot(r))
	add(confusion(r))
	for i := 0; i < len(shifts); {
		end := i
		for end < len(shifts) && shifts[end].Kit == shifts[i].Kit {
			end++
		}
		add(priors(shifts[i].Kit, shifts[i:min(end, i+mostBars)]))
		i = end
	}
	return list, nil
}

func first[T any](list []T, fit func(T) bool, order func(x, y T) int) []T {
	var some []T
	for _, x := range list {
		if fit(x) {
			some = append(some, x)
		}
	}
	slices.SortStableFunc(some, order)
	return some[:min(len(some), mostPictures)]
}
