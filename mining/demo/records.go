package demo

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"math/rand/v2"
	"slices"

	"triagebot/kb"
	"triagebot/mining"
)

type inventor struct {
	Settings
	kb     *kb.KB
	rng    *rand.Rand
	fleet  []*bike
	ofKit  map[*kb.Kit][]*bike
	shares map[*kb.Kit][]share
}

func newInventor(k *kb.KB, s Settings) *inventor {
	v := &inventor{Settings: s, kb: k, rng: rand.New(rand.NewPCG(s.Seed, 20)), ofKit: map[*kb.Kit][]*bike{}, shares: map[*kb.Kit][]share{}}
	for _, kit := range k.Kits {
		v.shares[kit] = shares(k, kit)
	}
	old := cmp.Or(max(0, s.Old), 900)
	for i := range s.Bikes {
		kit := k.Kits[i%len(k.Kits)]
		b := &bike{
			id: fmt.Sprintf("b%05d", i), kit: kit, built: s.Start - mining.Day(v.rng.IntN(old)), weekly: 20 + 100*v.rng.Float64(), fails: math.Inf(1),
		}
		if w := s.Wear; w != nil && w.Kit == kit.ID {
			b.fails = w.Scale * math.Pow(v.rng.ExpFloat64(), 1/w.Shape)
		}
		v.fleet = append(v.fleet, b)
		v.ofKit[kit] = append(v.ofKit[kit], b)
	}
	return v
}

// Records invents closed cases, week by week.
func Records(k *kb.KB, s Settings) iter.Seq[mining.Record] {
	return func(yield func(mining.Record) bool) {
		v := newInventor(k, s)
		for week := range s.Weeks {
			for _, kit := range k.Kits {
				for _, c := range v.week(kit, week) {
					if !yield(v.record(c)) {
						return
					}
				}
			}
		}
	}
}

// Failure is the fault of one bike on a day.
type Failure struct {
	Bike, Kit, Cause string
	Day, Built       mining.Day
	Distance         float64 // km the bike had run
}

// Failures invents what Records makes closed cases of, in the order of days.
func Failures(k *kb.KB, s Settings) []Failure {
	v := newInventor(k, s)
	var list []Failure
	for week := range s.Weeks {
		for _, kit := range k.Kits {
			for _, e := range v.week(kit, week) {
				list = append(list, Failure{e.bike.id, kit.ID, e.cause.ID, e.day, e.bike.built, e.bike.distance(e.day)})
			}
		}
	}
	slices.SortStableFunc(list, func(x, y Failure) int { return cmp.Compare(x.Day, y.Day) })
	return list
}

// Fleet is what all bikes had run at the end.
func Fleet(k *kb.KB, s Settings) []mining.Running {
	end := s.Start + mining.Day(7*s.Weeks)
	var list []mining.Running
	for _, b := range newInventor(k, s).fleet {
		list = append(list, mining.Running{Kit: b.kit.ID, Bike: b.id, Distance: b.distance(end), Age: age(b, end)})
	}
	return list
}

func age(b *bike, day mining.Day) float64 {
	return math.Round(float64(day-b.built)/30.4375*10) / 10
}

type event struct {
	bike  *bike
	cause *kb.Cause
	day   mining.Day
	wear  bool
}

func (v *inventor) week(kit *kb.Kit, week int) []event {
	bikes, list := v.ofKit[kit], v.shares[kit]
	var events []event
	day := func() mining.Day { return v.Start + mining.Day(7*week+v.rng.IntN(7)) }
	anyOf := func(of []*bike, mean float64, cause *kb.Cause) {
		for range poisson(v.rng, mean) {
			e := event{of[v.rng.IntN(len(of))], cause, day(), false}
			if cause == nil {
				e.cause = draw(v.rng, list)
			}
			events = append(events, e)
		}
	}
	if len(bikes) > 0 && len(list) > 0 {
		anyOf(bikes, v.Rate*float64(len(bikes)), nil)
		if r := v.Rise; r != nil && r.Kit == kit.ID && week >= r.Week {
			anyOf(bikes, (r.Factor-1)*v.Rate*float64(len(bikes))*shareOf(list, r.Cause), v.kb.Cause(r.Cause))
		}
		if b := v.Batch; b != nil && b.Kit == kit.ID {
			var bad []*bike
			for _, x := range bikes {
				if x.built.Month() == b.Built.Month() {
					bad = append(bad, x)
				}
			}
			if len(bad) > 0 {
				anyOf(bad, (b.Factor-1)*v.Rate*float64(len(bad))*shareOf(list, b.Cause), v.kb.Cause(b.Cause))
			}
		}
	}
	if w := v.Wear; w != nil && w.Kit == kit.ID {
		for _, b := range bikes {
			// What failed before the first week is not ours to tell: the part was new then.
			if d := v.Start + mining.Day(7*week); b.distance(d) >= b.fails {
				if week > 0 {
					events = append(events, event{b, v.kb.Cause(w.Cause), d, true})
				}
				b.fails = b.distance(d) + w.Scale*math.Pow(v.rng.ExpFloat64(), 1/w.Shape)
			}
		}
	}
	return events
}

func draw(rng *rand.Rand, list []share) *kb.Cause {
	at := rng.Float64()
	for _, s := range list {
		if at < s.upTo {
			return s.cause
		}
	}
	return list[len(list)-1].cause
}
