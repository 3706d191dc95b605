package mining

// Alarms is the part of a report that can raise false alarms.
func (a *Aggregate) Alarms(o Options) (Rising, Batches, error) {
	o, err := o.filled(a)
	if err != nil {
		return Rising{}, Batches{}, err
	}
	r, err := a.rising(o)
	return r, a.batchesReport(o), err
}

// Hide lets tests look at the hiding of small groups.
var Hide = hide
