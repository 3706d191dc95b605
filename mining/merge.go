package mining

// Merge adds what another aggregate counted; it is the same as if its records
// had been added here. o must not be used for adding afterwards.
func (a *Aggregate) Merge(o *Aggregate) {
	if o.n > 0 {
		if a.n == 0 || o.first < a.first {
			a.first = o.first
		}
		if a.n == 0 || o.last > a.last {
			a.last = o.last
		}
	}
	a.n += o.n
	a.demo += o.demo
	a.leftOut += o.leftOut
	for k, c := range o.series {
		if mine := a.series[k]; mine != nil {
			mine.merge(c)
		} else {
			a.series[k] = c
		}
	}
	for k, c := range o.checks {
		if mine := a.checks[k]; mine != nil {
			mine.merge(c)
		} else {
			a.checks[k] = c
		}
	}
	for k, t := range o.talks {
		if mine := a.talks[k]; mine != nil {
			mine.merge(t)
		} else {
			a.talks[k] = t
		}
	}
	sumInto(a.confusion, o.confusion)
	sumInto(a.suspects, o.suspects)
	sumInto(a.versions, o.versions)
	sumInto(a.batches, o.batches)
	a.mergeWording(o)
	for _, v := range o.visits {
		v.kit, v.part = a.place(o.names[v.kit]), a.place(o.names[v.part])
		a.visits = append(a.visits, v)
	}
}

func sumInto[K comparable](into, from map[K]int) {
	for k, n := range from {
		into[k] += n
	}
}

func (c *counts) merge(o *counts) {
	c.n += o.n
	sumInto(c.months, o.months)
	sumInto(c.weeks, o.weeks)
	for i, n := range o.distance {
		c.distance[i] += n
	}
	for i, n := range o.age {
		c.age[i] += n
	}
}

func (c *checkCounts) merge(o *checkCounts) {
	c.asked += o.asked
	c.close += o.close
	c.odd += o.odd
	c.overload += o.overload
	c.unit = max(c.unit, o.unit)
	sumInto(c.cannot, o.cannot)
	sumInto(c.outcomes, o.outcomes)
	c.values.Merge(&o.values)
}

func (t *talkCounts) merge(o *talkCounts) {
	t.cases += o.cases
	t.solved += o.solved
	t.questions.Merge(&o.questions)
	t.minutes.Merge(&o.minutes)
	sumInto(t.reasons, o.reasons)
}
