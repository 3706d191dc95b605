package mining

import (
	"fmt"

	"triagebot/kb"
)

// Options are what a report is made by. The zero value of each field is its
// default.
type Options struct {
	KB *kb.KB // for windows, and for rules never used; nil leaves those out
	// Least is the size of the smallest group shown; 5. With 1 nothing is hidden.
	Least int
	Level float64 // of intervals; 0.95
	// Recent weeks are compared with the Base weeks before them; 13 and 39.
	Recent, Base int
	// False is what the search for rises may cost: at most this share of reports
	// over data without any rise raises a false alarm by comparison of periods,
	// and as many by the charts; 0.05. It also bounds the expected share of false
	// ones among what is found by comparison.
	False   float64
	PerCase bool // compare shares of all cases instead of cases a week, for a fleet that grows
	Now     Day  // the last day looked at; the last in the data
}

func (o Options) filled(a *Aggregate) (Options, error) {
	set := func(v *int, usual int) {
		if *v == 0 {
			*v = usual
		}
	}
	set(&o.Least, 5)
	set(&o.Recent, 13)
	set(&o.Base, 39)
	if o.Level == 0 {
		o.Level = 0.95
	}
	if o.False == 0 {
		o.False = 0.05
	}
	if o.Now == 0 {
		o.Now = a.last
	}
	switch {
	case o.Least < 1 || o.Recent < 1 || o.Base < 1:
		return o, fmt.Errorf("making a report: least %d, recent %d weeks, base %d weeks: each must be 1 or more", o.Least, o.Recent, o.Base)
	case !(o.Level > 0 && o.Level < 1) || !(o.False > 0 && o.False < 1):
		return o, fmt.Errorf("making a report: level %g and false alarms %g must lie between 0 and 1", o.Level, o.False)
	}
	return o, nil
}
