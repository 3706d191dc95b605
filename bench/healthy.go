package bench

// healthy is a sound bike of a kit, as different from the next one of its
// kind as sound bikes are. The limits of each draw are usual for the part.
func healthy(b build, seed uint64) (works, error) {
	d := roll(seed, b.id+" healthy")
	w := works{build: b}
	w.celsius = d.between(8, 28)
	w.charge = d.between(0.35, 0.97)
	w.seated, w.thrown, w.turned = true, true, true
	w.ghostOhm = d.decades(4e9, 4e10)

	w.bleedOhm = d.between(45, 100) / b.capacity // so many seconds to lose two thirds
	w.regulatorVolts = d.between(4.93, 5.12)
	w.regulatorPeak = d.between(0.12, 0.22)
	w.regulatorShort = d.between(0.05, 0.11)
	// The limit sits at the cells' end of discharge, a little above for care.
	w.cutsBelow = b.empty() * d.between(1.0, 1.02)
	w.demandFrom, w.demandTo = 0.23, 0.68
	w.tuned = 1

	w.restAt = d.between(0.165, 0.205)
	w.fullAt = d.between(0.75, 0.84)
	w.sensorMilliamp = d.between(4, 8)
	w.sensorOhm = d.between(60, 220)

	w.magnetism = 1
	w.caseOhm = d.decades(50e6, 2e9)

	w.converterVolts = d.between(12.4, 13.6)
	w.chargerVolts = b.full() * d.between(0.996, 1.002)
	w.lampOhm = 12 * 12 / d.around(b.lampWatts, 0.1)
	w.hornOhm = 12 * 12 / d.around(b.hornWatts, 0.1)
	w.meter.factor = 1

	var err error
	if w.ohm, err = ohms(b, w.celsius, seed); err != nil {
		return w, err
	}
	for _, small := range []string{"left-brake", "right-brake", "stand"} {
		w.ohm[small] = d.between(0.15, 0.6) // a micro switch and its lead
	}
	return w, nil
}

// packVolts is the open-circuit voltage of the cells.
func (w *works) packVolts() float64 {
	return w.cell.volts.at(w.charge)*float64(w.series) - w.weakVolts
}

// packOhm is their inner resistance.
func (w *works) packOhm() float64 {
	// Near empty the resistance rises steeply: half as much again at 5 %.
	low := 1 + 0.5*max(0, 0.15-w.charge)/0.10
	return w.cellOhm*float64(w.series)*coldFactor(w.celsius)*low + w.weakOhm
}
