package bench

import "math"

// The motor run free, wheel up, as a machine of constant magnetism: its winding
// makes kind volts for each unit of speed, and kind torque for each ampere. What
// the magnets lose, kind loses: the motor must turn faster to make the same
// volts, and draws more current for the same friction. Sizes are parts of what
// a sound motor of the kit has at the pack's label voltage.
const (
	freeAmps  = 0.06 // of the controller's limit, to turn a sound motor free
	brakeAmps = 0.12 // the same, on top, for a brake or a bearing that drags
)

// running free
type freeRun struct {
	speed float64 // 1 is the kit's own at the label voltage
	amps  float64 // of the motor
}

// free is the motor's speed and current with the wheel up and the throttle
// fully open: volts = kind·speed + amps·ohm, kind·amps = friction.
func (b *Bike) free() (freeRun, error) {
	s := scene{opening: 1, load: gentle}
	how, err := b.turns(s)
	if err != nil || how == still {
		return freeRun{}, err
	}
	st, err := b.state(s)
	if err != nil {
		return freeRun{}, err
	}
	w := &b.works
	friction := freeAmps * w.amps // in ampere of a sound motor
	if w.brakeDrags || w.bearingWorn {
		friction += brakeAmps * w.amps
	}
	// Turns that are shorted are driven as a generator's: they brake with the speed.
	if watt, err := b.dragWatts(0); err != nil {
		return freeRun{}, err
	} else if watt > felt {
		friction += brakeAmps * w.amps * math.Min(3, watt/felt)
	}
	kind := w.magnetism
	amps := friction / kind
	volts := st.across("b-plus", "b-minus") * st.demand
	lost := amps * 2 * (w.windingOhm + w.worstJoint())
	speed := math.Max(0, volts-lost) / kind / w.label
	if how == stutters {
		speed *= 0.3
	}
	return freeRun{speed, amps}, nil
}

// A speed is called the kit's own within these parts of it: the card gives it
// for a full and for an empty pack, and a display shows it in whole steps.
const (
	slowBelow = 0.78
	fastAbove = 1.22
)

// freeSpeed compares the speed of the free wheel with the kit's card, which
// gives it for the pack's voltage of the day.
func (b *Bike) freeSpeed() (string, error) {
	run, err := b.free()
	if err != nil {
		return "", err
	}
	if b.loose() || b.works.speed && (b.works.speedDead || b.works.speedMagnetOff) {
		return "slow", nil // the wheel stays behind, or nothing counts its turns
	}
	expected := b.works.packVolts() / b.works.label
	switch part := run.speed / expected; {
	case part > fastAbove:
		return "fast", nil
	case part < slowBelow:
		return "slow", nil
	}
	return "as-card", nil
}

// Heat in W from which a hand finds one joint warmer than its neighbours.
const warm = 3.0

// jointsWarm runs the motor for a minute against a load, then feels the three
// phase joints. Half the controller's limit flows in them.
func (b *Bike) jointsWarm() (string, error) {
	how, err := b.turns(loaded)
	if err != nil || how == still {
		return "alike", err
	}
	w := &b.works
	amps := w.amps / 2
	for _, p := range phaseNames {
		ohm := w.ohm["joint-"+p]
		if math.IsInf(ohm, 1) {
			continue // nothing flows
		}
		through := math.Min(amps, 0.5*w.label/(ohm+2*w.windingOhm))
		if through*through*ohm > warm {
			return "one-warm", nil
		}
	}
	return "alike", nil
}

// sags is the share of the display's bars that a hard pull takes: what the
// display's own supply loses, over what lies between a full and an empty pack.
const (
	sagsFrom = 0.13 // of the voltage at rest; a sound pack loses 3 to 9 parts in a hundred
)

// sagRide pulls hard and watches the display's bars.
func (b *Bike) sagRide() (string, error) {
	full := scene{opening: 1, load: hill}
	rest, err := b.state(scene{})
	if err != nil || !rest.run.display {
		return "steady", err
	}
	how, err := b.turns(loaded)
	if err != nil || how == still {
		return "steady", err
	}
	st, err := b.state(full)
	if err != nil {
		return "", err
	}
	if st.cut == protection || st.brownOut || !st.run.display {
		return "dies", nil
	}
	at := func(s *state) float64 { return s.across("display-pin", "display-pin-ground") }
	return either(at(st) < (1-sagsFrom)*at(rest), "sinks", "steady"), nil
}

// dragFeel is how a wheel that is hard to turn resists the hand.
func (b *Bike) dragFeel() (string, error) {
	w := &b.works
	switch {
	case w.bearingWorn:
		return "rough", nil
	case w.brakeDrags:
		return "rubs", nil
	}
	drags, err := b.drags(0)
	return either(drags, "braked", "free"), err
}
