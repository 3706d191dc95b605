package bench

import (
	"fmt"
	"math"
)

// Reading is what the meter shows: Value in Unit (V or Ω, never with a
// prefix), rounded to Decimals decimals as the display does; negative
// Decimals round before the point (12.49 kΩ is 12490 with -1). Overload is
// the display's OL; Value is then 0.
type Reading struct {
	Value    float64
	Unit     string
	Overload bool
	Decimals int
}

// String is the display with its unit: "4.98 V", "12.49 kΩ", "OL".
func (r Reading) String() string {
	if r.Overload {
		return "OL"
	}
	value, decimals, prefix := r.Value, r.Decimals, ""
	if r.Unit == "Ω" {
		switch size := math.Pow(10, -float64(r.Decimals)) * 6000; {
		case size > 600e3:
			value, decimals, prefix = value/1e6, decimals+6, "M"
		case size > 600:
			value, decimals, prefix = value/1e3, decimals+3, "k"
		}
	}
	return fmt.Sprintf("%.*f %s%s", max(decimals, 0), value, prefix, r.Unit)
}

// counts is the display of a usual hand meter: 6000 steps a range.
const counts = 6000

// scale is how a meter knows one kind of reading: ±(percent + digits).
type scale struct {
	unit            string
	ranges          []float64
	percent, digits float64
	active          bool // drives a current of its own: OL through a broken lead
}

// The classes of a usual hand meter: ±(0.5 % + 2) on DC volts; ohms and the
// diode test less well.
var (
	voltScale  = scale{"V", []float64{6, 60, 600}, 0.5, 2, false}
	ohmScale   = scale{"Ω", []float64{600, 6e3, 60e3, 600e3, 6e6, 60e6}, 1.0, 3, true}
	diodeScale = scale{"V", []float64{6}, 1.0, 3, true}
)

const (
	inputOhm    = 10e6  // of the meter on volts
	testVolts   = 3.0   // what it drives a current with
	diodeAmps   = 0.001 // through a diode
	diodeMost   = 2.0   // V; above, the diode test shows OL
	testOfRange = 0.5   // V that its test current makes at the end of an ohm range
)

// shown turns a true value into a reading. Gain and offset are the meter's
// own and stay from reading to reading; noise is the last digit that does not.
// Each is a draw of -1 to 1 over its share of what the class allows: the gain
// has the percent, and of the digits half is noise, half rounding, the rest
// offset.
func (s scale) shown(truth, gain, offset, noise float64) Reading {
	span := s.ranges[len(s.ranges)-1]
	for _, r := range s.ranges {
		if math.Abs(truth) < r {
			span = r
			break
		}
	}
	if math.Abs(truth) >= span {
		return Reading{Unit: s.unit, Overload: true}
	}
	step := span / counts
	value := truth*(1+gain*s.percent/100) + (offset*(s.digits-1)+noise*0.5)*step
	decimals := int(math.Round(-math.Log10(step)))
	value = math.Round(value/step) * step
	if s.active {
		value = max(value, 0) // it has driven the current itself
	}
	return Reading{Value: tidy(value, decimals), Unit: s.unit, Decimals: decimals}
}

// tidy takes the binary dust off a decimal figure.
func tidy(value float64, decimals int) float64 {
	p := math.Pow(10, float64(decimals))
	return math.Round(value*p)/p + 0 // no minus before a zero
}

// volts reads a scene between two points with the meter's own resistance there.
func (b *Bike) volts(s scene, red, black string) (float64, error) {
	st, err := b.state(s)
	if err != nil {
		return 0, err
	}
	return st.meter(red, black, resistor{ohm: inputOhm})
}

// meter puts a branch between two points and reads the voltage there.
func (s *state) meter(red, black string, with branch) (float64, error) {
	r, known := s.net.index[red]
	k, too := s.net.index[black]
	if !known || !too {
		return 0, fmt.Errorf("putting probes on %q and %q: no such point on this kit", red, black)
	}
	switch m := with.(type) {
	case resistor:
		m.a, m.b = r, k
		with = m
	case supply:
		m.plus, m.minus = r, k
		with = m
	}
	net := &network{names: s.net.names, index: s.net.index}
	net.branches = append(append(net.branches, s.net.branches...), with)
	v, err := net.solve(s.volts)
	if err != nil {
		return 0, err
	}
	return v[r] - v[k], nil
}

// ohms reads a resistance on the lowest range that can show it; +Inf is OL.
// Like a meter that finds its range it looks with a trace of current first.
func (s *state) ohms(red, black string) (float64, error) {
	top := ohmScale.ranges[len(ohmScale.ranges)-1]
	v, err := s.meter(red, black, supply{volts: testVolts, ohm: 1000, amps: testOfRange / top})
	if err != nil {
		return 0, err
	}
	about := v / (testOfRange / top)
	for _, span := range ohmScale.ranges {
		if about >= span*1.01 {
			continue
		}
		amps := testOfRange / span
		v, err := s.meter(red, black, supply{volts: testVolts, ohm: 1000, amps: amps})
		if err != nil {
			return 0, err
		}
		if r := v / amps; r < span {
			return r, nil
		}
	}
	return open, nil
}

// diodeTest reads a junction; +Inf is OL.
func (s *state) diodeTest(red, black string) (float64, error) {
	v, err := s.meter(red, black, supply{volts: testVolts, ohm: 1000, amps: diodeAmps})
	if err == nil && v > diodeMost {
		return open, nil
	}
	return v, err
}
