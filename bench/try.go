package bench

import (
	"fmt"
	"math"
)

// tries are the checks in which one does something and tells what happens.
var tries = map[string]func(*Bike) (string, error){
	"control-5v-unplugged":    (*Bike).unplugging,
	"throttle-sweep":          (*Bike).sweep,
	"hall-toggle":             (*Bike).hallToggle,
	"pedal-toggle":            func(b *Bike) (string, error) { return b.toggles("pedal") },
	"speed-toggle":            func(b *Bike) (string, error) { return b.toggles("speed") },
	"brake-unplugged-try":     (*Bike).brakesOff,
	"known-good-throttle-try": (*Bike).otherThrottle,
	"known-good-display-try":  (*Bike).otherDisplay,
	"bulb-try":                (*Bike).otherBulb,
	"mains-try":               func(b *Bike) (string, error) { return either(b.works.mainsOff, "lamp-dark", "lamp-lights"), nil },
	"cool-try":                (*Bike).cooled,
	"drag-unplugged":          (*Bike).dragUnplugged,
	"wheel-free":              (*Bike).wheelFree,
	"listen-motor":            (*Bike).listen,
	"move-wires-try":          (*Bike).moveWires,
	"free-speed-try":          (*Bike).freeSpeed,
	"sag-try":                 (*Bike).sagRide,
	"joints-warm-try":         (*Bike).jointsWarm,
}

// Try does something to the bike and gives the id of the option that
// happens; the bike is left as it was. It is an error to ask for a check that
// is no try or that this kit has no place for.
func (b *Bike) Try(check string) (string, error) {
	try, ok := tries[check]
	if !ok {
		return "", unknownCheck("trying", check, tries)
	}
	if !b.offers(check) {
		return "", fmt.Errorf("trying %q: a %s has no %s", check, b.build.id, needs[check])
	}
	option, err := try(b)
	if err != nil {
		return "", fmt.Errorf("trying %q: %w", check, err)
	}
	return option, nil
}

// whole is what counts as 5 V in the hand of an owner.
const whole = 4.5

// unplugging takes one branch after another off the 5 V supply.
func (b *Bike) unplugging() (string, error) {
	off := plugs(0)
	for _, step := range []struct {
		plug   plugs
		option string
	}{{0, "unchanged"}, {throttlePlug, "comes-back-throttle"}, {hallPlug, "comes-back-hall"}, {pedalPlug | speedPlug, "comes-back-hall"}} {
		off |= step.plug
		v, err := b.volts(scene{off: off}, "control-5v", "control-ground")
		if err != nil || v >= whole {
			return step.option, err
		}
	}
	// Last on the controller's own socket.
	v, err := b.volts(scene{off: off | controlPlug}, "five-volt", "b-minus")
	return either(v >= whole, "comes-back-harness", "still-none"), err
}

// sweep opens the throttle slowly, bars straight, left and right, and lets go.
func (b *Bike) sweep() (string, error) {
	read := func(s scene) (float64, error) { return b.volts(s, "throttle-signal", "throttle-ground") }
	rest, err := read(scene{})
	if err != nil {
		return "", err
	}
	highest := rest
	for step := 1; step <= 5; step++ {
		s := scene{}.opened(float64(step) / 5)
		v, err := read(s)
		if err != nil {
			return "", err
		}
		s.moved = bars
		turned, err := read(s)
		if err != nil {
			return "", err
		}
		if math.Abs(turned-v) > 0.3 {
			return "jumps", nil
		}
		highest = math.Max(highest, v)
	}
	after, err := read(scene{released: true})
	if err != nil {
		return "", err
	}
	switch {
	case highest-rest < 0.15:
		return either(rest > 2.5, "stays-up", "no-change"), nil
	case after-rest > 0.15 || rest > 1.6:
		return "stays-up", nil
	}
	return "smooth", nil
}

// hallToggle turns the motor by hand through an electrical turn and reads the
// three halls against the controller's minus.
func (b *Bike) hallToggle() (string, error) {
	moving := 0
	for _, h := range hallNames {
		low, high := false, false
		for angle := range 6 {
			if b.loose() {
				angle = 0 // the wheel turns and the motor does not
			}
			v, err := b.volts(scene{angle: angle}, "hall-"+h, "b-minus")
			if err != nil {
				return "", err
			}
			low, high = low || v < 0.6, high || v > 4
		}
		if low && high {
			moving++
		}
	}
	switch moving {
	case 3:
		return "all-toggle", nil
	case 0:
		return "none-toggle", nil
	}
	return "one-stuck", nil
}

// loose says whether the wheel turned by hand leaves the motor behind.
func (b *Bike) loose() bool { return b.works.chainOff || b.works.keySheared || b.works.gearsGone }

// toggles moves a magnet past the pedal's or the wheel's sensor; its plug is
// pressed home before.
func (b *Bike) toggles(sensor string) (string, error) {
	c := b.copy()
	if sensor == "pedal" {
		if err := c.mend("pedal-supply", "pedal-return", "pedal-signal"); err != nil {
			return "", err
		}
	}
	far, err := c.volts(scene{}, sensor+"-out", sensor+"-ground")
	if err != nil {
		return "", err
	}
	near, err := c.volts(scene{magnet: true}, sensor+"-out", sensor+"-ground")
	return either(far-near > 2, "toggles", "stuck"), err
}

// copy is a bike to try things on.
func (b *Bike) copy() *Bike {
	c := *b
	c.works = b.works.copy()
	c.solved, c.notice = map[scene]*state{}, nil
	return &c
}

// mend sets conductors to what they are on the sound bike.
func (b *Bike) mend(names ...string) error {
	sound, err := healthy(b.build, b.seed)
	if err != nil {
		return err
	}
	for _, n := range names {
		if r, ok := sound.ohm[n]; ok {
			b.works.ohm[n] = r
		}
	}
	return nil
}

func (b *Bike) brakesOff() (string, error) {
	before, err := b.state(loaded)
	if err != nil || before.cut == "" {
		return "no-change", err
	}
	after, err := b.state(loaded.without(brakePlugs))
	if err != nil {
		return "", err
	}
	return either(after.cut == "", "drives-now", "no-change"), nil
}

// otherThrottle plugs a sound throttle in, its plug home.
func (b *Bike) otherThrottle() (string, error) {
	sound, err := healthy(b.build, b.seed)
	if err != nil {
		return "", err
	}
	c := b.copy()
	w := &c.works
	w.restAt, w.fullAt, w.returnsTo, w.idlesAt = sound.restAt, sound.fullAt, 0, 0
	w.sensorMilliamp, w.sensorOhm, w.wiring = sound.sensorMilliamp, sound.sensorOhm, rightWay
	w.sensorDead, w.pinned = false, false
	names := []string{"throttle-plug", "throttle-plug-ground", "throttle-plug-signal", "lead-5v", "lead-ground", "lead-signal"}
	w.settle(names, "sensor-5v", "sensor-ground", "throttle-5v")
	if err := c.mend(names...); err != nil {
		return "", err
	}
	return b.cured(c)
}

// otherDisplay plugs a sound display in, its plug home.
func (b *Bike) otherDisplay() (string, error) {
	c := b.copy()
	c.works.displayDead = false
	names := []string{"display-plug", "display-plug-ground"}
	c.works.settle(names)
	if c.works.seen != "bent-pin" {
		if err := c.mend(names...); err != nil {
			return "", err
		}
	}
	return b.cured(c)
}

// cured compares what an owner complains of before and after a swap.
func (b *Bike) cured(after *Bike) (string, error) {
	had, err := b.Complaints()
	if err != nil || len(had) == 0 {
		return "no-change", err
	}
	has, err := after.Complaints()
	if err != nil {
		return "", err
	}
	return either(len(has) == 0, "cures", "no-change"), nil
}

func (b *Bike) otherBulb() (string, error) {
	lights, err := b.lights()
	if err != nil || lights {
		return "no-change", err
	}
	c := b.copy()
	c.works.bulbBlown = false
	lights, err = c.lights()
	return either(lights, "cures", "no-change"), err
}

// cooled lets the bike stand, then rides it warm again.
func (b *Bike) cooled() (string, error) {
	if !b.works.hot {
		return "no-change", nil
	}
	warm, err := b.pull(scene{opening: 1, load: hill})
	if err != nil {
		return "", err
	}
	c := b.copy()
	c.works.hot = false
	cool, err := c.pull(scene{opening: 1, load: hill})
	return either(cool > 1.2*warm, "better-then-worse", "no-change"), err
}
