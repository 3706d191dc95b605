package bench

// Power in W, at the speed of a hand, from which one feels a wheel drag.
const felt = 1.5

// drags says whether the wheel is hard to turn by hand with these plugs off:
// mechanically, or because windings or transistors brake it.
func (b *Bike) drags(off plugs) (bool, error) {
	w := &b.works
	if w.brakeDrags || w.bearingWorn {
		return true, nil
	}
	if b.loose() {
		return false, nil
	}
	watt, err := b.dragWatts(off)
	return watt > felt, err
}

func (b *Bike) wheelFree() (string, error) {
	d, err := b.drags(0)
	return either(d, "drags", "free"), err
}

func (b *Bike) dragUnplugged() (string, error) {
	plugged, err := b.drags(0)
	if err != nil || !plugged {
		return "light", err
	}
	off, err := b.drags(motorPlugs)
	return either(off, "drags-both", "drags-plugged"), err
}

// listen is what the motor does with the wheel up and a little throttle.
func (b *Bike) listen() (string, error) {
	how, err := b.turns(loaded)
	if err != nil {
		return "", err
	}
	w := &b.works
	switch {
	case how == still:
		return "silent", nil
	case how == stutters:
		return "stutters", nil
	case w.chainOff || w.keySheared || (w.freewheelSlips && w.gearsGone):
		return "whirs", nil
	case w.bearingWorn || w.freewheelSlips:
		return "grinds", nil
	}
	return "smooth", nil
}

// lights says whether the lamp shines: with more than two thirds of its volts.
func (b *Bike) lights() (bool, error) {
	st, err := b.state(lit)
	if err != nil || b.works.bulbBlown {
		return false, err
	}
	return st.across("lights-supply", "lights-ground") > 8, nil
}

// sounds says whether the horn does.
func (b *Bike) sounds() (bool, error) {
	st, err := b.state(scene{horn: true})
	if err != nil || b.works.hornDead {
		return false, err
	}
	return st.across("horn-supply", "bike-minus") > 8, nil
}

// pull is how hard the motor pulls at full throttle, 1 on a sound bike with
// the same charge.
func (b *Bike) pull(s scene) (float64, error) {
	how, err := b.turns(s)
	if err != nil || how == still {
		return 0, err
	}
	st, err := b.state(s)
	if err != nil {
		return 0, err
	}
	w := &b.works
	watt := w.amps * w.label * 0.9
	out := st.run.motor / watt * st.demand * w.magnetism
	// What bad joints between cells and controller eat does not pull.
	bus, cells := st.across("b-plus", "b-minus"), w.packVolts()
	out *= min(1, bus/cells/0.9)
	switch {
	case how == stutters:
		out *= 0.3
	case w.worstJoint() > 0.02:
		out *= 0.7
	case w.shortedTurns > 0:
		out *= 0.6
	}
	if w.motorTemp && tempFault(st) {
		out *= 0.5
	}
	return out, nil
}

// worstJoint is the largest resistance of a phase's path, Ω.
func (w *works) worstJoint() float64 {
	worst := 0.0
	for _, p := range phaseNames {
		worst = max(worst, w.ohm["joint-"+p])
	}
	return worst
}
