package bench

import "math"

// supply is a source that can give no more than its limit and takes nothing
// back: a charger, a USB socket, the test current of a meter.
type supply struct {
	plus, minus      node
	volts, ohm, amps float64
}

func (s supply) add(eq *equations, v []float64) {
	across := v[s.plus] - v[s.minus]
	amps, g := (s.volts-across)/s.ohm, 1/s.ohm
	if amps > s.amps {
		amps, g = s.amps, 0
	} else if amps < 0 {
		amps, g = 0, 0
	}
	eq.bend(v, s.minus, s.plus, amps, slope{s.plus, -g}, slope{s.minus, g})
}

func (s supply) touches() []node { return []node{s.plus, s.minus} }

func (s supply) knee() (a, b node, from, to float64) {
	return s.plus, s.minus, s.volts - s.amps*s.ohm, s.volts
}

// regulator is the controller's 5 V supply: a series regulator, so what goes
// out comes in. Drawn too hard it folds back: the lower its output is pulled,
// the less it gives, down to short at 0 V.
type regulator struct {
	in, out, ground node
	volts, ohm      float64
	peak, short     float64 // A at the rated voltage, A into a short
}

// gives is the output current at an output voltage, and its slope.
func (r regulator) gives(out float64) (amps, g float64) {
	stiff := (r.volts - out) / r.ohm
	k := (r.peak - r.short) / r.volts
	fold := r.short + k*out
	switch {
	case stiff <= 0:
		return 0, 0
	case out <= 0:
		return r.short, 0
	case stiff < fold:
		return stiff, -1 / r.ohm
	}
	return fold, k
}

// A regulator works above the first of these voltages of its input, and
// fully above the second.
const (
	regulatorFrom = 4.0
	regulatorFull = 9.0
)

func (r regulator) add(eq *equations, v []float64) {
	amps, g := r.gives(v[r.out] - v[r.ground])
	part, steep := ramp(v[r.in]-v[r.ground], regulatorFrom, regulatorFull)
	g *= part
	eq.bend(v, r.in, r.out, amps*part,
		slope{r.out, g}, slope{r.ground, -g - amps*steep}, slope{r.in, amps * steep})
}

func (r regulator) touches() []node { return []node{r.in, r.out, r.ground} }

// ramp rises from 0 to 1 between two voltages; steep is its slope.
func ramp(at, from, full float64) (part, steep float64) {
	switch {
	case at <= from:
		return 0, 0
	case at >= full:
		return 1, 0
	}
	return (at - from) / (full - from), 1 / (full - from)
}

func (r regulator) knee() (a, b node, from, to float64) {
	k := (r.peak - r.short) / r.volts
	return r.out, r.ground, (r.volts - r.ohm*r.short) / (1 + r.ohm*k), r.volts
}

// power is a load that takes the same watts over its working range: a
// display, a controller's logic, a motor under its controller. Below the knee
// it turns into a resistance, as such loads do before they let go.
type power struct {
	a, b       node
	watt, knee float64
}

// takes is the current at a voltage, and that current per volt. The tangent
// of such a load is negative, and following it leads away wherever the supply
// cannot feed the load; the chord through zero always leads back.
func (p power) takes(across float64) (amps, chord float64) {
	chord = p.watt / (across*across + p.knee*p.knee)
	return chord * across, chord
}

func (p power) add(eq *equations, v []float64) {
	_, g := p.takes(v[p.a] - v[p.b])
	eq.flow(p.a, p.b, 0, slope{p.a, g}, slope{p.b, -g})
}

func (p power) touches() []node { return []node{p.a, p.b} }

// converter is the DC-DC converter: it makes its voltage up to its limit and
// takes the same power, and its losses, from its input.
type converter struct {
	in, out, ground       node
	volts, ohm, amps      float64
	efficiency, idle, low float64 // idle in W; low is the input's knee in V
}

func (c converter) add(eq *equations, v []float64) {
	amps, g := (c.volts-(v[c.out]-v[c.ground]))/c.ohm, -1/c.ohm
	if amps > c.amps {
		amps, g = c.amps, 0
	} else if amps < 0 {
		amps, g = 0, 0
	}
	eq.bend(v, c.ground, c.out, amps, slope{c.out, g}, slope{c.ground, -g})
	draw := power{c.in, c.ground, c.volts*amps/c.efficiency + c.idle, c.low}
	draw.add(eq, v)
}

func (c converter) touches() []node { return []node{c.in, c.out, c.ground} }

func (c converter) knee() (a, b node, from, to float64) {
	return c.out, c.ground, c.volts - c.amps*c.ohm, c.volts
}

// diode is a transistor's body diode.
type diode struct {
	anode, cathode node
	saturation     float64 // A
	ideality       float64
}

// thermalVolts is kT/q at 27 °C, the temperature SPICE takes unless told.
const thermalVolts = 0.025864186

// conducts is the diode's current. Above 1 V it goes on straight, so that a
// first guess far off does not overflow the exponential.
func (d diode) conducts(across float64) (amps, g float64) {
	nvt := d.ideality * thermalVolts
	const knee = 1.0
	at := math.Min(across, knee)
	e := d.saturation * math.Exp(at/nvt)
	amps, g = e-d.saturation, e/nvt
	if across > knee {
		amps += g * (across - knee)
	}
	return amps, g
}

func (d diode) add(eq *equations, v []float64) {
	amps, g := d.conducts(v[d.anode] - v[d.cathode])
	eq.bend(v, d.anode, d.cathode, amps, slope{d.anode, g}, slope{d.cathode, -g})
}

func (d diode) touches() []node { return []node{d.anode, d.cathode} }

// sink is the output of a switching sensor that pulls low: a resistance to
// its ground, as far as the sensor has a supply to work on.
type sink struct {
	supply, ground, out node
	ohm                 float64
}

// Such a sensor wakes between these voltages of its supply.
const (
	sinkFrom = 1.5
	sinkFull = 2.5
)

func (s sink) add(eq *equations, v []float64) {
	part, steep := ramp(v[s.supply]-v[s.ground], sinkFrom, sinkFull)
	across := v[s.out] - v[s.ground]
	g, h := part/s.ohm, steep*across/s.ohm
	eq.bend(v, s.out, s.ground, across*g, slope{s.out, g}, slope{s.ground, -g - h}, slope{s.supply, h})
}

func (s sink) touches() []node { return []node{s.supply, s.ground, s.out} }
