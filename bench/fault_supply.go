package bench

var packFaults = map[string]fault{
	"pack-flat": {spoil: func(w *works, d dice) {
		w.charge = d.between(0.003, 0.04)
		// Some cells go below what the protection allows before anybody looks.
		w.tripped = w.cell.volts.at(w.charge) < w.cell.cutOff
		w.tells(d, "after-storage", 0.4)
	}},
	"bms-tripped": {spoil: func(w *works, d dice) {
		w.tripped = true
		switch d.weigh(0.4, 0.3, 0.3) {
		case 0:
			w.charge = d.between(0.01, 0.06)
			w.tells(d, "after-storage", 0.5)
		case 1:
			w.celsius = d.between(-6, 2)
			w.tells(d, "cold-weather", 0.8)
		}
	}},
	"cell-group-weak": {spoil: func(w *works, d dice) {
		// By the volts the group gives away at the controller's full current.
		w.weakOhm = d.decades(3, 30) / w.amps
		w.weakVolts = d.between(0.1, 0.5)
	}},
	"pack-not-seated": {spoil: func(w *works, d dice) {
		w.seated = false
		if d.chance(0.25) {
			which := d.pick("pack-plug", "pack-plug-minus")
			w.rattles = append(w.rattles, which)
			w.ohm[which] += d.decades(0.02, 0.5)
			w.seated = d.chance(0.3)
			return
		}
		w.ohm["pack-plug"], w.ohm["pack-plug-minus"] = open, open
	}},
	"pack-plug-burnt": {spoil: func(w *works, d dice) {
		which := d.pick("pack-plug", "pack-plug", "pack-plug-minus")
		switch d.weigh(0.7, 0.15, 0.15) {
		case 0:
			w.ohm[which] += d.decades(0.15, 2)
			if d.chance(0.3) {
				w.rattles = append(w.rattles, which)
			}
		case 1:
			w.ohm[which] += d.decades(2, 50)
		case 2:
			w.ohm[which] = open
		}
		w.shows(d, "burnt", 0.6)
		w.tells(d, "burning-smell", 0.06)
	}},
	"charge-blocked": {spoil: func(w *works, d dice) {
		w.refuses = true
		if d.chance(0.3) {
			w.celsius = d.between(-6, 2)
			w.tells(d, "cold-weather", 0.8)
		}
	}},
}

var feedFaults = map[string]fault{
	"breaker-off": {spoil: func(w *works, d dice) { w.thrown = false }},
	"breaker-failed": {spoil: func(w *works, d dice) {
		if d.chance(0.6) {
			w.ohm["isolator"] = open
			return
		}
		w.ohm["isolator"] += d.decades(0.08, 3)
	}},
	"main-fuse-blown": {spoil: breaks("main-fuse")},
	"main-positive-loose": {spoil: func(w *works, d dice) {
		w.ohm["feed-wire"] += d.decades(0.15, 3)
		if d.chance(0.35) {
			w.rattles = append(w.rattles, "feed-wire")
		}
	}},
	"main-negative-loose": {spoil: func(w *works, d dice) {
		w.ohm["minus-wire"] += d.decades(0.15, 3)
		if d.chance(0.35) {
			w.rattles = append(w.rattles, "minus-wire")
		}
	}},
	"precharge-failed": {part: "precharge", spoil: func(w *works, d dice) { w.noPrecharge = true }},
	"key-off":          {part: "key-switch", spoil: func(w *works, d dice) { w.turned = false }},
	"key-switch-failed": {part: "key-switch", spoil: func(w *works, d dice) {
		switch d.weigh(0.75, 0.1, 0.15) {
		case 0:
			w.ohm["key-switch"] = open
		case 1:
			w.ohm["key-switch"] = d.decades(60, 2000)
		case 2:
			w.rattles = append(w.rattles, "key-switch")
		}
	}},
	"key-wire-open": {part: "key-switch", spoil: breaksOrRattles("key-wire", 0.15)},
	"display-unplugged": {spoil: func(w *works, d dice) {
		w.ohm["display-plug"], w.ohm["display-plug-ground"] = open, open
		w.shows(d, "unseated-display", 0.9)
		w.tells(d, "after-part-change", 0.3)
	}},
	"display-cable-damaged": {spoil: func(w *works, d dice) {
		switch d.weigh(0.5, 0.2, 0.15, 0.15) {
		case 0:
			w.ohm["display-cable"] = open
		case 1:
			w.ohm["display-ground"] = open
		case 2:
			w.rattles = append(w.rattles, "display-cable")
		case 3:
			w.ohm["display-plug"] = open
			w.shows(d, "bent-pin", 0.7)
		}
		w.tells(d, "after-crash", 0.25)
	}},
	"display-failed": {spoil: func(w *works, d dice) {
		w.displayDead = true
		w.tells(d, "after-rain", 0.2)
	}},
}

var chargingFaults = map[string]fault{
	"charger-failed": {spoil: func(w *works, d dice) {
		w.discharge(d)
		if d.chance(0.65) {
			w.chargerDead = true
			return
		}
		w.chargerVolts = w.packVolts() * d.between(0.75, 0.985)
	}},
	"charge-port-damaged": {spoil: func(w *works, d dice) {
		w.discharge(d)
		switch d.weigh(0.55, 0.25, 0.2) {
		case 0:
			w.ohm["charge-port"] = open
		case 1:
			w.ohm["charge-port-minus"] = open
		case 2:
			w.ohm["charge-port"] = d.decades(3, 60)
		}
		w.portMarked = d.chance(0.7)
	}},
	"charge-fuse-blown": {spoil: func(w *works, d dice) {
		w.discharge(d)
		w.ohm["charge-fuse"] = open
	}},
	"mains-off": {spoil: func(w *works, d dice) {
		w.discharge(d)
		w.mainsOff = true
	}},
}

// discharge leaves a pack that has room for a charge: nobody complains of a
// charger while the pack is full.
func (w *works) discharge(d dice) { w.charge = min(w.charge, d.between(0.15, 0.7)) }
