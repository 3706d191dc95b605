package demo

import (
	"maps"
	"math"
	"slices"

	"triagebot/kb"
	"triagebot/mining"
)

// Wording is what no rule knows, with the symptom it stands for.
type Wording struct{ Symptom, Text string }

// Wordings are the invented ones, the most frequent first.
func Wordings() []Wording {
	return []Wording{
		{"no-drive", "zilch oomph whatsoever"},
		{"no-drive", "zilch oomph whatsoever today"},
		{"cuts-out-riding", "hiccups then wakes again"},
		{"wont-charge", "brick refuses sipping"},
	}
}

func (v *inventor) record(e event) mining.Record {
	c, rng := e.cause, v.rng
	r := mining.Record{
		V: 1, Closed: e.day, Kit: e.bike.kit.ID, Bike: e.bike.id, Distance: e.bike.distance(e.day), Age: age(e.bike, e.day),
		Confirmed: c.ID, Remedy: c.Remedy, Part: c.Part, Replaced: true, Demo: true, KB: v.kb.Version,
		Questions: 3 + poisson(rng, 5), Named: c.ID,
	}
	r.Minutes = math.Round(float64(r.Questions) * (1 + 4*rng.Float64()))
	for _, s := range c.Shows {
		if s.Outcomes == nil && v.kb.Symptom(s.Of) != nil && rng.Float64() < s.Present {
			r.Symptoms = append(r.Symptoms, s.Of)
		}
	}
	r.Suspects = []string{c.ID}
	switch at := rng.Float64(); {
	case at < 0.70:
		r.Solved = true
	case at < 0.80: // a twin, or any other cause, was named
		r.Named = draw(rng, v.shares[e.bike.kit]).ID
		if len(c.Twins) > 0 {
			r.Named = c.Twins[rng.IntN(len(c.Twins))].Cause
		}
		r.Suspects = append(r.Suspects, r.Named)
		r.Reason = "owner-cannot-mend"
	case at < 0.86:
		r.Confirmed, r.Remedy, r.Part, r.Replaced, r.NotFound, r.Reason = "", "", "", false, true, "nothing-explains-it"
	default:
		r.Named, r.Reason = "", "no-check-left"
	}
	if !v.Brief {
		v.talk(&r, e)
	}
	return r
}

// talk adds checks as the cause shows them, and now and then words that
// nothing matched.
func (v *inventor) talk(r *mining.Record, e event) {
	for _, id := range []string{"look-power-path", "pack-volts", "throttle-5v", "throttle-rest"} {
		if c := v.kb.Check(id); c != nil && e.bike.kit.Has(c.Parts) {
			r.Checks = append(r.Checks, v.asked(c, nil))
		}
	}
	for _, s := range e.cause.Shows {
		c := v.kb.Check(s.Of)
		if c == nil || s.Outcomes == nil || !e.bike.kit.Has(c.Parts) || slices.ContainsFunc(r.Checks, func(a mining.Asked) bool { return a.Check == c.ID }) {
			continue
		}
		r.Checks = append(r.Checks, v.asked(c, s.Outcomes))
	}
	if v.rng.Float64() < 0.15 {
		for _, w := range Wordings() {
			if slices.Contains(r.Symptoms, w.Symptom) && v.rng.Float64() < 0.6 {
				r.Unmatched = append(r.Unmatched, w.Text)
				break
			}
		}
	}
}

func (v *inventor) asked(c *kb.Check, shows map[string]float64) mining.Asked {
	a := mining.Asked{Check: c.ID, Unit: c.Unit}
	if v.rng.Float64() < c.Cannot {
		a.Cannot = []string{"cannot", "tool"}[v.rng.IntN(2)]
		return a
	}
	at := v.rng.Float64()
	for _, id := range slices.Sorted(maps.Keys(shows)) {
		if at -= shows[id]; at < 0 {
			a.Outcome = id
			break
		}
	}
	for _, w := range c.Windows {
		if a.Outcome == w.ID || a.Outcome == "" && w.Healthy {
			a.Outcome = w.ID
			if within := plainFigures[c.ID]; w.Healthy && within != [2]float64{} {
				x := math.Round((within[0]+(within[1]-within[0])*v.rng.Float64())*100) / 100
				a.Value = &x
			}
		}
	}
	for _, o := range c.Options {
		if a.Outcome == "" && o.Healthy {
			a.Outcome = o.ID
		}
	}
	return a
}

// plainFigures are what a sound bike shows, whatever its kit: only such
// figures are invented.
var plainFigures = map[string][2]float64{"throttle-5v": {4.85, 5.1}, "control-5v": {4.9, 5.15}, "throttle-rest": {0.8, 1.08}, "hall-5v": {4.85, 5.1}}
