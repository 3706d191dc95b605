package demostore

import (
	"triagebot/mining"
	"triagebot/mining/demo"
)

// Year is the year that the demo shows: weeks, fleet and what is planted.
func Year(start mining.Day) demo.Settings {
	return demo.Settings{
		Seed: 1, Start: start, Weeks: 52, Bikes: 1600, Rate: 0.008,
		Rise:  &demo.Rise{Kit: "sorrel-60", Cause: "hall-sensor-dead", Week: 40, Factor: 55},
		Batch: &demo.Batch{Kit: "teasel-48", Cause: "throttle-sticky", Built: start - 200, Factor: 400},
		Wear:  &demo.Wear{Kit: "yarrow-72", Cause: "throttle-sticky", Shape: 2.2, Scale: 18000},
	}
}

// What volunteers do, as shares and in hours. Assumptions, no source: they are
// there so that every state of a case turns up.
const (
	found     = 0.88 // of closed cases, the cause is found
	mistaken  = 0.03 // another is believed to be it
	noted     = 0.4  // have a note
	handed    = 0.08 // are handed on
	renewed   = 0.85 // of found parts are replaced, not mended
	bikeKnown = 0.9
	oddWords  = 0.2  // of talks; fewer have a symptom that there are odd words for
	takeHours = 50.0 // mean until a case is taken
	workHours = 120.0
)

// volunteers are invented.
var volunteers = []string{"demo:heron", "demo:plover", "demo:avocet"}

// notes are what they write down.
var notes = []string{
	"Rang the owner; will bring the bike on Saturday.",
	"Same readings here as the owner had.",
	"Waiting for the part.",
	"Took it for a ride: the fault is there, as told.",
	"Owner sent a picture of the plug; looks dry.",
}
