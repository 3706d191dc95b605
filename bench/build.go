package bench

import (
	"fmt"
	"strings"
)

// build is a kind of bike as made: what does not differ from one to the next.
type build struct {
	id     string
	cell   cell
	series int
	// label is the voltage printed on the pack.
	label    float64
	cellOhm  float64 // of one series cell (a group in parallel), at 25 °C
	amps     float64 // the controller's limit
	capacity float64 // of the controller's capacitors, F

	feedMM2, feedMetres   float64 // thick wires, pack to controller
	phaseMM2, phaseMetres float64 // motor cable
	loomMetres            float64 // controller to handlebar
	windingOhm            float64 // one phase, to the star point

	keyed, stand, pedal, speed, motorTemp bool
	hub, geared, chain, precharge, regen  bool
	settingsScreen                        bool
	// namesLostLink says that the display shows a code when the controller
	// does not answer it.
	namesLostLink bool
	// guarded controllers refuse to drive when the throttle is open at switch-on.
	guarded bool

	lightWatts float64 // motor at a little throttle, wheel up
	lampWatts  float64
	hornWatts  float64
	chargeAmps float64
}

func (b build) full() float64  { return b.cell.full * float64(b.series) }
func (b build) empty() float64 { return b.cell.empty * float64(b.series) }

// builds are the kits. Voltages and wires are those of the kit's card; the
// rest is what such bikes usually have.
var builds = []build{
	{
		id: "teasel-48", cell: nmc, series: 13, label: 48.1, cellOhm: 0.011, amps: 25, capacity: 1000e-6,
		feedMM2: 4, feedMetres: 1.0, phaseMM2: 2.5, phaseMetres: 1.2, loomMetres: 1.8, windingOhm: 0.075,
		pedal: true, speed: true, hub: true, geared: true, settingsScreen: true, namesLostLink: true, guarded: true,
		lightWatts: 90, lampWatts: 8, hornWatts: 12, chargeAmps: 3,
	},
	{
		id: "sorrel-60", cell: lfp, series: 19, label: 60.8, cellOhm: 0.0022, amps: 40, capacity: 1500e-6,
		feedMM2: 6, feedMetres: 1.2, phaseMM2: 4, phaseMetres: 1.2, loomMetres: 1.5, windingOhm: 0.06,
		keyed: true, stand: true, hub: true, precharge: true, guarded: true,
		lightWatts: 150, lampWatts: 18, hornWatts: 25, chargeAmps: 5,
	},
	{
		id: "yarrow-72", cell: nmc, series: 20, label: 74, cellOhm: 0.0028, amps: 80, capacity: 2200e-6,
		feedMM2: 16, feedMetres: 0.8, phaseMM2: 10, phaseMetres: 0.6, loomMetres: 1.2, windingOhm: 0.015,
		keyed: true, speed: true, motorTemp: true, chain: true, precharge: true, regen: true, settingsScreen: true,
		namesLostLink: true, guarded: true,
		lightWatts: 260, lampWatts: 24, hornWatts: 25, chargeAmps: 8,
	},
	{
		id: "generic", cell: nmc, series: 13, label: 48, cellOhm: 0.009, amps: 30, capacity: 1000e-6,
		feedMM2: 4, feedMetres: 1.0, phaseMM2: 2.5, phaseMetres: 1.0, loomMetres: 1.6, windingOhm: 0.07,
		keyed: true, stand: true, pedal: true, speed: true, hub: true, geared: true, precharge: true,
		lightWatts: 100, lampWatts: 10, hornWatts: 15, chargeAmps: 3,
	},
}

// strangers are the packs a bike of an unknown kit may carry.
var strangers = []struct {
	cell   cell
	series int
	label  float64
}{{nmc, 10, 36}, {nmc, 13, 48}, {nmc, 14, 52}, {lfp, 16, 48}, {nmc, 17, 60}, {nmc, 20, 72}}

// buildOf finds the kit; a bike of the unknown kind draws its pack and habits.
func buildOf(kit string, seed uint64) (build, error) {
	ids := make([]string, 0, len(builds))
	for _, b := range builds {
		if b.id != kit {
			ids = append(ids, b.id)
			continue
		}
		if kit == "generic" {
			d := roll(seed, "stranger")
			s := strangers[d.IntN(len(strangers))]
			b.cell, b.series, b.label = s.cell, s.series, s.label
			b.namesLostLink, b.guarded = d.chance(0.5), d.chance(0.75)
		}
		return b, nil
	}
	return build{}, fmt.Errorf("building a bike: no kit %q, use one of %s", kit, strings.Join(ids, ", "))
}

// has says whether the kit has a part, by the name the knowledge bases use.
func (b build) has(part string) bool {
	switch part {
	case "pack-switch", "display-button":
		return !b.keyed
	case "breaker", "key-switch":
		return b.keyed
	case "stand-switch":
		return b.stand
	case "pedal-sensor":
		return b.pedal
	case "speed-sensor":
		return b.speed
	case "motor-temp-sensor":
		return b.motorTemp
	case "hub-motor":
		return b.hub
	case "geared-hub":
		return b.geared
	case "mid-motor", "chain":
		return b.chain
	case "precharge":
		return b.precharge
	case "regen":
		return b.regen
	case "settings-screen":
		return b.settingsScreen
	}
	return true // pack, fuse, display, controller, throttle, brakes, motor, halls, lights, horn, port, lockout
}
