package checker

import (
	"regexp"
	"slices"
	"strings"

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

// asked lists the figures whose units are known, because an owner is asked for
// them, and those that are worked out from one of these without a division.
func (c *checker) asked() map[string]string {
	units := map[string]string{}
	for _, kit := range c.Kits {
		for _, a := range kit.Ask {
			units[a.Figure] = a.Unit
		}
	}
	for _, kit := range c.Kits {
		for _, f := range kit.Figures {
			if unit, ok := oneUnit(f.Expr, units); ok && units[f.Name] == "" {
				units[f.Name] = unit
			}
		}
	}
	return units
}

var figureName = regexp.MustCompile(`[a-z][a-z0-9_]*`)

// oneUnit is the unit of the figures in an expression, when it can be told. A
// division, a power or a function that changes units makes something else of them.
func oneUnit(expr string, units map[string]string) (string, bool) {
	found := ""
	for _, name := range figureName.FindAllString(expr, -1) {
		switch u := units[name]; {
		case slices.Contains(changesUnit, name), name == "reading", u != "" && found != "" && u != found:
			return "", false
		case u != "":
			found = u
		}
	}
	return found, found != "" && !strings.ContainsAny(expr, "/^")
}

// units reports limits that compare a reading with one of another unit.
func (c *checker) units(check *kb.Check) {
	asked := c.asked()
	try := func(limit string, path ...string) {
		if unit, ok := oneUnit(limit, asked); ok && unit != check.Unit {
			c.error(c.At(append([]string{"checks", check.ID}, path...)...), "unit", "use figures and readings in "+check.Unit+", or another unit for the check",
				"a limit of check %q, which reads %s, is worked out from figures in %s: %q", check.ID, check.Unit, unit, limit)
		}
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
