package bench

// unknownFaults are faults that no list of causes names: what they show fits
// none of them, and a person should get the case.
var unknownFaults = map[string]fault{
	// The controller's 5 V supply oscillates: it reads too high on average
	// and never twice the same, and the drive surges with it.
	"unknown-1": {spoil: func(w *works, d dice) {
		w.regulatorVolts = d.between(5.5, 5.85)
		w.regulatorSwings = d.between(0.5, 1.2)
	}},
	// A cracked track in the controller's signal path: all readings are good,
	// also at the control plug, and the drive comes and goes.
	"unknown-2": {spoil: func(w *works, d dice) { w.drops = true }},
	// A damp path in the loom from the pack's plus to the signal wire: the
	// signal rests too high at the plug, and right off the bike.
	"unknown-3": {spoil: func(w *works, d dice) {
		w.leaks = append(w.leaks, leak{"display-supply", "control-signal", w.label * w.sensorOhm / d.between(0.5, 1.2)})
	}},
	// The lamp's return was put on the throttle's ground, through a poor pin:
	// all is well until the lights go on.
	"unknown-4": {spoil: func(w *works, d dice) {
		w.ohm["lights-ground"] = open
		w.ohm["control-ground"] += 0.9 / (12 / w.lampOhm)
		w.leaks = append(w.leaks, leak{"lights-ground", "control-ground", 0.05})
	}},
}

// Unknown are the ids of faults that no knowledge base lists, sorted.
func Unknown() []string { return []string{"unknown-1", "unknown-2", "unknown-3", "unknown-4"} }
