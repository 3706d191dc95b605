package mining

import (
	"slices"

	"triagebot/mining/stats"
)

// What no bike has: beyond these a distance or an age is a slip of the pen, and
// counts as not known.
const (
	mostDistance = 1e6  // km
	mostAge      = 1200 // months
)

// Add counts one record.
func (a *Aggregate) Add(r Record) {
	if !(r.Distance > 0 && r.Distance <= mostDistance) {
		r.Distance = 0
	}
	if !(r.Age > 0 && r.Age <= mostAge) {
		r.Age = 0
	}
	if a.n == 0 || r.Closed < a.first {
		a.first = r.Closed
	}
	if a.n == 0 || r.Closed > a.last {
		a.last = r.Closed
	}
	a.n++
	if r.Demo {
		a.demo++
	}
	if r.KB != "" {
		a.versions[r.KB]++
	}
	a.addSeries(r)
	a.addChecks(r)
	a.addTalk(r)
	for i, s := range r.Suspects {
		if !slices.Contains(r.Suspects[:i], s) {
			a.suspects[s]++
		}
	}
	if r.Named != "" && (r.Confirmed != "" || r.NotFound) {
		a.confusion[pair{r.Kit, r.Named, confirmed(r)}]++
	}
	if r.Age > 0 && r.Confirmed != "" {
		built := Day(float64(r.Closed) - r.Age*daysPerMonth).month()
		a.batches[batchKey{r.Kit, built, band(ageBands[:], r.Age), r.Part}]++
	}
	if r.Distance > 0 || r.Age > 0 {
		a.visits = append(a.visits, visit{
			bike: bikeKey(r.Kit, r.Bike), day: r.Closed, distance: float32(r.Distance), age: float32(r.Age),
			kit: a.place(r.Kit), part: a.place(r.Part), replaced: r.Replaced,
		})
	}
	a.addWording(r)
}

const daysPerMonth = 365.25 / 12

func confirmed(r Record) string {
	switch {
	case r.Confirmed != "":
		return r.Confirmed
	case r.NotFound:
		return NotFound
	}
	return Unconfirmed
}

// AddRunning takes in a bike that is running. The life of parts counts it as
// not failed at what it has run.
func (a *Aggregate) AddRunning(b Running) {
	known := b.Distance > 0 && b.Distance <= mostDistance || b.Age > 0 && b.Age <= mostAge
	if known {
		a.visits = append(a.visits, visit{bike: bikeKey(b.Kit, b.Bike), day: 1<<31 - 1, distance: float32(b.Distance), age: float32(b.Age), kit: a.place(b.Kit), running: true})
	}
}

func (a *Aggregate) addSeries(r Record) {
	month, week := r.Closed.month(), r.Closed.week()
	distance, age := band(distanceBands[:], r.Distance), band(ageBands[:], r.Age)
	add := func(kind Kind, id string) {
		key := series{kind, id, r.Kit}
		c := a.series[key]
		if c == nil {
			c = &counts{months: map[int]int{}, weeks: map[int]int{}}
			a.series[key] = c
		}
		c.n++
		c.months[month]++
		c.weeks[week]++
		c.distance[distance]++
		c.age[age]++
	}
	add(Cases, "")
	for i, s := range r.Symptoms {
		if !slices.Contains(r.Symptoms[:i], s) {
			add(Symptoms, s)
		}
	}
	add(Causes, confirmed(r))
	if r.Remedy != "" {
		add(Remedies, r.Remedy)
	}
	if r.Part != "" {
		add(Parts, r.Part)
	}
}

func (a *Aggregate) addChecks(r Record) {
	for _, k := range r.Checks {
		key := checkKey{k.Check, r.Kit}
		c := a.checks[key]
		if c == nil {
			c = &checkCounts{cannot: map[string]int{}, outcomes: map[string]int{}}
			a.checks[key] = c
		}
		c.asked++
		if k.Cannot != "" {
			c.cannot[k.Cannot]++
			continue
		}
		if k.Outcome != "" {
			c.outcomes[k.Outcome]++
		}
		if k.Unit != "" {
			c.unit = max(c.unit, k.Unit) // any one, but the same whatever the order
		}
		if k.Close {
			c.close++
		}
		if k.Odd {
			c.odd++
		}
		if k.Overload {
			c.overload++
		}
		if k.Value != nil {
			c.values.Add(stats.Round(*k.Value), 1)
		}
	}
}

func (a *Aggregate) addTalk(r Record) {
	t := a.talks[r.Kit]
	if t == nil {
		t = &talkCounts{reasons: map[string]int{}}
		a.talks[r.Kit] = t
	}
	t.cases++
	if r.Solved {
		t.solved++
	} else if r.Reason != "" {
		t.reasons[r.Reason]++
	}
	t.questions.Add(float64(r.Questions), 1)
	t.minutes.Add(stats.Round(r.Minutes), 1)
}
