package bench

import "fmt"

// wire is a conductor with its contacts: a length of copper, a joint or a
// closed switch.
type wire struct {
	name, from, to string
	mm2, metres    float64 // 0: only a contact
	contact        float64 // Ω of its contacts, in the middle of the healthy ones
	plug           plugs   // whose opening opens it
}

// Contacts when new: a plug 2 to 5 mΩ (the trade's figure), thick joints
// and breakers less, small switches more.
const (
	jointOhm  = 0.0006
	plugOhm   = 0.0035
	switchOhm = 0.02
)

// wires are the conductors of a kit that carry supply, signals and grounds.
func wires(b build) []wire {
	thin, loom := 0.5, b.loomMetres
	list := []wire{
		{"bms", "cells", "pack", 0, 0, 0.003, 0},
		{"pack-plug", "pack", "bike-side", 0, 0, 0.0012, packPlug},
		{"pack-plug-minus", "pack-minus", "bike-minus", 0, 0, 0.0012, packPlug},
		{"isolator", "bike-side", "isolated", 0, 0, 0.0018, 0},
		{"main-fuse", "isolated", "fused", 0, 0, 0.001, 0},
		{"feed-wire", "fused", "b-plus", b.feedMM2, b.feedMetres, 2 * jointOhm, 0},
		{"minus-wire", "bike-minus", "b-minus", b.feedMM2, b.feedMetres, 2 * jointOhm, 0},

		{"display-ground", "b-minus", "display-ground", thin, loom, plugOhm, 0},
		{"display-plug", "display-supply", "display-pin", 0, 0, plugOhm, displayPlug},
		{"display-plug-ground", "display-ground", "display-pin-ground", 0, 0, plugOhm, displayPlug},

		{"control-plug", "five-volt", "control-5v", 0, 0, plugOhm, controlPlug},
		{"control-ground", "b-minus", "control-ground", 0, 0, plugOhm, controlPlug},
		{"control-signal", "signal-in", "control-signal", 0, 0, plugOhm, controlPlug},
		{"control-brake", "brake-in", "control-brake", 0, 0, plugOhm, controlPlug},
		{"harness-5v", "control-5v", "throttle-plug-5v", thin, loom, 0, 0},
		{"harness-ground", "control-ground", "throttle-plug-ground", thin, loom, 0, 0},
		{"harness-signal", "control-signal", "throttle-plug-signal", thin, loom, 0, 0},
		{"throttle-plug", "throttle-plug-5v", "throttle-5v", 0, 0, plugOhm, throttlePlug},
		{"throttle-plug-ground", "throttle-plug-ground", "throttle-ground", 0, 0, plugOhm, throttlePlug},
		{"throttle-plug-signal", "throttle-plug-signal", "throttle-signal", 0, 0, plugOhm, throttlePlug},

		{"lead-5v", "throttle-5v", "sensor-5v", thin, 0.3, 0, 0},
		{"lead-ground", "throttle-ground", "sensor-ground", thin, 0.3, 0, 0},
		{"lead-signal", "throttle-signal", "sensor-signal", thin, 0.3, 0, 0},

		{"harness-brake", "control-brake", "brake-wire", thin, loom, 0, 0},
		{"harness-brake-ground", "control-ground", "brake-ground", thin, loom, 0, 0},
		{"brake-plug-left", "brake-wire", "left-brake", 0, 0, plugOhm, brakePlugs},
		{"brake-plug-left-ground", "brake-ground", "left-brake-ground", 0, 0, plugOhm, brakePlugs},
		{"brake-plug-right", "brake-wire", "right-brake", 0, 0, plugOhm, brakePlugs},
		{"brake-plug-right-ground", "brake-ground", "right-brake-ground", 0, 0, plugOhm, brakePlugs},

		{"hall-supply", "five-volt", "hall-5v", thin, 0.4, 0, 0},
		{"hall-ground", "b-minus", "hall-ground", thin, 0.4, 0, 0},
		{"hall-plug", "hall-5v", "motor-5v", thin, b.phaseMetres, plugOhm, hallPlug},
		{"hall-plug-ground", "hall-ground", "motor-ground", thin, b.phaseMetres, plugOhm, hallPlug},

		{"converter-wire", "isolated", "converter-in", 0.75, 0.6, plugOhm, 0},
		{"lights-fuse", "twelve-volt", "lights-fused", 0, 0, 0.03, 0},
		{"lights-switch", "lights-fused", "lights-supply", 0.75, loom, switchOhm, 0},
		{"lights-ground", "bike-minus", "lights-ground", 0.75, loom, plugOhm, 0},
		{"horn-button", "lights-fused", "horn-supply", 0.75, loom, switchOhm, 0},

		{"charge-path", "cells", "charge-in", 0, 0, 0.005, 0},
		{"charge-fuse", "charge-in", "port-fused", 0, 0, 0.01, 0},
		{"charge-port", "port-fused", "charge-port", 0, 0, plugOhm, 0},
		{"charge-port-minus", "pack-minus", "charge-port-minus", 0, 0, plugOhm, 0},
		{"charger-plug", "charger-plus", "charge-port", 0, 0, plugOhm, chargerPlug},
		{"charger-plug-minus", "charge-port-minus", "charger-minus", 0, 0, plugOhm, chargerPlug},
	}
	for _, p := range phaseNames {
		list = append(list,
			wire{"joint-" + p, "phase-" + p, "motor-" + p, 0, 0, jointOhm, motorPlugs},
			wire{"motor-wire-" + p, "motor-" + p, "coil-" + p, b.phaseMM2, b.phaseMetres, 0, 0})
	}
	for _, h := range hallNames {
		list = append(list, wire{"hall-" + h, "hall-" + h, "motor-hall-" + h, thin, b.phaseMetres, plugOhm, hallPlug})
	}
	if b.keyed {
		list = append(list,
			wire{"key-wire", "isolated", "key-in", 0.75, 0.8, plugOhm, 0},
			wire{"key-switch", "key-in", "key-out", 0, 0, switchOhm, 0},
			wire{"display-cable", "key-out", "display-supply", thin, 0.4, plugOhm, 0},
			wire{"logic-wire", "key-out", "logic", thin, loom, plugOhm, 0})
	} else {
		// The display's button latches the logic on, through the display.
		list = append(list,
			wire{"display-cable", "b-plus", "display-supply", thin, loom, plugOhm, 0},
			wire{"display-wake", "display-pin", "logic", thin, loom, switchOhm, 0})
	}
	if b.stand {
		list = append(list,
			wire{"control-stand", "stand-in", "control-stand", 0, 0, plugOhm, controlPlug},
			wire{"harness-stand", "control-stand", "stand-wire", thin, 0.8, 0, 0},
			wire{"harness-stand-ground", "control-ground", "stand-ground", thin, 0.8, 0, 0},
			wire{"stand-plug", "stand-wire", "stand-switch", 0, 0, plugOhm, standPlug},
			wire{"stand-plug-ground", "stand-ground", "stand-switch-ground", 0, 0, plugOhm, standPlug})
	}
	if b.motorTemp {
		list = append(list, wire{"hall-temperature", "hall-temperature", "motor-temperature", thin, b.phaseMetres, plugOhm, hallPlug})
	}
	if b.pedal {
		list = append(list, sensorWires("pedal", pedalPlug)...)
	}
	if b.speed {
		list = append(list, sensorWires("speed", speedPlug)...)
	}
	return list
}

// sensorWires lead from the control plug's loom to a switching sensor.
func sensorWires(name string, plug plugs) []wire {
	return []wire{
		{name + "-supply", "control-5v", name + "-5v", 0.5, 0.9, plugOhm, plug},
		{name + "-return", "control-ground", name + "-ground", 0.5, 0.9, plugOhm, plug},
		{name + "-signal", name + "-in", name + "-out", 0.5, 0.9, plugOhm, plug},
	}
}

var (
	phaseNames = [3]string{"u", "v", "w"}
	hallNames  = [3]string{"a", "b", "c"}
)

// ohms are the resistances of healthy conductors of one bike: copper by
// length and temperature, contacts a third better or worse than the middle.
func ohms(b build, celsius float64, seed uint64) (map[string]float64, error) {
	out := make(map[string]float64)
	for _, w := range wires(b) {
		d := roll(seed, b.id+" wire "+w.name)
		r := d.around(w.contact, 0.35)
		if w.metres > 0 {
			c, err := copper(w.mm2, d.around(w.metres, 0.1), celsius)
			if err != nil {
				return nil, fmt.Errorf("wire %q of %q: %w", w.name, b.id, err)
			}
			r += c
		}
		out[w.name] = r
	}
	return out, nil
}
