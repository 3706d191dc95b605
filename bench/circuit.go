package bench

import (
	"math"
)

// running is what has come up: what the solved voltages allow.
type running struct {
	awake     bool    // controller logic
	display   bool    // the display's own electronics
	converter bool    // the DC-DC converter
	motor     float64 // W the motor takes
	opened    bool    // the pack's protection has opened under load
}

// insulation is what joins every point to everything else, Ω.
const insulation = 2e9

// circuit is the network of a bike in a scene, with what runs.
func circuit(w *works, s scene, run running) *network {
	n := newNetwork()
	for _, c := range wires(w.build) {
		ohm := w.ohm[c.name]
		if s.off.has(c.plug) || w.opens(s, c.name) || switchedOff(w, s, run, c.name) {
			ohm = open
		}
		n.resist(c.from, c.to, ohm)
	}
	if s.off.has(packPlug) || (math.IsInf(w.ohm["pack-plug"], 1) && math.IsInf(w.ohm["pack-plug-minus"], 1)) {
		// Pack and bike are two networks that nothing joins: without this
		// one tie the bike's voltages would hang in the air.
		n.resist("bike-minus", "pack-minus", 1000)
	}
	packCircuit(n, w, s, run)
	controllerCircuit(n, w, run)
	throttleCircuit(n, w, s)
	inhibitCircuit(n, w, s)
	hallCircuit(n, w, s)
	sensorCircuit(n, w, s)
	motorCircuit(n, w, s)
	twelveVoltCircuit(n, w, run)
	for _, l := range w.leaks {
		n.resist(l.from, l.to, l.ohm)
	}
	for i := 1; i < len(n.names); i++ {
		n.add(resistor{node(i), 0, insulation})
	}
	// A loose end of the loom picks up a little of the pack's voltage from
	// its neighbours: the ghost volts a 10 MΩ meter shows.
	for _, name := range []string{"control-5v", "throttle-plug-5v", "throttle-5v", "throttle-signal", "control-signal",
		"hall-5v", "display-supply", "lights-supply", "motor-hall-a", "motor-hall-b", "motor-hall-c"} {
		n.resist("isolated", name, w.ghostOhm)
	}
	return n
}

// switchedOff says whether a conductor is a switch that stands open.
func switchedOff(w *works, s scene, run running, name string) bool {
	switch name {
	case "isolator":
		return s.isolatorOff || !w.thrown
	case "key-switch":
		return s.keyOff || !w.turned
	case "display-wake":
		return s.keyOff || w.displayDead
	case "lights-switch":
		return !s.lights
	case "horn-button":
		return !s.horn
	case "bms":
		return w.tripped || run.opened
	case "charge-path":
		return w.refuses
	}
	return false
}

func packCircuit(n *network, w *works, s scene, run running) {
	n.add(source{n.at("cells"), 0, w.packVolts(), w.packOhm()})
	if w.tripped || run.opened {
		// Transistors that block still let a trace through.
		n.resist("cells", "pack", 600e6)
	}
	if w.refuses {
		// The charge transistor's body diode still lets current out.
		n.add(diode{n.at("cells"), n.at("charge-in"), 1e-9, 1.1})
	}
	if s.charging && !w.mainsOff && !w.chargerDead {
		n.add(supply{n.at("charger-plus"), n.at("charger-minus"), w.chargerVolts, 0.05, w.chargeAmps})
	}
}

func controllerCircuit(n *network, w *works, run running) {
	bPlus, bMinus, logic, five := n.at("b-plus"), n.at("b-minus"), n.at("logic"), n.at("five-volt")
	n.resist("b-plus", "b-minus", w.bleedOhm)
	if run.motor > 0 {
		n.add(power{bPlus, bMinus, run.motor, 0.3 * w.label})
	}
	if run.awake {
		n.add(power{logic, bMinus, 1.5, 0.3 * w.label})
		if w.regulatorPeak > 0 {
			n.add(regulator{logic, five, bMinus, w.regulatorVolts, 0.4, w.regulatorPeak, w.regulatorShort})
		}
	}
	n.resist("signal-in", "b-minus", 100e3)
	n.resist("five-volt", "brake-in", 10e3)
	n.resist("five-volt", "b-minus", 4700) // the logic's own share
	if w.stand {
		n.resist("five-volt", "stand-in", 10e3)
	}
	for _, h := range hallNames {
		n.resist("five-volt", "hall-"+h, 4700)
	}
	if w.motorTemp {
		n.resist("five-volt", "hall-temperature", 10e3)
	}
	if run.display {
		n.add(power{n.at("display-pin"), n.at("display-pin-ground"), 1.2, 0.3 * w.label})
	}
}

func twelveVoltCircuit(n *network, w *works, run running) {
	in, out, ground := n.at("converter-in"), n.at("twelve-volt"), n.at("bike-minus")
	if run.converter {
		n.add(converter{in, out, ground, w.converterVolts, 0.06, 6, 0.87, 0.4, 0.3 * w.label})
	}
	if !w.bulbBlown {
		n.resist("lights-supply", "lights-ground", w.lampOhm)
	}
	if !w.hornDead {
		n.resist("horn-supply", "bike-minus", w.hornOhm)
	}
}

// guess is where the search for the voltages begins: each point at what it
// has on a sound bike. Only the way there depends on it, not the end.
func guess(n *network, w *works) []float64 {
	v := make([]float64, len(n.names))
	for i, name := range n.names {
		switch name {
		case "cells", "pack", "bike-side", "isolated", "fused", "b-plus", "key-in", "key-out", "display-supply",
			"display-pin", "logic", "converter-in", "charge-in", "port-fused", "charge-port", "charger-plus":
			v[i] = w.packVolts()
		case "twelve-volt", "lights-fused":
			v[i] = w.converterVolts - 0.1 // on its stiff branch
		case "five-volt", "control-5v", "throttle-plug-5v", "throttle-5v", "sensor-5v", "hall-5v", "motor-5v",
			"pedal-5v", "speed-5v":
			v[i] = w.regulatorVolts - 0.02
		}
	}
	return v
}
