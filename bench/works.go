package bench

import (
	"maps"
	"slices"
)

// works are the values of one bike's elements and the state of what moves:
// everything the network and the eyes of an owner depend on. A fault is a
// change of these.
type works struct {
	build

	// ohm holds the conductors by name; see wires. An open one does not conduct.
	ohm map[string]float64
	// leaks are paths that should not be there, such as a short or water.
	leaks []leak

	celsius float64

	// Pack.
	charge      float64 // 0 to 1
	weakVolts   float64 // what a weak group lacks, V
	weakOhm     float64 // what a weak group has too much
	tripped     bool    // the BMS holds its discharge path open
	refuses     bool    // the BMS lets no charge in
	seated      bool    // the pack looks latched
	thrown      bool    // the isolator is switched on
	turned      bool    // the key is on
	noPrecharge bool
	ghostOhm    float64 // insulation between the loom's wires and the pack's plus

	// Controller.
	bleedOhm                                      float64 // across its capacitors
	regulatorVolts, regulatorPeak, regulatorShort float64
	regulatorSwings                               float64 // V of ripple on the 5 V
	logicDead                                     bool
	deaf                                          bool    // does not use a good throttle signal
	drops                                         bool    // uses it only now and then
	undriven                                      int     // phase whose transistors get no drive, 1 to 3
	blown                                         int     // phase whose lower transistor is burnt open, 1 to 3
	cutsBelow                                     float64 // low-voltage limit, V
	demandFrom, demandTo                          float64 // signal as part of 5 V at which drive begins, is full
	tuned                                         float64 // part of the power that the settings allow
	hot                                           bool    // cuts back for heat
	settingsDiffer                                bool
	lock                                          lock

	// Display.
	displayDead bool

	// Throttle.
	restAt, fullAt     float64 // output as part of the supply
	sensorMilliamp     float64
	sensorOhm          float64 // of its output
	returnsTo          float64 // opening left after letting go
	idlesAt            float64 // opening left when nobody has touched it
	wiring             wiring  // how its three wires are put in
	sensorDead, pinned bool    // output at ground, or at its supply

	// Inhibits.
	leverClosed [2]bool // a brake switch made although released
	leverOpen   [2]bool // never makes
	standIsDown bool
	standBroken bool

	// Motor.
	hallStuck      [3]int  // 0 works, 1 always low, 2 never low
	reversed       bool    // phases and halls match for the other direction
	mismatched     bool    // phases and halls do not match
	shortedTurns   float64 // part of one phase's turns
	caseOhm        float64 // windings to the motor's body
	thermistorOhm  float64 // of a failed sensor; 0: by the temperature
	magnetism      float64 // 1 is new
	freewheelSlips bool
	gearsGone      bool
	chainOff       bool
	keySheared     bool
	bearingWorn    bool
	brakeDrags     bool
	tyreSoft       bool

	// Sensors of pedals and wheel.
	pedalDead, pedalRingOff, speedDead, speedMagnetOff bool

	// 12 V and charging.
	converterVolts   float64
	converterDead    bool
	chargerVolts     float64
	chargerDead      bool
	mainsOff         bool
	bulbBlown        bool
	hornDead         bool
	lampOhm, hornOhm float64

	// rattles names conductors that open while the bike shakes, or while the
	// bars or the key are moved.
	rattles []string

	// seen is what an owner sees at the plugs, as an option of look-plugs.
	seen string

	// portMarked says that the charge port looks bent, burnt or loose.
	portMarked bool

	// axleCut says that the motor cable looks crushed at the axle.
	axleCut bool

	// told are symptoms of history and danger that come with the fault.
	told []string

	meter misuse
}

// leak is a resistance between two nodes by name.
type leak struct {
	from, to string
	ohm      float64
}

// wiring is the order in which the throttle's wires are connected.
type wiring int

const (
	rightWay      wiring = iota
	supplySwapped        // 5 V and ground
	signalSupply         // signal and 5 V
	signalGround         // signal and ground
)

// lock is a state of the display that keeps the bike from driving.
type lock int

const (
	unlocked lock = iota
	parked
	assistZero
)

// misuse is what is wrong with the owner's measuring: a factor on all
// readings, 1 when nothing is.
type misuse struct{ factor float64 }

// copy is the same works, to be changed apart.
func (w works) copy() works {
	w.ohm = maps.Clone(w.ohm)
	w.leaks = slices.Clone(w.leaks)
	w.rattles = slices.Clone(w.rattles)
	return w
}

// settle takes the rattle out of conductors and the leaks off points: a part
// has been swapped.
func (w *works) settle(conductors []string, points ...string) {
	w.rattles = slices.DeleteFunc(w.rattles, func(n string) bool { return slices.Contains(conductors, n) })
	w.leaks = slices.DeleteFunc(w.leaks, func(l leak) bool { return slices.Contains(points, l.from) })
}
