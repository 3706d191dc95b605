package bench

import (
	"fmt"
	"strings"
)

// Netlist is the bike, switched on, lights on and at rest, as a SPICE netlist
// that any SPICE can solve for its operating point. Everything the bench has
// decided on the way (what is awake, which switch is closed) is in it.
func Netlist(b *Bike) (string, error) {
	st, err := b.state(scene{lights: true})
	if err != nil {
		return "", err
	}
	return st.net.netlist(fmt.Sprintf("%s %s", b.build.id, strings.Join(b.causes, " ")), guess(st.net, &b.works)), nil
}

// netlist writes the network; nodes keep their names. The start is where SPICE
// begins its own search, as a sound bike has it: it finds few such networks
// from zero.
func (n *network) netlist(title string, start []float64) string {
	var out strings.Builder
	fmt.Fprintf(&out, "* %s\n", strings.TrimSpace(title))
	name := func(i node) string {
		if i == 0 {
			return "0"
		}
		return "n_" + strings.ReplaceAll(n.names[i], "-", "_")
	}
	for id, b := range n.branches {
		out.WriteString(b.spice(id, name))
		out.WriteByte('\n')
	}
	for i, v := range start {
		if v != 0 {
			fmt.Fprintf(&out, ".nodeset V(%s)=%.6g\n", name(node(i)), v)
		}
	}
	// The tolerances are tightened so that the comparison is of the networks
	// and not of two ways to stop early.
	out.WriteString(".options reltol=1e-5 abstol=1e-10 vntol=1e-6 gmin=1e-15 itl1=1000 temp=27 tnom=27\n")
	out.WriteString(".op\n.end\n")
	return out.String()
}

func (r resistor) spice(id int, name func(node) string) string {
	return fmt.Sprintf("R%d %s %s %.12g", id, name(r.a), name(r.b), r.ohm)
}

func (s source) spice(id int, name func(node) string) string {
	return fmt.Sprintf("V%d x%d %s %.12g\nR%d x%d %s %.12g",
		id, id, name(s.minus), s.volts, id, id, name(s.plus), s.ohm)
}

func (f follower) spice(id int, name func(node) string) string {
	amps := fmt.Sprintf("(%s+%.12g*(%s)-%s)/%.12g", volts(name, f.ground, 0), f.fraction,
		volts(name, f.supply, f.ground), volts(name, f.out, 0), f.ohm)
	return fmt.Sprintf("Ba%d %s %s I=max(%s,0)\nBb%d %s %s I=min(%s,0)",
		id, name(f.supply), name(f.out), amps, id, name(f.ground), name(f.out), amps)
}

func (s supply) spice(id int, name func(node) string) string {
	return fmt.Sprintf("B%d %s %s I=max(0,min(%.12g,(%.12g-%s)/%.12g))",
		id, name(s.minus), name(s.plus), s.amps, s.volts, volts(name, s.plus, s.minus), s.ohm)
}

func (r regulator) spice(id int, name func(node) string) string {
	out := volts(name, r.out, r.ground)
	return fmt.Sprintf("B%d %s %s I=max(0,min((%.12g-%s)/%.12g,%.12g+%.12g*max(0,%s)))*%s",
		id, name(r.in), name(r.out), r.volts, out, r.ohm, r.short, (r.peak-r.short)/r.volts, out,
		spiceRamp(volts(name, r.in, r.ground), regulatorFrom, regulatorFull))
}

func spiceRamp(at string, from, full float64) string {
	return fmt.Sprintf("max(0,min(1,(%s-%g)/%g))", at, from, full-from)
}

func (p power) spice(id int, name func(node) string) string {
	across := volts(name, p.a, p.b)
	return fmt.Sprintf("B%d %s %s I=%.12g*%s/(%s*%s+%.12g)",
		id, name(p.a), name(p.b), p.watt, across, across, across, p.knee*p.knee)
}

func (c converter) spice(id int, name func(node) string) string {
	amps := fmt.Sprintf("max(0,min(%.12g,(%.12g-%s)/%.12g))", c.amps, c.volts, volts(name, c.out, c.ground), c.ohm)
	in := volts(name, c.in, c.ground)
	return fmt.Sprintf("Ba%d %s %s I=%s\nBb%d %s %s I=(%.12g*%s+%.12g)*%s/(%s*%s+%.12g)",
		id, name(c.ground), name(c.out), amps,
		id, name(c.in), name(c.ground), c.volts/c.efficiency, amps, c.idle, in, in, in, c.low*c.low)
}

func (d diode) spice(id int, name func(node) string) string {
	return fmt.Sprintf("D%d %s %s d%d\n.model d%d D(IS=%.12g N=%.12g)",
		id, name(d.anode), name(d.cathode), id, id, d.saturation, d.ideality)
}

func (s sink) spice(id int, name func(node) string) string {
	return fmt.Sprintf("B%d %s %s I=%s/%.12g*%s",
		id, name(s.out), name(s.ground), volts(name, s.out, s.ground), s.ohm,
		spiceRamp(volts(name, s.supply, s.ground), sinkFrom, sinkFull))
}

// volts is the voltage from one node to another as SPICE writes it.
func volts(name func(node) string, a, b node) string {
	switch {
	case a == b:
		return "0"
	case b == 0:
		return "V(" + name(a) + ")"
	case a == 0:
		return "(-V(" + name(b) + "))"
	}
	return "(V(" + name(a) + ")-V(" + name(b) + "))"
}
