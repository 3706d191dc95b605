package checker

import (
	"regexp"
	"slices"

	"triagebot/kb"
)

// changesUnit names the functions that may turn one unit into another: a
// thermistor's table takes °C and gives Ω.
var changesUnit = []string{"table", "exp", "log", "sqrt"}

var token = regexp.MustCompile(`([A-Za-z_][A-Za-z0-9_]*)\s*\(|'[^']*'|"[^"]*"|[()]`)

// plainReadings lists the checks whose readings a limit uses as they are, in
// their own unit: those not inside a function that changes it.
func plainReadings(limit string) []string {
	var ids, open []string
	want := false // the next string names a check
	for _, m := range token.FindAllStringSubmatch(limit, -1) {
		switch {
		case m[0] == "(":
			open = append(open, "")
		case m[0] == ")":
			if len(open) > 0 {
				open = open[:len(open)-1]
			}
		case m[1] != "":
			want = m[1] == "reading" && !slices.ContainsFunc(open, func(f string) bool { return slices.Contains(changesUnit, f) })
			open = append(open, m[1])
		default:
			if want {
				ids = append(ids, m[0][1:len(m[0])-1])
			}
			want = false
		}
	}
	return ids
}

// units reports limits that compare a reading with one of another unit.
func (c *checker) units(check *kb.Check) {
	try := func(limit string, path ...string) {
		for _, id := range plainReadings(limit) {
			if other := c.Check(id); other != nil && other.Unit != "" && other.Unit != check.Unit {
				c.error(c.At(append([]string{"checks", check.ID}, path...)...), "unit", "use a reading in "+check.Unit+", or a table that turns one into the other",
					"a limit of check %q, which reads %s, is set by %q, which reads %s", check.ID, check.Unit, id, other.Unit)
			}
		}
	}
	for _, w := range check.Windows {
		try(w.From, "windows", w.ID, "from")
		try(w.To, "windows", w.ID, "to")
	}
	if check.Possible != nil {
		try(check.Possible.From, "possible", "from")
		try(check.Possible.To, "possible", "to")
	}
}
