package bench

import (
	"maps"
	"slices"
)

// Symptoms are what an owner would notice, by the id of the symptom: true
// for what is there, false for what is not. Complaints among them come from
// the network; history and danger are what goes with such faults, by chance.
func (b *Bike) Symptoms() (map[string]bool, error) {
	if b.notice != nil {
		return maps.Clone(b.notice), nil
	}
	out := map[string]bool{}
	for _, family := range []func(*Bike, map[string]bool) error{
		(*Bike).supplySymptoms, (*Bike).driveSymptoms, (*Bike).motorSymptoms, (*Bike).bodySymptoms} {
		if err := family(b, out); err != nil {
			return nil, err
		}
	}
	for _, id := range historyAndDanger {
		out[id] = slices.Contains(b.works.told, id)
	}
	b.notice = out
	return maps.Clone(out), nil
}

var historyAndDanger = []string{"after-rain", "after-crash", "after-install", "after-storage", "after-part-change",
	"cold-weather", "smoke", "burning-smell", "pack-swollen", "pack-hot", "hissing", "shock-felt", "sparks-inside"}

// creeps is the demand from which a wheel with the bike's weight on it moves.
const creeps = 0.08

// Complaints are the symptoms of a fault that are there now, sorted: not
// those of history and danger, and not display-normal.
func (b *Bike) Complaints() ([]string, error) {
	all, err := b.Symptoms()
	if err != nil {
		return nil, err
	}
	var out []string
	for id, there := range all {
		if there && id != "display-normal" && !slices.Contains(historyAndDanger, id) {
			out = append(out, id)
		}
	}
	slices.Sort(out)
	return out, nil
}

// Works says whether an owner has nothing to complain of: is the fault gone?
func (b *Bike) Works() (bool, error) {
	c, err := b.Complaints()
	return err == nil && len(c) == 0, err
}

// Drives says whether the motor turns as it should when the throttle is
// opened with the wheel up.
func (b *Bike) Drives() (bool, error) {
	how, err := b.turns(loaded)
	return how == smooth, err
}

func (b *Bike) supplySymptoms(out map[string]bool) error {
	w := &b.works
	display, err := b.display()
	if err != nil {
		return err
	}
	lights, err := b.lights()
	if err != nil {
		return err
	}
	horn, err := b.sounds()
	if err != nil {
		return err
	}
	out["display-blank"] = display == "dark"
	out["display-normal"] = display == "normal"
	out["display-flickers"] = display == "flickers"
	out["fault-code-shown"] = display == "fault-code"
	out["dead"] = display == "dark" && !lights && !horn

	rest, err := b.state(scene{})
	if err != nil {
		return err
	}
	little, err := b.state(loaded)
	if err != nil {
		return err
	}
	full, err := b.state(scene{opening: 1, load: hill})
	if err != nil {
		return err
	}
	shaken, err := b.state(scene{opening: 1, load: gentle, moved: everything})
	if err != nil {
		return err
	}
	// It starts, and then dies: that is no bike without drive.
	drives := little.cut == "" || little.cut == protection
	out["resets-on-throttle"] = rest.run.display && little.brownOut
	out["cuts-out-under-load"] = drives && (full.cut == protection || full.cut == lowBus || full.cut == asleep || little.cut == protection)
	out["cuts-out-riding"] = drives && shaken.cut != "" && shaken.cut != full.cut || little.cut == "" && w.trips()
	lit, err := b.state(scene{lights: true})
	if err != nil {
		return err
	}
	out["shuts-off-after-seconds"] = rest.run.display && (lit.brownOut || (w.charge < 0.01 && !w.tripped))

	// Charging an empty controller: without its precharge the current is
	// bounded only by the wires, which snaps, and on big ones trips.
	out["spark-on-connect"] = w.noPrecharge
	surge := w.packVolts() / (w.packOhm() + w.ohm["feed-wire"] + w.ohm["minus-wire"] + w.ohm["isolator"] + 0.03)
	out["breaker-trips"] = w.noPrecharge && surge > 11*w.amps && w.build.has("breaker")

	amps, err := b.chargeAmps()
	if err != nil {
		return err
	}
	lamp, err := b.chargerLamp()
	if err != nil {
		return err
	}
	out["wont-charge"] = amps < 0.1*w.build.chargeAmps
	out["charger-green-at-once"] = lamp == "green-at-once"
	out["short-range"] = w.weakOhm > 0 || w.cutsBelow > 1.04*w.empty() && full.cut == lowBus || w.brakeDrags || w.tyreSoft
	return nil
}

func (b *Bike) driveSymptoms(out map[string]bool) error {
	w := &b.works
	how, err := b.turns(scene{opening: 1, load: gentle})
	if err != nil {
		return err
	}
	st, err := b.state(scene{opening: 1, load: gentle})
	if err != nil {
		return err
	}
	out["no-drive"] = how == still && st.cut != protection
	out["motor-stutters"] = how == stutters
	out["runs-backwards"] = how == backwards
	sign, err := b.inhibits()
	if err != nil {
		return err
	}
	out["brake-light-stuck"] = sign == "brake-sign"
	out["reverse-or-park-shown"] = sign == "park-sign"

	idleDemand, err := b.state(scene{released: true})
	if err != nil {
		return err
	}
	out["runs-by-itself"] = how == smooth && idleDemand.cut == "" && idleDemand.demand > creeps
	dark, err := b.state(scene{lights: true, released: true})
	if err != nil {
		return err
	}
	lightsOn, err := b.turns(scene{lights: true, opening: 1, load: gentle})
	if err != nil {
		return err
	}
	jumpy := w.drops || lightsOn != how || w.regulatorSwings > 0 || (idleDemand.cut != "" && dark.cut == "")
	shaken, err := b.turns(scene{opening: 1, load: gentle, moved: everything})
	if err != nil {
		return err
	}
	out["throttle-jumpy"] = how == smooth && (jumpy || (shaken == still && len(w.rattles) > 0))
	half, err := b.state(scene{opening: 0.45, load: gentle})
	if err != nil {
		return err
	}
	out["drives-late"] = how == smooth && (half.cut == nothingAsked || half.cut == signalMissing)

	pull, err := b.pull(scene{opening: 1, load: hill})
	if err != nil {
		return err
	}
	top, err := b.state(scene{opening: 1, load: gentle})
	if err != nil {
		return err
	}
	drives := how == smooth
	out["weak-power"] = drives && pull > 0 && pull < 0.75
	out["low-top-speed"] = drives && (top.demand < 0.85 || w.tuned < 0.5 || w.magnetism < 0.65)
	out["no-regen"] = w.regen && drives && w.settingsDiffer && w.tuned < 1
	return nil
}

func (b *Bike) motorSymptoms(out map[string]bool) error {
	w := &b.works
	how, err := b.turns(scene{opening: 1, load: gentle})
	if err != nil {
		return err
	}
	turning := how != still
	out["motor-noise"] = turning && (w.bearingWorn || w.freewheelSlips)
	drags, err := b.drags(0)
	if err != nil {
		return err
	}
	out["wheel-drags"] = drags || w.tyreSoft
	out["motor-hot"] = w.hot || w.magnetism < 1 || w.shortedTurns > 0 || how == stutters && w.mismatched
	out["controller-hot"] = w.hot || w.bridgeShorted()
	out["motor-spins-no-drive"] = turning && (w.chainOff || w.keySheared || w.freewheelSlips)
	if out["motor-spins-no-drive"] {
		out["weak-power"], out["low-top-speed"] = false, false
	}
	if w.build.pedal {
		far, err := b.state(scene{})
		if err != nil {
			return err
		}
		near, err := b.state(scene{magnet: true})
		if err != nil {
			return err
		}
		seen := far.across("pedal-in", "b-minus")-near.across("pedal-in", "b-minus") > 2
		out["pedal-assist-dead"] = how == smooth && !seen
	}
	return nil
}

func (b *Bike) bodySymptoms(out map[string]bool) error {
	lights, err := b.lights()
	if err != nil {
		return err
	}
	horn, err := b.sounds()
	if err != nil {
		return err
	}
	out["lights-dead"], out["horn-dead"] = !lights, !horn
	if !b.works.build.speed {
		return nil
	}
	far, err := b.state(scene{})
	if err != nil {
		return err
	}
	near, err := b.state(scene{magnet: true})
	if err != nil {
		return err
	}
	how, err := b.turns(scene{opening: 1, load: gentle})
	if err != nil {
		return err
	}
	seen := far.across("speed-in", "b-minus")-near.across("speed-in", "b-minus") > 2
	out["speed-reading-wrong"] = how != still && far.run.display && !seen
	return nil
}
