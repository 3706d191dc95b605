package bench

import (
	"math"
	"slices"
)

// Scenes in which one measures.
var (
	switchedOn = scene{}
	loaded     = scene{lights: true, opening: 0.35, load: gentle}
	lit        = scene{lights: true}
	packOut    = scene{isolatorOff: true, keyOff: true, off: packPlug}
)

func (s scene) without(p plugs) scene { s.off |= p; return s }
func (s scene) opened(part float64) scene {
	s.opening, s.load = part, gentle
	return s
}

// measure is one check done with the meter.
type measure struct {
	scale scale
	// true value in the scene; +Inf for OL
	take func(b *Bike) (float64, error)
	// zeroed says that the meter's offset is taken off, with the leads' own.
	zeroed bool
}

// between is a voltage between two points.
func between(s scene, red, black string) measure {
	return measure{scale: voltScale, take: func(b *Bike) (float64, error) { return b.volts(s, red, black) }}
}

// wiggled is the same, the lower of still and moved: one is asked to move
// the key or the bars and to watch the figure.
func wiggled(s scene, what moving, red, black string) measure {
	return measure{scale: voltScale, take: func(b *Bike) (float64, error) {
		first, err := b.volts(s, red, black)
		if err != nil || len(b.works.rattles) == 0 {
			return first, err
		}
		s := s
		s.moved = what
		second, err := b.volts(s, red, black)
		return min(first, second), err
	}}
}

// fuse is a fuse out of its holder.
func fuse(name string) measure {
	return measure{scale: ohmScale, zeroed: true, take: func(b *Bike) (float64, error) {
		n := newNetwork()
		n.resist("end", "pack-minus", b.works.ohm[name])
		n.resist("end", "pack-minus", insulation)
		return (&state{net: n, volts: make([]float64, 2)}).ohms("end", "pack-minus")
	}}
}

// resistance is an ohm reading between pairs of points, of which choose tells one.
func resistance(s scene, choose func([]float64) float64, pairs ...[2]string) measure {
	return measure{scale: ohmScale, zeroed: true, take: func(b *Bike) (float64, error) {
		st, err := b.state(s)
		if err != nil {
			return 0, err
		}
		var all []float64
		for _, p := range pairs {
			r, err := st.ohms(p[0], p[1])
			if err != nil {
				return 0, err
			}
			all = append(all, r)
		}
		return choose(all), nil
	}}
}

// differs is the figure furthest from the middle one.
func differs(all []float64) float64 {
	sorted := slices.Sorted(slices.Values(all))
	middle := sorted[len(sorted)/2]
	out := all[0]
	for _, v := range all {
		if math.Abs(v-middle) > math.Abs(out-middle) {
			out = v
		}
	}
	return out
}

// spread is the largest less the smallest, each as a meter with 0.1 Ω steps
// and zeroed leads shows it.
func spread(all []float64) float64 {
	if math.IsInf(slices.Max(all), 1) {
		return open
	}
	tenth := func(x float64) float64 { return math.Round(x*10) / 10 }
	return tenth(slices.Max(all)) - tenth(slices.Min(all))
}

// measures are the checks done with the meter, by id: where the probes go
// and in what state, as the checks of the knowledge base say.
var measures = map[string]measure{
	"pack-volts":           between(packOut, "pack", "pack-minus"),
	"pack-volts-loaded":    between(loaded, "bike-side", "bike-minus"),
	"isolator-drop":        between(loaded, "bike-side", "isolated"),
	"pack-plug-drop":       {scale: voltScale, take: (*Bike).plugDrop},
	"feed-volts":           between(switchedOn, "b-plus", "b-minus"),
	"feed-volts-loaded":    between(loaded, "b-plus", "b-minus"),
	"negative-drop":        between(loaded, "b-minus", "bike-minus"),
	"fuse-continuity":      fuse("main-fuse"),
	"key-volts-in":         between(switchedOn, "key-in", "bike-minus"),
	"key-volts-out":        wiggled(switchedOn, keyItself, "key-out", "bike-minus"),
	"display-supply-volts": wiggled(switchedOn, bars, "display-supply", "display-ground"),

	"control-5v":             between(switchedOn, "control-5v", "control-ground"),
	"throttle-5v":            between(switchedOn, "throttle-5v", "throttle-ground"),
	"throttle-5v-pack-minus": between(switchedOn, "throttle-5v", "bike-minus"),
	"throttle-rest":          between(switchedOn, "throttle-signal", "throttle-ground"),
	"throttle-full":          between(switchedOn.opened(1), "throttle-signal", "throttle-ground"),
	"signal-at-control":      between(switchedOn.opened(1), "control-signal", "control-ground"),
	"throttle-alone-rest":    between(alone(0), "throttle-signal", "throttle-ground"),
	"throttle-alone-full":    between(alone(1), "throttle-signal", "throttle-ground"),
	"signal-unplugged":       between(switchedOn.without(throttlePlug), "throttle-plug-signal", "throttle-plug-ground"),
	"hall-5v":                between(switchedOn, "hall-5v", "hall-ground"),

	"brake-ohms-released": resistance(packOut.without(brakePlugs), slices.Min, leverPins...),
	"brake-ohms-squeezed": resistance(squeezed(), slices.Max, leverPins...),
	"stand-ohms":          resistance(standUp(), slices.Min, [2]string{"stand-switch", "stand-switch-ground"}),
	"motor-temp-ohms":     resistance(packOut.without(hallPlug), slices.Min, [2]string{"motor-temperature", "motor-ground"}),
	"phase-same": resistance(packOut.without(motorPlugs), spread,
		[2]string{"motor-u", "motor-v"}, [2]string{"motor-v", "motor-w"}, [2]string{"motor-w", "motor-u"}),
	"phase-to-case": resistance(packOut.without(motorPlugs), slices.Min,
		[2]string{"motor-u", "motor-case"}, [2]string{"motor-v", "motor-case"}, [2]string{"motor-w", "motor-case"}),
	"bridge-diode": {scale: diodeScale, take: (*Bike).bridgeDiode},
	"drain-wait":   {scale: voltScale, take: (*Bike).drained},

	"converter-in-volts":      between(switchedOn, "converter-in", "bike-minus"),
	"converter-out-volts":     between(lit, "twelve-volt", "bike-minus"),
	"lights-fuse-continuity":  fuse("lights-fuse"),
	"lights-volts":            between(lit, "lights-supply", "lights-ground"),
	"lights-volts-pack-minus": between(lit, "lights-supply", "bike-minus"),

	"charger-volts":          between(charging().without(chargerPlug), "charger-plus", "charger-minus"),
	"charge-port-volts":      between(scene{isolatorOff: true, keyOff: true, off: chargerPlug}, "charge-port", "charge-port-minus"),
	"charge-fuse-continuity": fuse("charge-fuse"),

	// A fresh household cell: 1.5 to 1.62 V.
	"meter-check": {scale: voltScale, take: func(b *Bike) (float64, error) {
		return b.roll("household cell").between(1.52, 1.62), nil
	}},
}

var leverPins = [][2]string{{"left-brake", "left-brake-ground"}, {"right-brake", "right-brake-ground"}}

func alone(opening float64) scene {
	s := packOut.without(throttlePlug)
	s.usb, s.opening = true, opening
	return s
}

func squeezed() scene {
	s := packOut.without(brakePlugs)
	s.brake = true
	return s
}

func standUp() scene {
	s := packOut.without(standPlug)
	s.standUp = true
	return s
}

func charging() scene { return scene{isolatorOff: true, keyOff: true, charging: true} }

// plugDrop is what the worse of the pack plug's two contacts loses under a light load.
func (b *Bike) plugDrop() (float64, error) {
	plus, err := b.volts(loaded, "pack", "bike-side")
	if err != nil {
		return 0, err
	}
	minus, err := b.volts(loaded, "bike-minus", "pack-minus")
	return math.Max(plus, minus), err
}

// bridgeDiode is the one of six diode readings that differs most.
func (b *Bike) bridgeDiode() (float64, error) {
	st, err := b.state(packOut.without(motorPlugs))
	if err != nil {
		return 0, err
	}
	var all []float64
	for _, p := range phaseNames {
		for _, at := range [2][2]string{{"b-minus", "phase-" + p}, {"phase-" + p, "b-plus"}} {
			v, err := st.diodeTest(at[0], at[1])
			if err != nil {
				return 0, err
			}
			if math.IsInf(v, 1) {
				v = 9 // beyond every figure, and still one that can be compared
			}
			all = append(all, v)
		}
	}
	if v := differs(all); v < 9 {
		return v, nil
	}
	return open, nil
}

// drained is what is left on the controller's capacitors five minutes after
// the battery came out, and five more each time it is asked.
func (b *Bike) drained() (float64, error) {
	st, err := b.state(switchedOn)
	if err != nil {
		return 0, err
	}
	seconds := 300 * float64(1+b.asked["drain-wait"])
	return st.across("b-plus", "b-minus") * math.Exp(-seconds/(b.works.bleedOhm*b.works.capacity)), nil
}
