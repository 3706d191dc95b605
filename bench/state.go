package bench

// state is a solved scene.
type state struct {
	net   *network
	volts []float64
	run   running
	// brownOut says that something that had come up went down again because
	// its supply gave way, and that the supply then recovered.
	brownOut bool
	// cut says why the motor is not driven, "" when it is.
	cut string
	// demand is what the controller makes of the throttle, 0 to 1.
	demand float64
}

// across is the voltage between two points by name.
func (s *state) across(a, b string) float64 {
	return s.volts[s.net.index[a]] - s.volts[s.net.index[b]]
}

// Parts of the pack's label voltage below which things let go.
const (
	logicNeeds     = 0.52 // the controller's logic
	displayNeeds   = 0.55
	converterNeeds = 0.5
)

// settle solves a scene with a motor load, letting go of what has too little
// to run on. Things only let go, so it ends after as many rounds as there are
// things.
func (b *Bike) settle(s scene, motor float64) (*state, error) {
	w := &b.works
	run := running{awake: !w.logicDead, display: !w.displayDead, converter: !w.converterDead, motor: motor}
	return b.settleFrom(s, run)
}

// settleFrom is settle with what has come up already known.
func (b *Bike) settleFrom(s scene, run running) (*state, error) {
	w := &b.works
	if s.off.has(packPlug) {
		run = running{opened: run.opened} // nothing comes up without the pack
	}
	var last []float64
	if s != switchedOn && !s.off.has(packPlug) {
		// Begin where the bike stands when it is only switched on: most scenes
		// differ from that in a few points.
		if st, err := b.state(switchedOn); err == nil {
			last = st.volts
		}
	}
	brownOut := false
	for {
		net := circuit(w, s, run)
		if len(last) != len(net.names) {
			last = guess(net, w)
		}
		volts, err := net.solve(last)
		if err != nil {
			return nil, err
		}
		st := &state{net: net, volts: volts, run: run}
		next := run
		next.awake = run.awake && st.across("logic", "b-minus") > logicNeeds*w.label
		next.display = run.display && st.across("display-pin", "display-pin-ground") > displayNeeds*w.label
		next.converter = run.converter && st.across("converter-in", "bike-minus") > converterNeeds*w.label
		if !next.awake {
			next.motor = 0
		}
		if next == run {
			st.brownOut = brownOut
			return st, nil
		}
		lost := (run.awake && !next.awake) || (run.display && !next.display)
		// What has no supply at all has not given way.
		sagged := lost && st.across("logic", "b-minus") > 0.01*w.label
		if sagged && b.recovers(s, run) {
			brownOut = true
		}
		run, last = next, volts
	}
}

// recovers says whether the supply stands well enough once nothing draws on it.
func (b *Bike) recovers(s scene, run running) bool {
	net := circuit(&b.works, s, running{opened: run.opened})
	volts, err := net.solve(guess(net, &b.works))
	if err != nil {
		return false
	}
	st := &state{net: net, volts: volts}
	return st.across("logic", "b-minus") > displayNeeds*b.works.label
}

// state solves a scene with what the controller then does. Scenes already
// solved are kept until the bike changes.
func (b *Bike) state(s scene) (*state, error) {
	if st, ok := b.solved[s]; ok {
		return st, nil
	}
	st, err := b.settle(s, 0)
	if err != nil {
		return nil, err
	}
	if s.load != idle || s.opening > 0 || s.released {
		if st, err = b.drive(s, st); err != nil {
			return nil, err
		}
	}
	b.solved[s] = st
	return st, nil
}
