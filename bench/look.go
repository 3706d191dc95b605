package bench

import "fmt"

// looks are the checks done with the eyes: each gives the id of an option.
var looks = map[string]func(*Bike) (string, error){
	"look-power-path": func(b *Bike) (string, error) {
		switch w := &b.works; {
		case !w.seated:
			return "pack-loose", nil
		case !w.thrown:
			return "isolator-off", nil
		case !w.turned:
			return "key-off", nil
		}
		return "all-on", nil
	},
	"look-display":  (*Bike).display,
	"look-inhibits": (*Bike).inhibits,
	"look-plugs": func(b *Bike) (string, error) {
		if b.works.seen != "" {
			return b.works.seen, nil
		}
		return "all-home", nil
	},
	"look-lights": func(b *Bike) (string, error) {
		on, err := b.lights()
		return either(on, "shine", "dark"), err
	},
	"drag-feel":         (*Bike).dragFeel,
	"look-charge-port":  func(b *Bike) (string, error) { return either(b.works.portMarked, "damaged", "clean"), nil },
	"look-charger-lamp": (*Bike).chargerLamp,
	"look-axle-cable":   func(b *Bike) (string, error) { return either(b.works.axleCut, "cut", "straight"), nil },
	"look-tyre":         func(b *Bike) (string, error) { return either(b.works.tyreSoft, "soft", "firm"), nil },
	"look-chain": func(b *Bike) (string, error) {
		if b.works.chainOff {
			return "off", nil
		}
		return either(b.works.keySheared, "slips", "on"), nil
	},
	"look-magnets": func(b *Bike) (string, error) {
		if b.works.pedalRingOff {
			return "pedal-off", nil
		}
		return either(b.works.speedMagnetOff, "speed-off", "in-place"), nil
	},
	"settings-look": func(b *Bike) (string, error) {
		on, err := b.displayOn(scene{})
		if err != nil || !on {
			return "as-card", err // nothing to be seen that differs
		}
		return either(b.works.settingsDiffer, "differs", "as-card"), nil
	},
}

func either(yes bool, a, b string) string {
	if yes {
		return a
	}
	return b
}

// Look does a check with the eyes and gives the id of the option seen. It is
// an error to ask for a check that is no look or that this kit has no place for.
func (b *Bike) Look(check string) (string, error) {
	look, ok := looks[check]
	if !ok {
		return "", unknownCheck("looking", check, looks)
	}
	if !b.offers(check) {
		return "", fmt.Errorf("looking %q: a %s has no %s", check, b.build.id, needs[check])
	}
	option, err := look(b)
	if err != nil {
		return "", fmt.Errorf("looking %q: %w", check, err)
	}
	return option, nil
}

// displayOn says whether the display is lit in a scene.
func (b *Bike) displayOn(s scene) (bool, error) {
	st, err := b.state(s)
	if err != nil {
		return false, err
	}
	return st.run.display, nil
}

// display is what the display shows after switching on.
func (b *Bike) display() (string, error) {
	on, err := b.displayOn(scene{})
	if err != nil {
		return "", err
	}
	if !on {
		return "dark", nil
	}
	flickers, err := b.flickers()
	if err != nil || flickers {
		return "flickers", err
	}
	sign, err := b.sign()
	if err != nil || sign != "" {
		return sign, err
	}
	return "normal", nil
}

// flickers says whether the lit display goes off when the bike shakes or
// when the lights take their share.
func (b *Bike) flickers() (bool, error) {
	for _, s := range []scene{{moved: everything}, {lights: true}} {
		on, err := b.displayOn(s)
		if err != nil || !on {
			return true, err
		}
	}
	return false, nil
}

// sign is what a lit display shows beside the speed, "" for nothing.
func (b *Bike) sign() (string, error) {
	st, err := b.state(scene{})
	if err != nil {
		return "", err
	}
	w := &b.works
	if !st.run.awake {
		return either(w.namesLostLink, "fault-code", ""), nil
	}
	if st.across("five-volt", "b-minus") > fiveLeast && st.across("brake-in", "b-minus") < inputLow {
		return "brake-sign", nil
	}
	if w.lock == parked {
		return "park-sign", nil
	}
	code, err := b.faultCode(st)
	return either(code, "fault-code", ""), err
}

// faultCode says whether the controller has found something that it names:
// its 5 V, the throttle's range, the halls' impossible states, the motor's
// temperature sensor, the bridge. It needs a display that shows codes.
func (b *Bike) faultCode(st *state) (bool, error) {
	w := &b.works
	if !w.namesLostLink {
		return false, nil
	}
	five := st.across("five-volt", "b-minus")
	ratio := st.across("signal-in", "b-minus") / max(five, 0.1)
	switch {
	case five < fiveLeast || five > fiveMost:
		return true, nil
	case ratio > signalMost || ratio < signalLeast:
		return true, nil
	case w.bridgeShorted():
		return true, nil
	case w.motorTemp && tempFault(st):
		return true, nil
	}
	codes, err := b.hallCodes(scene{})
	if err != nil {
		return false, err
	}
	return codes[0] == 0 || codes[0] == 7, nil
}

// tempFault says whether the motor's temperature sensor reads as none could.
func tempFault(st *state) bool {
	part := st.across("hall-temperature", "b-minus") / max(st.across("five-volt", "b-minus"), 0.1)
	return part < 0.02 || part > 0.99
}

// inhibits is what keeps the controller from driving, as the bike shows it.
func (b *Bike) inhibits() (string, error) {
	w := &b.works
	if w.stand && w.standIsDown {
		return "stand-down", nil
	}
	on, err := b.displayOn(scene{})
	if err != nil || !on {
		return "clear", err
	}
	sign, err := b.sign()
	if err != nil {
		return "", err
	}
	switch {
	case sign == "brake-sign" || sign == "park-sign":
		return sign, nil
	case w.lock == assistZero:
		return "assist-zero", nil
	}
	return "clear", nil
}

// chargerLamp is the lamp of the charger on the pack: red while current
// flows, green when none does, dark without mains.
func (b *Bike) chargerLamp() (string, error) {
	if b.works.mainsOff || b.works.chargerDead {
		return "dark", nil
	}
	amps, err := b.chargeAmps()
	if err != nil {
		return "", err
	}
	return either(amps > 0.1*b.works.build.chargeAmps, "red-then-green", "green-at-once"), nil
}

// chargeAmps is the current into the pack with the charger on.
func (b *Bike) chargeAmps() (float64, error) {
	st, err := b.state(charging())
	if err != nil {
		return 0, err
	}
	for _, br := range st.net.branches {
		if c, ok := br.(supply); ok {
			across := st.volts[c.plus] - st.volts[c.minus]
			return max(0, min(c.amps, (c.volts-across)/c.ohm)), nil
		}
	}
	return 0, nil
}
