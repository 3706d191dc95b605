package mining

import (
	"cmp"
	"time"

	"triagebot/casefile"
	"triagebot/kb"
)

// Closing is what is only known when a case is closed.
type Closing struct {
	Closed    time.Time
	Confirmed string // cause; "" when nobody confirmed one
	NotFound  bool
	Remedy    string
	Replaced  bool   // the part was replaced, not mended in place
	Person    bool   // a person worked on it
	Kit       string // where the talk did not come to it, or had it wrong
	Bike      string
	Distance  float64
	Age       float64
	Questions int      // asked in the talk; 0 counts the checks of the case
	Unmatched []string // wording that the matcher made nothing of; nil takes the complaint when no symptom came from it
}

// pause is the longest gap between two lines that counts as talking: beyond it
// the owner was away.
const pause = 15 * time.Minute

// FromCase is the record of a case that is being closed. The names of parts
// come from k, the rules by which the case was judged.
func FromCase(c *casefile.Case, cl Closing, k *kb.KB) Record {
	r := Record{
		V: 1, Closed: DayOf(cl.Closed), Kit: cmp.Or(cl.Kit, c.Kit.ID), Bike: cl.Bike, Distance: cl.Distance, Age: cl.Age,
		Named: named(c, k), Confirmed: cl.Confirmed, NotFound: cl.NotFound, Remedy: cl.Remedy, Replaced: cl.Replaced,
		Questions: cl.Questions, Minutes: minutes(c.Transcript), Reason: c.Ended.Reason, Unmatched: cl.Unmatched, KB: c.KB.Version,
	}
	if n := len(c.Remedies); n > 0 && c.Remedies[n-1].Result == "cured" {
		r.Solved = !cl.Person
		if r.Remedy == "" {
			r.Remedy = c.Remedies[n-1].ID
		}
		if r.Confirmed == "" && !r.NotFound {
			r.Confirmed = r.Named // its remedy cured it
		}
	}
	if cause := k.Cause(r.Confirmed); cause != nil {
		r.Part = cause.Part
		if r.Remedy == "" {
			r.Remedy = cause.Remedy
		}
	}
	ownWords := len(c.Dangers) > 0
	for _, s := range c.Symptoms {
		if s.State == "present" {
			r.Symptoms = append(r.Symptoms, s.ID)
		}
		ownWords = ownWords || s.From == "own-words"
	}
	if r.Unmatched == nil && !ownWords {
		r.Unmatched = c.Complaint
	}
	for _, s := range c.Suspects {
		for _, cause := range s.Causes {
			r.Suspects = append(r.Suspects, cause.ID)
		}
	}
	asked := 0
	r.Checks, asked = checksOf(c)
	if r.Questions == 0 {
		r.Questions = asked
	}
	return r
}

// named is the cause for which the last remedy was named: a suspect that has
// it, or one that was ruled out since because the remedy did not cure.
func named(c *casefile.Case, k *kb.KB) string {
	if len(c.Remedies) == 0 {
		return ""
	}
	remedy := c.Remedies[len(c.Remedies)-1].ID
	for _, s := range c.Suspects {
		if s.Remedy == remedy && len(s.Causes) > 0 {
			return s.Causes[0].ID
		}
	}
	best, highest := "", -1.0
	for _, r := range c.RuledOut {
		if cause := k.Cause(r.Cause.ID); cause != nil && cause.Remedy == remedy && r.Highest > highest {
			best, highest = r.Cause.ID, r.Highest
		}
	}
	return best
}

func checksOf(c *casefile.Case) (list []Asked, asked int) {
	for _, m := range c.Readings {
		list = append(list, Asked{Check: m.Check, Value: m.Value, Overload: m.Overload, Unit: m.Unit, Outcome: m.Window, Close: m.Close, Odd: m.Odd})
		asked += 1 + len(m.Earlier)
	}
	for _, l := range c.Looks {
		list = append(list, Asked{Check: l.Check, Outcome: l.Option})
		asked += 1 + len(l.Earlier)
	}
	for _, n := range c.NotDone {
		switch n.Why {
		case "cannot":
			asked++
			fallthrough
		case "tool", "cover":
			list = append(list, Asked{Check: n.Check, Cannot: n.Why})
		}
	}
	return list, asked
}

func minutes(lines []casefile.Line) float64 {
	var total time.Duration
	for i := 1; i < len(lines); i++ {
		if gap := lines[i].Time.Sub(lines[i-1].Time); gap > 0 {
			total += min(gap, pause)
		}
	}
	return total.Minutes()
}
