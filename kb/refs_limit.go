package kb

import (
	"regexp"
	"slices"
)

// expressionWord matches the names in an expression: those of functions, with
// the bracket that follows them, and those of figures; and strings, so that
// names within are passed over.
var expressionWord = regexp.MustCompile(`'[^']*'|"[^"]*"|\b([A-Za-z_][A-Za-z0-9_]*)\b(\s*\(\s*(?:'([^']*)'|"([^"]*)")?)?`)

var (
	expressionFunctions = []string{"abs", "exp", "log", "max", "min", "reading", "sqrt", "table"}
	expressionOperators = []string{"and", "or", "not", "true", "false"}
)

// limitPlace is where a limit or condition stands.
type limitPlace struct {
	pos   Pos
	check *Check // nil outside of checks
	kits  []*Kit // on which it must hold
	value bool   // it may speak of the reading as value
	early bool   // it may use only those figures of the kit that are in names
	names []string
}

// limit checks the names in an expression: functions, figures, and the ids of
// checks and tables. Whether it can be worked out is for package checker.
func (l *linker) limit(src string, at limitPlace) {
	if text, cure := limitSlip(src); text != "" {
		l.out.error(at.pos, "limit", cure, "%s", text)
		return
	}
	for _, m := range expressionWord.FindAllStringSubmatch(src, -1) {
		name, call, id := m[1], m[2] != "", m[3]+m[4]
		switch {
		case name == "" || slices.Contains(expressionOperators, name):
		case call && !slices.Contains(expressionFunctions, name):
			l.unknown("function", name, expressionFunctions, at.pos)
		case call && (name == "table" || name == "reading") && id == "":
			l.out.error(at.pos, "limit", "write it like "+name+"('its-id', 5)", "%s needs the id of a %s in quotes", name, map[string]string{"table": "table", "reading": "check"}[name])
		case call && name == "table":
			if l.Table(id) == nil {
				l.unknown("table", id, l.known["table"], at.pos)
			}
		case call && name == "reading":
			l.reading(id, at)
		case call:
		case name == "value" && at.value:
		case name == "value":
			l.out.error(at.pos, "limit", "use a number or a figure of the kit", "only the when of an odd note can speak of value")
		default:
			l.figure(name, at)
		}
	}
}

func (l *linker) reading(id string, at limitPlace) {
	switch other := l.Check(id); {
	case at.check == nil:
		l.out.error(at.pos, "limit", "use figures only", "a figure of a kit or the when of a caution cannot speak of the reading of %q", id)
	case other == nil:
		l.unknown("check", id, l.known["check"], at.pos)
	case other == at.check:
		l.out.error(at.pos, "limit", "write value in an odd note, and a number elsewhere", "check %q sets its limits by its own reading", other.ID)
	case other.Kind != "measure":
		l.out.error(at.pos, "limit", "name a measure", "check %q is a %s and gives no reading", id, other.Kind)
	}
}

// figure reports a figure that some kit lacks.
func (l *linker) figure(name string, at limitPlace) {
	var all []string
	var without []*Kit
	for _, kit := range at.kits {
		names := kit.figureNames()
		if at.early {
			names = at.names
		}
		all = append(all, names...)
		if !slices.Contains(names, name) {
			without = append(without, kit)
		}
	}
	switch {
	case len(without) == 0:
	case slices.Contains(all, name):
		l.out.error(at.pos, "figure", "add it to the kit, or limit the check to the kits that have it with parts",
			"figure %q is not given for %s", name, kitNames(without))
	default:
		slices.Sort(all)
		l.unknown("figure", name, slices.Compact(all), at.pos)
	}
}

// figureNames lists what limits on a kit may use.
func (k *Kit) figureNames() []string {
	var names []string
	for _, a := range k.Ask {
		names = append(names, a.Figure)
	}
	for _, f := range k.Figures {
		names = append(names, f.Name)
	}
	return names
}
