package bench

import (
	"fmt"
	"math"
)

// Why a controller does not drive.
const (
	asleep        = "its logic has no supply"
	noBus         = "its thick wires have no voltage"
	lowBus        = "the pack is below its limit"
	noFive        = "its 5 V is out of range"
	signalMissing = "the throttle signal is missing"
	signalTooHigh = "the throttle signal is too high"
	openAtStart   = "the throttle was open at switch-on"
	braking       = "a brake is pulled"
	standing      = "the stand is down"
	locked        = "a lock is on"
	notListening  = "it does not use the throttle signal"
	hallsLost     = "the halls tell it nothing"
	bridgeFault   = "its bridge is faulty"
	nothingAsked  = "the throttle asks for nothing"
	protection    = "the pack's protection opens"
)

// Limits of a controller's own judgement: of the signal as part of its 5 V,
// of its 5 V, and of its inputs.
const (
	signalLeast = 0.10
	signalMost  = 0.93
	fiveLeast   = 4.0
	fiveMost    = 6.0
	inputLow    = 1.5 // below this an input is low
	inputHigh   = 3.0
)

// drive decides what the controller does in a scene, st being the scene with
// the motor at rest, and solves it again under the motor's load.
func (b *Bike) drive(s scene, st *state) (*state, error) {
	demand, cut, err := b.verdict(s, st)
	if err != nil {
		return nil, err
	}
	st.demand, st.cut = demand, cut
	if cut != "" {
		return st, nil
	}
	watt := b.works.lightWatts
	if s.load == hill {
		watt = b.works.amps * b.works.label * 0.9
		if b.works.hot {
			watt *= 0.35
		}
		watt *= b.works.tuned
	}
	loaded, err := b.settle(s, watt)
	if err != nil {
		return nil, err
	}
	loaded.demand = demand
	switch {
	case !loaded.run.awake:
		loaded.cut = asleep
	case b.overdrawn(loaded):
		if loaded, err = b.settleFrom(s, running{opened: true}); err != nil {
			return nil, err
		}
		loaded.demand, loaded.cut, loaded.brownOut = demand, protection, true
	case loaded.across("b-plus", "b-minus") < b.works.cutsBelow:
		loaded.cut = lowBus
	}
	return loaded, nil
}

// overdrawn says whether the pack's protection opens: a group below its
// limit, the weak one first.
func (b *Bike) overdrawn(st *state) bool {
	w := &b.works
	amps := (w.packVolts() - st.volts[st.net.index["cells"]]) / w.packOhm()
	each := (w.packVolts()+w.weakVolts)/float64(w.series) - amps*w.cellOhm*coldFactor(w.celsius)
	weakest := each - w.weakVolts - amps*w.weakOhm
	return weakest < w.cell.cutOff
}

// verdict is the controller's own judgement of its inputs.
func (b *Bike) verdict(s scene, st *state) (demand float64, cut string, err error) {
	w := &b.works
	five := st.across("five-volt", "b-minus")
	bus := st.across("b-plus", "b-minus")
	ratio := st.across("signal-in", "b-minus") / max(five, 0.1)
	demand = w.asked(ratio)
	switch {
	case !st.run.awake:
		return 0, asleep, nil
	case bus < 0.3*w.label:
		return 0, noBus, nil
	case five < fiveLeast || five > fiveMost:
		return 0, noFive, nil
	case w.lock != unlocked:
		return 0, locked, nil
	case st.across("brake-in", "b-minus") < inputLow:
		return 0, braking, nil
	case w.stand && st.across("stand-in", "b-minus") > inputHigh:
		return 0, standing, nil
	case w.deaf:
		return 0, notListening, nil
	case bus < w.cutsBelow:
		return 0, lowBus, nil
	case ratio > signalMost:
		return 0, signalTooHigh, nil
	case ratio < signalLeast:
		return 0, signalMissing, nil
	case w.bridgeShorted():
		return 0, bridgeFault, nil
	}
	atRest, err := b.restDemand(s)
	if err != nil {
		return 0, "", err
	}
	if w.guarded && atRest > 0.05 && w.returnsTo == w.idlesAt {
		return 0, openAtStart, nil
	}
	if demand < 0.03 {
		return demand, nothingAsked, nil
	}
	codes, err := b.hallCodes(s)
	if err != nil {
		return 0, "", err
	}
	if distinct(codes) < 2 {
		return demand, hallsLost, nil
	}
	return demand, "", nil
}

// asked is what the controller makes of a signal, as part of its 5 V.
func (w *works) asked(ratio float64) float64 {
	return math.Max(0, math.Min(1, (ratio-w.demandFrom)/(w.demandTo-w.demandFrom)))
}

// restDemand is what the throttle asks for when nobody touches it.
func (b *Bike) restDemand(s scene) (float64, error) {
	s.opening, s.released, s.load = 0, false, idle
	st, err := b.state(s)
	if err != nil {
		return 0, err
	}
	five := st.across("five-volt", "b-minus")
	return b.works.asked(st.across("signal-in", "b-minus") / max(five, 0.1)), nil
}

// bridgeShorted says whether a transistor of the bridge conducts all the time.
func (w *works) bridgeShorted() bool {
	for _, l := range w.leaks {
		for _, p := range phaseNames {
			if l.from == "phase-"+p && l.ohm < 1 {
				return true
			}
		}
	}
	return false
}

// hallCodes are the states of the halls as the controller reads them over an
// electrical turn: bit 0 is A. A voltage between the limits reads as low.
func (b *Bike) hallCodes(s scene) ([6]int, error) {
	var codes [6]int
	s.opening, s.released, s.load = 0, false, idle
	for angle := range 6 {
		s.angle = angle
		st, err := b.state(s)
		if err != nil {
			return codes, fmt.Errorf("reading the halls at step %d: %w", angle, err)
		}
		for i, h := range hallNames {
			if st.across("hall-"+h, "b-minus") > inputHigh {
				codes[angle] |= 1 << i
			}
		}
	}
	return codes, nil
}

func distinct(codes [6]int) int {
	seen := map[int]bool{}
	for _, c := range codes {
		seen[c] = true
	}
	return len(seen)
}

// Leakage from the windings to the motor's body: below the first the phases
// are no longer alike, below the second a controller's watch over its current
// cuts out now and then.
const (
	unbalances = 300.0
	noticed    = 100e3
)

// trips says whether leakage makes the controller cut out now and then.
func (w *works) trips() bool { return w.caseOhm >= unbalances && w.caseOhm < noticed }

// motion is how the motor turns when the controller drives it.
type motion int

const (
	still motion = iota
	smooth
	stutters
	backwards
)

// turns says how the motor turns in a scene with the throttle open.
func (b *Bike) turns(s scene) (motion, error) {
	st, err := b.state(s)
	if err != nil || st.cut != "" {
		return still, err
	}
	codes, err := b.hallCodes(s)
	if err != nil {
		return still, err
	}
	w := &b.works
	legs := w.soundLegs(s)
	switch {
	case legs < 2:
		return still, nil
	case legs < 3 || w.caseOhm < unbalances || distinct(codes) < 6 || w.mismatched || w.shortedTurns > 0.3:
		return stutters, nil
	}
	for _, c := range codes {
		if c == 0 || c == 7 {
			return stutters, nil
		}
	}
	if w.reversed {
		return backwards, nil
	}
	return smooth, nil
}

// soundLegs counts the phases that carry current as they should: driven, and
// with less than a fifth of an ohm of bad joint on top of the winding.
func (w *works) soundLegs(s scene) int {
	n := 0
	for i, p := range phaseNames {
		path := w.ohm["joint-"+p] + w.ohm["motor-wire-"+p]
		if w.opens(s, "joint-"+p) || w.opens(s, "motor-wire-"+p) {
			path = open
		}
		if path < 0.2 && w.undriven != i+1 && w.blown != i+1 {
			n++
		}
	}
	return n
}
