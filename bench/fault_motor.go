package bench

var sensingFaults = map[string]fault{
	"hall-plug-unseated": {spoil: func(w *works, d dice) {
		pins := []string{"hall-plug", "hall-plug-ground", "hall-a", "hall-b", "hall-c", "hall-temperature"}
		if d.chance(0.3) {
			pins = pins[d.IntN(5):][:1]
		}
		breaks(pins...)(w, d)
		w.shows(d, "unseated-hall", 0.9)
		w.tells(d, "after-part-change", 0.35)
	}},
	"hall-supply-missing": {spoil: func(w *works, d dice) {
		w.ohm[d.pick("hall-supply", "hall-ground")] = open
	}},
	"hall-sensor-dead": {spoil: func(w *works, d dice) {
		w.hallStuck[d.IntN(3)] = 1 + d.IntN(2)
	}},
	"hall-wire-broken": {spoil: func(w *works, d dice) {
		breaksOrRattles("hall-"+d.pick(hallNames[:]...), 0.15)(w, d)
	}},
	"phase-order-wrong": {spoil: func(w *works, d dice) {
		w.reversed = d.chance(0.35)
		w.mismatched = !w.reversed
		w.settingsDiffer = d.chance(0.2)
		w.tells(d, "after-install", 0.5)
		if len(w.told) == 0 {
			w.tells(d, "after-part-change", 0.9)
		}
	}},
	"motor-temp-sensor-failed": {part: "motor-temp-sensor", spoil: func(w *works, d dice) {
		w.thermistorOhm = d.decades(1, 60)
		if d.chance(0.6) {
			w.thermistorOhm = 500e6
		}
	}},
	"pedal-sensor-failed":     {part: "pedal-sensor", spoil: func(w *works, d dice) { w.pedalDead = true }},
	"pedal-magnet-misaligned": {part: "pedal-sensor", spoil: func(w *works, d dice) { w.pedalRingOff = true }},
	"pedal-plug-unseated":     {part: "pedal-sensor", spoil: breaks("pedal-supply", "pedal-return", "pedal-signal")},
	"speed-sensor-failed":     {part: "speed-sensor", spoil: func(w *works, d dice) { w.speedDead = true }},
	"speed-magnet-missing":    {part: "speed-sensor", spoil: func(w *works, d dice) { w.speedMagnetOff = true }},
}

var motorFaults = map[string]fault{
	"phase-joint-loose": {spoil: func(w *works, d dice) {
		joint := "joint-" + d.pick(phaseNames[:]...)
		w.ohm[joint] = d.decades(0.06, 5)
		if d.chance(0.35) {
			w.rattles = append(w.rattles, joint)
		}
		w.shows(d, "burnt", 0.65)
		w.tells(d, "burning-smell", 0.06)
	}},
	"phase-wire-broken": {spoil: func(w *works, d dice) {
		breaksOrRattles("motor-wire-"+d.pick(phaseNames[:]...), 0.1)(w, d)
	}},
	"winding-shorted": {spoil: func(w *works, d dice) {
		w.tells(d, "burning-smell", 0.08)
		if d.chance(0.65) {
			w.shortedTurns = d.between(0.15, 0.6)
			return
		}
		w.leaks = append(w.leaks, leak{"coil-u", "coil-v", d.decades(0.002, 0.03)})
	}},
	"winding-to-case": {spoil: func(w *works, d dice) {
		w.caseOhm = d.decades(10, 50e3)
		w.tells(d, "after-rain", 0.3)
	}},
	"axle-cable-crushed": {part: "hub-motor", spoil: func(w *works, d dice) {
		w.axleCut = d.chance(0.95)
		switch d.weigh(0.4, 0.25, 0.2, 0.15) {
		case 0:
			w.ohm["hall-"+d.pick(hallNames[:]...)] = open
		case 1:
			w.ohm["motor-wire-"+d.pick(phaseNames[:]...)] = open
		case 2:
			w.leaks = append(w.leaks, leak{"motor-5v", "motor-ground", d.decades(0.5, 10)})
		case 3:
			w.leaks = append(w.leaks, leak{"coil-u", "coil-w", d.decades(0.002, 0.05)})
		}
		w.tells(d, "after-crash", 0.25)
	}},
	"motor-demagnetised": {spoil: func(w *works, d dice) { w.magnetism = d.between(0.55, 0.8) }},
}

var mechanicFaults = map[string]fault{
	"freewheel-slips": {part: "geared-hub", spoil: func(w *works, d dice) {
		w.freewheelSlips = true
		w.gearsGone = d.chance(0.5)
	}},
	"chain-off":            {part: "chain", spoil: func(w *works, d dice) { w.chainOff = true }},
	"sprocket-key-sheared": {part: "chain", spoil: func(w *works, d dice) { w.keySheared = true }},
	"bearing-worn":         {spoil: func(w *works, d dice) { w.bearingWorn = true }},
	"brake-drags":          {spoil: func(w *works, d dice) { w.brakeDrags = true }},
	"tyre-low":             {spoil: func(w *works, d dice) { w.tyreSoft = true }},
}

var bodyFaults = map[string]fault{
	"converter-failed":     {spoil: func(w *works, d dice) { w.converterDead = true }},
	"lights-fuse-blown":    {spoil: breaks("lights-fuse")},
	"lights-switch-failed": {spoil: breaks("lights-switch")},
	"lights-ground-loose": {spoil: func(w *works, d dice) {
		w.ohm["lights-ground"] = open
		if d.chance(0.25) {
			w.ohm["lights-ground"] = d.decades(30, 400)
		}
	}},
	"bulb-failed":        {spoil: func(w *works, d dice) { w.bulbBlown = true }},
	"horn-failed":        {spoil: func(w *works, d dice) { w.hornDead = true }},
	"horn-button-failed": {spoil: breaks("horn-button")},
}
