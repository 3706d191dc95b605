// Package demo invents closed cases, so that pages and tests have something
// true to find. Every record is marked as demo. The same settings give the
// same records.
//
//	for r := range demo.Records(k, demo.Year(day)) { ... }
//
// Cases of each cause come as a Poisson stream in the proportions of the
// knowledge base's priors. On top of it may lie a planted rise of one cause, a
// batch of bikes with a bad part, and a part that wears by distance. It makes
// no claim about talks: questions, minutes and readings are drawn from simple
// distributions, not from bikes by physics (that is package bench).
package demo

import (
	"math"
	"math/rand/v2"

	"triagebot/kb"
	"triagebot/mining"
)

// Settings say what to invent.
type Settings struct {
	Seed  uint64
	Start mining.Day
	Weeks int
	Bikes int     // in the fleet, over all kits
	Old   int     // days since the oldest was built, at the start; 0 takes 900
	Rate  float64 // cases a bike and week, before anything planted
	Brief bool    // without checks and wording: for counting alone
	Rise  *Rise
	Batch *Batch
	Wear  *Wear
}

// Rise is a cause that becomes Factor times as frequent on a kit.
type Rise struct {
	Kit, Cause string
	Week       int // from which on
	Factor     float64
}

// Batch is a month of building whose bikes have a cause Factor times as often.
type Batch struct {
	Kit, Cause string
	Built      mining.Day // any day of the month
	Factor     float64
}

// Wear is a part's cause that comes with distance: a Weibull life in km.
type Wear struct {
	Kit, Cause   string
	Shape, Scale float64
}

// Year is the demo: a year with one of each.
func Year(start mining.Day) Settings {
	return Settings{
		Seed: 2, Start: start, Weeks: 52, Bikes: 3000, Rate: 0.02,
		Rise:  &Rise{Kit: "sorrel-60", Cause: "hall-sensor-dead", Week: 40, Factor: 14},
		Batch: &Batch{Kit: "teasel-48", Cause: "converter-failed", Built: start - 200, Factor: 120},
		Wear:  &Wear{Kit: "yarrow-72", Cause: "throttle-stuck-low", Shape: 2.2, Scale: 9000},
	}
}

// bike is one of the fleet.
type bike struct {
	id     string
	kit    *kb.Kit
	built  mining.Day
	weekly float64 // km
	fails  float64 // km at which the wearing part goes; +Inf when it does not wear
}

func (b *bike) distance(day mining.Day) float64 {
	return math.Round(b.weekly * float64(day-b.built) / 7)
}

// share is a cause with its share of the cases of a kit.
type share struct {
	cause *kb.Cause
	upTo  float64
}

func shares(k *kb.KB, kit *kb.Kit) []share {
	var list []share
	sum := 0.0
	for _, c := range k.Causes {
		f, ok := kit.Priors[c.ID]
		if !ok {
			f = 1
		}
		if kit.Has(c.Parts) {
			sum += c.Prior * f
			list = append(list, share{c, sum})
		}
	}
	for i := range list {
		list[i].upTo /= sum
	}
	return list
}

func shareOf(list []share, id string) float64 {
	before := 0.0
	for _, s := range list {
		if s.cause.ID == id {
			return s.upTo - before
		}
		before = s.upTo
	}
	return 0
}

// poisson counts exponential waits; its means are small.
func poisson(rng *rand.Rand, mean float64) int {
	n := 0
	for t := rng.ExpFloat64(); t < mean; t += rng.ExpFloat64() {
		n++
	}
	return n
}
