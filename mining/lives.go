package mining

import (
	"cmp"
	"maps"
	"slices"

	"triagebot/mining/stats"
)

// PartLife is how long a part lasts on a kit.
type PartLife struct {
	Part     string `json:"part"`
	Kit      string `json:"kit"`
	Unit     string `json:"unit"` // km or months
	Failures int    `json:"failures"`
	Running  int    `json:"running"` // taken as censored
	Fleet    bool   `json:"fleet"`   // bikes without a case were counted; without, lives come out too short
	// Weibull: a shape below 1 means early failures, about 1 chance, above 1 wear.
	Shape      float64        `json:"shape"`
	ShapeRange stats.Interval `json:"shape_range"`
	Scale      float64        `json:"scale"`
	ScaleRange stats.Interval `json:"scale_range"`
	Mean       float64        `json:"mean"`
	Tenth      float64        `json:"tenth"` // by which one in ten has failed
	// Curve is the Kaplan-Meier estimate, up to where fewer than the least group are left.
	Curve []CurvePoint `json:"curve"`
}

// CurvePoint is a point of a survival curve.
type CurvePoint struct {
	Time     float64        `json:"time"`
	Survives float64        `json:"survives"`
	Range    stats.Interval `json:"range"`
}

// life follows the parts of bikes. A failure ends a life; a new part begins
// another; a part that was mended in place is not followed further. What had not
// failed when its bike was last seen is still running. A case whose bike is not
// named counts as a bike of its own.
type life struct {
	seen  map[float64]int            // where bikes were last seen
	parts map[uint16]map[outcome]int // failures, and what differs from seen for the bikes that had them
	fleet bool
}

type outcome struct {
	at     float64
	failed bool
}

func (l *life) add(part uint16, at float64, failed bool, n int) {
	if l.parts[part] == nil {
		l.parts[part] = map[outcome]int{}
	}
	if at > 0 {
		l.parts[part][outcome{stats.Round(at), failed}] += n
	}
}

// lives fits each part of each kit by distance and by age.
func (a *Aggregate) lives(o Options) []PartLife {
	slices.SortFunc(a.visits, func(x, y visit) int {
		return cmp.Or(cmp.Compare(x.kit, y.kit), cmp.Compare(x.bike, y.bike), cmp.Compare(x.day, y.day), cmp.Compare(x.distance, y.distance),
			cmp.Compare(x.age, y.age), cmp.Compare(x.part, y.part))
	})
	list := []PartLife{}
	for _, m := range []struct {
		unit string
		of   func(visit) float32
	}{{"km", func(v visit) float32 { return v.distance }}, {"months", func(v visit) float32 { return v.age }}} {
		kits := map[uint16]*life{}
		for i := 0; i < len(a.visits); {
			v := a.visits[i]
			end := i + 1
			for v.bike != 0 && end < len(a.visits) && a.visits[end].bike == v.bike && a.visits[end].kit == v.kit {
				end++
			}
			l := kits[v.kit]
			if l == nil {
				l = &life{seen: map[float64]int{}, parts: map[uint16]map[outcome]int{}}
				kits[v.kit] = l
			}
			l.bike(a.visits[i:end], m.of)
			i = end
		}
		for kit, l := range kits {
			for part, found := range l.parts {
				if p, ok := l.fit(found, o); ok && part != 0 {
					p.Part, p.Kit, p.Unit = a.names[part], kitName(a.names[kit]), m.unit
					list = append(list, p)
				}
			}
		}
	}
	slices.SortFunc(list, func(x, y PartLife) int {
		return cmp.Or(cmp.Compare(x.Kit, y.Kit), cmp.Compare(x.Part, y.Part), cmp.Compare(x.Unit, y.Unit))
	})
	return list
}

func (l *life) bike(visits []visit, of func(visit) float32) {
	last := 0.0
	for _, v := range visits {
		last = max(last, float64(of(v)))
		l.fleet = l.fleet || v.running
	}
	if last == 0 {
		return
	}
	l.seen[stats.Round(last)]++
	var done []uint16
	for i, v := range visits {
		if v.part == 0 || of(v) == 0 || slices.Contains(done, v.part) {
			continue
		}
		done = append(done, v.part)
		l.add(v.part, last, false, -1) // it is not simply still running
		start, followed := 0.0, true
		for _, w := range visits[i:] {
			if at := float64(of(w)); w.part == v.part && at > start && followed {
				l.add(v.part, at-start, true, 1)
				start, followed = at, w.replaced
			}
		}
		if followed {
			l.add(v.part, last-start, false, 1)
		}
	}
}

func (l *life) fit(found map[outcome]int, o Options) (PartLife, bool) {
	total := maps.Clone(found)
	for at, n := range l.seen {
		total[outcome{at, false}] += n
	}
	var lives []stats.Life
	for x, n := range total {
		if n > 0 {
			lives = append(lives, stats.Life{Time: x.at, Failed: x.failed, Count: n})
		}
	}
	slices.SortFunc(lives, func(x, y stats.Life) int {
		if c := cmp.Compare(x.Time, y.Time); c != 0 || x.Failed == y.Failed {
			return c
		}
		if x.Failed {
			return -1
		}
		return 1
	})
	w, err := stats.FitWeibull(lives, o.Level)
	if err != nil || w.Failures < o.Least {
		return PartLife{}, false
	}
	p := PartLife{
		Failures: w.Failures, Running: w.Running, Fleet: l.fleet, Shape: w.Shape, ShapeRange: w.ShapeRange, Scale: w.Scale, ScaleRange: w.ScaleRange,
		Mean: w.Mean(), Tenth: w.Reached(0.1), Curve: []CurvePoint{},
	}
	for _, s := range stats.KaplanMeier(lives) {
		if s.AtRisk >= o.Least {
			p.Curve = append(p.Curve, CurvePoint{s.Time, s.Survives, s.Range})
		}
	}
	return p, true
}
