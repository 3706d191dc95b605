package bench

import "math"

// motorCircuit is the bridge as a meter finds it, its transistors off: two
// body diodes a phase; and behind the phase plugs the windings in a star,
// which make a voltage while the wheel is turned.
func motorCircuit(n *network, w *works, s scene) {
	bPlus, bMinus, star := n.at("b-plus"), n.at("b-minus"), n.at("star")
	for i, p := range phaseNames {
		phase := n.at("phase-" + p)
		if w.blown != i+1 {
			n.add(diode{bMinus, phase, 1e-10, 1.1})
		}
		n.add(diode{phase, bPlus, 1e-10, 1.1})
		n.resist("phase-"+p, "b-minus", 220e3) // the controller's voltage sensing

		volts := s.spin * w.magnetism * math.Sin(float64(s.angle)*math.Pi/3+float64(i)*2*math.Pi/3+0.4)
		if i == 0 && w.shortedTurns > 0 {
			tap := n.at("shorted-turns")
			part := w.shortedTurns
			n.add(source{tap, star, volts * (1 - part), w.windingOhm * (1 - part)})
			n.add(source{n.at("coil-u"), tap, volts * part, w.windingOhm * part})
			n.resist("coil-u", "shorted-turns", 0.002)
			continue
		}
		n.add(source{n.at("coil-" + p), star, volts, w.windingOhm})
	}
	n.resist("coil-v", "motor-case", w.caseOhm)
}

// handSpin is the voltage a winding makes, at its peak, when a wheel is spun by hand.
const handSpin = 3.0

// dragWatts is the mean power that turning the motor by hand, battery out,
// puts into shorted windings or transistors.
func (b *Bike) dragWatts(off plugs) (float64, error) {
	sum := 0.0
	// A third of a turn apart each phase takes the place of the next one.
	for angle := 0; angle < 6; angle += 2 {
		s := scene{isolatorOff: true, keyOff: true, off: off | packPlug, angle: angle, spin: handSpin}
		st, err := b.state(s)
		if err != nil {
			return 0, err
		}
		for _, br := range st.net.branches {
			if src, ok := br.(source); ok && src.volts != 0 && src.minus != 0 {
				amps := (src.volts - (st.volts[src.plus] - st.volts[src.minus])) / src.ohm
				sum += amps * src.volts / 3
			}
		}
	}
	return sum, nil
}
