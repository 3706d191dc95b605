package bench

// throttleCircuit is the Hall sensor of the throttle behind its plug, with
// the protection diodes such a chip has: they say what a wrong wiring reads.
func throttleCircuit(n *network, w *works, s scene) {
	five, ground, signal := "sensor-5v", "sensor-ground", "sensor-signal"
	switch w.wiring {
	case supplySwapped:
		five, ground = ground, five
	case signalSupply:
		five, signal = signal, five
	case signalGround:
		ground, signal = signal, ground
	}
	opening := s.opening
	if s.released {
		opening = w.returnsTo
	}
	opening = max(opening, w.idlesAt)
	fraction := w.restAt + (w.fullAt-w.restAt)*opening
	switch {
	case w.sensorDead:
		fraction = 0.004
	case w.pinned:
		fraction = 0.97
	}
	n.resist(five, ground, 5/(w.sensorMilliamp/1000))
	n.add(follower{n.at(five), n.at(ground), n.at(signal), fraction, w.sensorOhm})
	const saturation, ideality = 1e-12, 1.1
	n.add(diode{n.at(ground), n.at(five), saturation, ideality})
	n.add(diode{n.at(signal), n.at(five), saturation, ideality})
	n.add(diode{n.at(ground), n.at(signal), saturation, ideality})
	if s.usb {
		n.resist("throttle-ground", "pack-minus", 1e6) // such a supply's minus is earthed
		n.add(supply{n.at("throttle-5v"), n.at("throttle-ground"), 5.05, 0.2, 0.5})
	}
}

// inhibitCircuit is the brake levers' switches, normally open, and the
// stand's switch, closed with the stand up.
func inhibitCircuit(n *network, w *works, s scene) {
	for i, side := range []string{"left-brake", "right-brake"} {
		made := (s.brake && !w.leverOpen[i]) || w.leverClosed[i]
		ohm := open
		if made {
			ohm = w.ohm[side]
		}
		n.resist(side, side+"-ground", ohm)
	}
	if w.stand {
		ohm := open
		if (s.standUp || !w.standIsDown) && !w.standBroken {
			ohm = w.ohm["stand"]
		}
		n.resist("stand-switch", "stand-switch-ground", ohm)
	}
}

// sixStep are the states of halls A, B and C over one electrical turn, 120°
// apart: one changes at each step, and they are never all high or all low.
var sixStep = [6][3]bool{
	{true, false, true}, {true, false, false}, {true, true, false},
	{false, true, false}, {false, true, true}, {false, false, true},
}

// hallCircuit is the three switching halls in the motor; the controller
// pulls their outputs up, they pull down.
func hallCircuit(n *network, w *works, s scene) {
	five, ground := n.at("motor-5v"), n.at("motor-ground")
	n.resist("motor-5v", "motor-ground", 5/0.012)
	state := sixStep[((s.angle%6)+6)%6]
	for i, h := range hallNames {
		low := !state[i]
		switch w.hallStuck[i] {
		case 1:
			low = true
		case 2:
			low = false
		}
		out := n.at("motor-hall-" + h)
		if low {
			n.add(sink{five, ground, out, 60})
		}
	}
	if w.motorTemp {
		ohm := w.thermistorOhm
		if ohm == 0 {
			ohm = thermistor(w.celsius)
		}
		n.resist("motor-temperature", "motor-ground", ohm)
	}
}

// sensorCircuit is the pedal and the wheel sensor: they pull low while a
// magnet is near.
func sensorCircuit(n *network, w *works, s scene) {
	one := func(name string, dead, unseen bool) {
		n.resist("five-volt", name+"-in", 10e3)
		n.resist(name+"-5v", name+"-ground", 5/0.004)
		if s.magnet && !dead && !unseen {
			n.add(sink{n.at(name + "-5v"), n.at(name + "-ground"), n.at(name + "-out"), 80})
		}
	}
	if w.pedal {
		one("pedal", w.pedalDead, w.pedalRingOff)
	}
	if w.speed {
		one("speed", w.speedDead, w.speedMagnetOff)
	}
}
