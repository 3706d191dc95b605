package bench

import "strings"

var controllerFaults = map[string]fault{
	"controller-dead": {spoil: func(w *works, d dice) {
		w.logicDead = true
		w.tells(d, "after-rain", 0.2)
		w.tells(d, "burning-smell", 0.05)
	}},
	"regulator-dead": {spoil: func(w *works, d dice) {
		if d.chance(0.85) {
			w.regulatorPeak = 0
			return
		}
		w.regulatorVolts = d.between(1.2, 3.6)
	}},
	"throttle-input-dead": {spoil: func(w *works, d dice) { w.deaf = true }},
	"bridge-shorted": {spoil: func(w *works, d dice) {
		phase, to := "phase-"+d.pick(phaseNames[:]...), d.pick("b-minus", "b-plus")
		w.leaks = append(w.leaks, leak{phase, to, d.decades(0.005, 0.08)})
		w.tells(d, "burning-smell", 0.06)
	}},
	"bridge-open": {spoil: func(w *works, d dice) {
		if d.chance(0.75) {
			w.undriven = 1 + d.IntN(3)
			return
		}
		w.blown = 1 + d.IntN(3)
	}},
	"settings-wrong": {spoil: func(w *works, d dice) {
		w.settingsDiffer = true
		switch d.weigh(0.3, 0.35, 0.35) {
		case 0: // the pack's voltage: the limit is that of a bigger pack
			w.cutsBelow = w.full() * d.between(1.02, 1.15)
		case 1: // the throttle's range
			w.demandFrom = d.between(0.45, 0.6)
			w.demandTo = d.between(0.7, 0.78)
		case 2: // power and motor
			w.tuned = d.between(0.35, 0.65)
		}
		w.tells(d, "after-install", 0.35)
		w.tells(d, "after-part-change", 0.3)
	}},
	"thermal-cutback": {spoil: func(w *works, d dice) { w.hot = true }},
	"low-voltage-limit": {spoil: func(w *works, d dice) {
		if d.chance(0.5) {
			w.charge = d.between(0.05, 0.1)
			w.cutsBelow = w.packVolts() * d.between(0.975, 0.998)
			return
		}
		w.settingsDiffer = true
		w.cutsBelow = w.packVolts() * d.between(0.985, 1.05)
	}},
	"lockout-active": {spoil: func(w *works, d dice) {
		w.lock = parked
		if d.chance(0.4) {
			w.lock = assistZero
		}
	}},
}

var harnessFaults = map[string]fault{
	"control-plug-unseated": {spoil: func(w *works, d dice) {
		pins := []string{"control-plug", "control-ground", "control-signal", "control-brake", "control-stand"}
		if d.chance(0.3) {
			pins = pins[d.IntN(3):][:1] // it sits askew: one pin does not touch
		}
		breaks(pins...)(w, d)
		w.shows(d, "unseated-control", 0.9)
		w.tells(d, "after-part-change", 0.3)
	}},
	"control-pin-backed-out": {spoil: func(w *works, d dice) {
		pins := []string{"control-ground", "control-plug", "control-signal"}
		w.ohm[pins[d.weigh(0.65, 0.15, 0.2)]] = open
		w.shows(d, "bent-pin", 0.5)
	}},
	"harness-5v-open":     {spoil: breaksOrRattles("harness-5v", 0.15)},
	"harness-ground-open": {spoil: breaksOrRattles("harness-ground", 0.15)},
	"harness-signal-open": {spoil: breaksOrRattles("harness-signal", 0.15)},
	"five-volt-shorted": {spoil: func(w *works, d dice) {
		at := [][2]string{{"sensor-5v", "sensor-ground"}, {"motor-5v", "motor-ground"}, {"throttle-plug-5v", "throttle-plug-ground"}, {"pedal-5v", "pedal-ground"}, {"speed-5v", "speed-ground"}}
		weights := []float64{0.45, 0.25, 0.15, 0, 0}
		if w.pedal {
			weights[3] = 0.1
		}
		if w.speed {
			weights[4] = 0.05
		}
		short := at[d.weigh(weights...)]
		w.leaks = append(w.leaks, leak{short[0], short[1], d.decades(0.4, 20)})
		w.tells(d, "after-rain", 0.2)
	}},
	"water-in-plug": {spoil: func(w *works, d dice) {
		switch d.weigh(0.3, 0.15, 0.2, 0.2, 0.15) {
		case 0:
			w.leaks = append(w.leaks, leak{"throttle-5v", "throttle-signal", d.decades(80, 500)})
		case 1:
			w.leaks = append(w.leaks, leak{"throttle-signal", "throttle-ground", d.decades(10, 60)})
		case 2:
			w.leaks = append(w.leaks, leak{"control-brake", "control-ground", d.decades(200, 3000)})
		case 3:
			w.leaks = append(w.leaks, leak{"hall-" + d.pick(hallNames[:]...), "hall-ground", d.decades(200, 3000)})
		case 4: // green pins
			w.ohm["throttle-plug"] += d.decades(300, 2000)
		}
		w.shows(d, "wet", 0.85)
		w.tells(d, "after-rain", 0.85)
	}},
	"meter-misused": {spoil: func(w *works, d dice) {
		switch d.weigh(0.4, 0.4, 0.2) {
		case 0: // its battery is low: it reads too high
			w.meter.factor = d.between(1.15, 1.7)
		case 1:
			w.meter.factor = d.between(0.4, 0.85)
		case 2: // a broken lead, or the wrong jack
			w.meter.factor = 0
		}
	}},
}

var throttleFaults = map[string]fault{
	"throttle-plug-unseated": {spoil: func(w *works, d dice) {
		pins := []string{"throttle-plug", "throttle-plug-ground", "throttle-plug-signal"}
		if d.chance(0.25) {
			pins = pins[d.IntN(3):][:1]
		}
		breaks(pins...)(w, d)
		w.shows(d, "unseated-throttle", 0.9)
		w.tells(d, "after-part-change", 0.3)
	}},
	"throttle-wires-swapped": {spoil: func(w *works, d dice) {
		w.wiring = wiring(1 + d.IntN(3))
		w.tells(d, "after-install", 0.5)
		if len(w.told) == 0 {
			w.tells(d, "after-part-change", 0.9)
		}
	}},
	"throttle-stuck-low": {spoil: func(w *works, d dice) {
		if d.chance(0.8) {
			w.sensorDead = true
			return
		}
		w.sensorOhm = 50e6 // the output is broken off inside
	}},
	"throttle-stuck-high": {spoil: func(w *works, d dice) {
		if d.chance(0.6) {
			w.pinned = true
			return
		}
		w.restAt = d.between(0.6, 0.9)
		w.fullAt = max(w.restAt, w.fullAt)
	}},
	"throttle-magnet-shifted": {spoil: func(w *works, d dice) {
		switch d.weigh(0.45, 0.4, 0.15) {
		case 0:
			w.restAt = d.between(0.265, 0.33)
		case 1:
			w.fullAt = d.between(0.42, 0.6)
		case 2:
			w.restAt = d.between(0.09, 0.14)
			w.fullAt = d.between(0.42, 0.6)
		}
	}},
	"throttle-sticky": {spoil: func(w *works, d dice) {
		w.returnsTo = d.between(0.22, 0.6)
		if d.chance(0.5) {
			w.idlesAt = w.returnsTo * d.between(0.3, 1)
		}
		w.tells(d, "after-crash", 0.2)
	}},
	"throttle-intermittent": {spoil: func(w *works, d dice) {
		w.rattles = append(w.rattles, d.pick("lead-5v", "lead-ground", "lead-signal"))
	}},
}

var inhibitFaults = map[string]fault{
	"brake-switch-stuck": {spoil: func(w *works, d dice) {
		w.leverClosed[d.IntN(2)] = true
		w.tells(d, "after-crash", 0.2)
	}},
	"brake-wire-shorted": {spoil: func(w *works, d dice) {
		side := d.pick("left-brake", "right-brake")
		if d.chance(0.4) {
			side = "brake-wire" // in the harness, behind both plugs
		}
		w.leaks = append(w.leaks, leak{side, strings.Replace(side, "-wire", "", 1) + "-ground", d.decades(0.1, 20)})
	}},
	"stand-down": {part: "stand-switch", spoil: func(w *works, d dice) { w.standIsDown = true }},
	"stand-switch-failed": {part: "stand-switch", spoil: func(w *works, d dice) {
		if d.chance(0.85) {
			w.standBroken = true
			return
		}
		w.ohm["stand"] = d.decades(2e4, 2e5) // burnt contacts
	}},
}
