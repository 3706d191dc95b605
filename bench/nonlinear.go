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
	eq.flow(s.minus, s.plus, amps, slope{s.plus, -g}, slope{s.minus, g})
}

// regulator is the controller's 5 V supply: a series regulator, so what goes
// out comes in. Drawn too hard it folds back: the lower its output is pulled,
// the less it gives, down to short at 0 V.
type regulator struct {
	in, out, ground     node
	volts, ohm          float64
	peak, short, source float64 // A at the rated voltage, A into a short, Ω of its input
}

// gives is the output current at an output voltage, and its slope.
func (r regulator) gives(out float64) (amps, g float64) {
	stiff := (r.volts - out) / r.ohm
	k := (r.peak - r.short) / r.volts
	fold := r.short + k*out
	switch {
	case stiff <= 0:
		return 0, 0
	case stiff < fold:
		return stiff, -1 / r.ohm
	case fold <= 0:
		return 0, 0
	}
	return fold, k
}

func (r regulator) add(eq *equations, v []float64) {
	amps, g := r.gives(v[r.out] - v[r.ground])
	eq.flow(r.in, r.out, amps, slope{r.out, g}, slope{r.ground, -g})
}

// power is a load that takes the same watts over its working range: a
// display, a controller's logic, a motor under its controller. Below the knee
// it turns into a resistance, as such loads do before they let go.
type power struct {
	a, b       node
	watt, knee float64
}

func (p power) takes(across float64) (amps, g float64) {
	d := across*across + p.knee*p.knee
	return p.watt * across / d, p.watt * (p.knee*p.knee - across*across) / (d * d)
}

func (p power) add(eq *equations, v []float64) {
	amps, g := p.takes(v[p.a] - v[p.b])
	eq.flow(p.a, p.b, amps, slope{p.a, g}, slope{p.b, -g})
}

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
	eq.flow(c.ground, c.out, amps, slope{c.out, g}, slope{c.ground, -g})
	watt := c.volts*amps/c.efficiency + c.idle
	draw := power{c.in, c.ground, watt, c.low}
	in, gin := draw.takes(v[c.in] - v[c.ground])
	per := in / watt * c.volts / c.efficiency // A of input per A of output
	eq.flow(c.in, c.ground, in, slope{c.in, gin}, slope{c.ground, -gin - per*g}, slope{c.out, per * g})
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
	eq.flow(d.anode, d.cathode, amps, slope{d.anode, g}, slope{d.cathode, -g})
}
