package bench

import "maps"

// fault is something wrong with a bike: what it does to the works. Where a
// cause has several forms (which wire, how far gone), the dice decide.
type fault struct {
	part  string // only on kits that have it
	spoil func(w *works, d dice)
}

// faults are all faults by the id of their cause.
var faults = func() map[string]fault {
	all := map[string]fault{}
	for _, family := range []map[string]fault{packFaults, feedFaults, controllerFaults, harnessFaults, throttleFaults,
		inhibitFaults, sensingFaults, motorFaults, mechanicFaults, bodyFaults, chargingFaults, unknownFaults} {
		maps.Copy(all, family)
	}
	return all
}()

// breaks opens conductors.
func breaks(names ...string) func(*works, dice) {
	return func(w *works, _ dice) {
		for _, n := range names {
			w.ohm[n] = open
		}
	}
}

// breaksOrRattles opens a conductor for good, or, now and then, only while shaken.
func breaksOrRattles(name string, rattling float64) func(*works, dice) {
	return func(w *works, d dice) {
		if d.chance(rattling) {
			w.rattles = append(w.rattles, name)
			return
		}
		w.ohm[name] = open
	}
}

// pick draws one of the names.
func (d dice) pick(names ...string) string { return names[d.IntN(len(names))] }

// tells adds a symptom of history or danger with a probability.
func (w *works) tells(d dice, symptom string, p float64) {
	if d.chance(p) {
		w.told = append(w.told, symptom)
	}
}

// shows makes something visible at the plugs with a probability.
func (w *works) shows(d dice, what string, p float64) {
	if d.chance(p) {
		w.seen = what
	}
}
