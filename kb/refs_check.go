package kb

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// keysOf says which keys a kind of check must have and may not have.
var keysOf = map[string]struct{ must, never []string }{
	"measure": {[]string{"how", "red", "black", "meter", "unit", "windows", "possible"}, []string{"options", "cures"}},
	"try":     {[]string{"how", "options"}, []string{"windows", "possible", "odd"}},
	"look":    {[]string{"options"}, []string{"red", "black", "meter", "unit", "windows", "possible", "odd", "cures"}},
	"talk":    {nil, []string{"red", "black", "meter", "unit", "windows", "options", "possible", "odd", "cures", "line"}},
}

func (l *linker) check(c *Check) {
	kits := l.having(c.Parts, c)
	for _, key := range keysOf[c.Kind].must {
		if pos, ok := l.given(c, key); !ok {
			l.out.error(pos, "missing-key", "add it", "check %q lacks %q, which a %s must have", c.ID, key, c.Kind)
		}
	}
	for _, key := range keysOf[c.Kind].never {
		if pos, ok := l.given(c, key); ok {
			l.out.error(pos, "kind", "take it away, or change the kind", "check %q has %q, which a %s cannot have", c.ID, key, c.Kind)
		}
	}
	l.probe(c.Red, kits, c, "red")
	l.probe(c.Black, kits, c, "black")
	if (c.Red == nil) != (c.Black == nil) && c.Kind != "measure" {
		l.out.error(c.Pos, "missing-key", "a reading is taken between two points", "check %q has only one of red and black", c.ID)
	}
	l.outcomes(c, kits)
	if len(l.Words.Tools) > 0 {
		l.refs("tool", c.Tools, c, "tools")
	}
	l.refs("access", c.Access, c, "access")
	l.refs("caution", c.Cautions, c, "cautions")
	l.due("check", c.ID, c, c.State, c.Tools, l.setting(c), c.Cautions)
	if c.Line != nil {
		l.reads(c.Line, kits, c.Outcomes(), c)
	}
	l.before(c, kits)
}

func (l *linker) outcomes(c *Check, kits []*Kit) {
	limit := func(src string, path ...string) {
		l.limit(src, limitPlace{pos: l.at(c, path...), check: c, kits: kits, value: path[0] == "odd"})
	}
	first := map[string]Pos{}
	healthy := c.Kind == "talk" || len(c.Windows)+len(c.Options) == 0
	once := func(id string, pos Pos) {
		if at, twice := first[id]; twice && id != "" {
			l.out.error(pos, "duplicate-id", "rename one or take it away", "outcome %q of check %q is given twice, first at %s", id, c.ID, at)
		}
		first[id] = pos
	}
	for i, w := range c.Windows {
		once(w.ID, w.Pos)
		healthy = healthy || w.Healthy
		limit(w.From, "windows", strconv.Itoa(i), "from")
		limit(w.To, "windows", strconv.Itoa(i), "to")
	}
	for i, o := range c.Options {
		once(o.ID, o.Pos)
		healthy = healthy || o.Healthy
		if o.Symptom != "" {
			l.ref("symptom", o.Symptom, c, "options", strconv.Itoa(i), "symptom")
		}
		l.refs("symptom", o.ToldBy, c, "options", strconv.Itoa(i), "told-by")
		l.refs("part", o.Parts, c, "options", strconv.Itoa(i), "parts")
	}
	if n := len(c.Windows) + len(c.Options); n == 1 {
		l.out.error(c.Pos, "outcomes", "add what else can come out, or take the check away", "check %q can only come out as %q, so that asking it tells nothing", c.ID, c.Outcomes()[0])
	}
	if !healthy {
		l.out.error(c.Pos, "healthy", "mark what a sound one shows with healthy: true", "check %q has no healthy outcome", c.ID)
	}
	if c.Cures != "" && c.Option(c.Cures) == nil {
		l.unknown("option", c.Cures, c.Outcomes(), l.at(c, "cures"))
	}
	if c.Possible != nil {
		limit(c.Possible.From, "possible", "from")
		limit(c.Possible.To, "possible", "to")
	}
	for i, o := range c.Odd {
		limit(o.When, "odd", strconv.Itoa(i), "when")
	}
}

func (l *linker) probe(p *Probe, kits []*Kit, c *Check, key string) {
	if p == nil {
		return
	}
	if (p.Place != "") == (p.Plug != "") || (p.Plug == "") != (p.Pin == "") {
		l.out.error(p.Pos, "probe", "give plug and pin, or place alone", "it is not clear where the %s probe of check %q goes", key, c.ID)
		return
	}
	if p.Plug == "" {
		return
	}
	var plugs, pins []string // of the kits that have them
	var noPlug, noPin []*Kit
	for _, kit := range kits {
		for _, plug := range kit.Plugs {
			plugs = append(plugs, plug.ID)
		}
		switch plug := kit.Plug(p.Plug); {
		case plug == nil:
			noPlug = append(noPlug, kit)
		default:
			for _, pin := range plug.Pins {
				pins = append(pins, pin.ID)
			}
			if plug.Pin(p.Pin) == nil {
				noPin = append(noPin, kit)
			}
		}
	}
	l.missingOn(noPlug, kits, "plug", p.Plug, plugs, l.at(c, key, "plug"))
	l.missingOn(noPin, kits, "pin of "+p.Plug, p.Pin, pins, l.at(c, key, "pin"))
	if key == "red" && c.Black != nil && p.Plug == c.Black.Plug && p.Pin == c.Black.Pin {
		l.out.error(l.at(c, key, "pin"), "probe", "name the pin that is measured for red, and the one it is measured against for black",
			"both probes of check %q are on pin %q of %q", c.ID, p.Pin, p.Plug)
	}
}

func (l *linker) missingOn(without, kits []*Kit, kind, id string, known []string, pos Pos) {
	switch {
	case len(without) == 0:
	case !slices.Contains(known, id):
		l.unknown(kind, id, known, pos)
	default:
		l.out.error(pos, "pin", "limit the check to the kits that have it with parts, or add it to the kit",
			"%s %q is not on %s", kind, id, kitNames(without))
	}
}

// before checks what must have been done or found before a check.
func (l *linker) before(c *Check, kits []*Kit) {
	l.refs("check", c.First, c, "first")
	for i, n := range c.Needs {
		at := strconv.Itoa(i)
		if !l.need(n, c, "needs", at) {
			continue
		}
		needed := l.Check(n.Check)
		var without []*Kit
		for _, kit := range kits {
			if !kit.Has(needed.Parts) {
				without = append(without, kit)
			}
		}
		if len(without) > 0 {
			l.out.warn(l.at(c, "needs", at, "check"), "no-kit", "give this check the same parts",
				"check %q can never be asked on %s, which cannot have %q", c.ID, kitNames(without), n.Check)
		}
	}
}

// need looks up a check and its outcomes, and says whether there is such a check.
func (l *linker) need(n Need, e any, path ...string) bool {
	if !l.ref("check", n.Check, e, append(slices.Clone(path), "check")...) {
		return false
	}
	outcomes := l.Check(n.Check).Outcomes()
	for _, id := range n.Outcomes {
		if !slices.Contains(outcomes, id) {
			l.unknown("outcome of "+n.Check, id, outcomes, l.at(e, append(slices.Clone(path), "outcomes", id)...))
		}
	}
	return true
}

// due reports cautions that must be carried and are not.
func (l *linker) due(kind, id string, e any, state, tools []string, unit string, carried []string) {
	for _, c := range l.Cautions {
		if slices.Contains(carried, c.ID) {
			continue
		}
		for _, d := range c.Due {
			if reason, ok := d.speaksOf(state, tools, unit); ok {
				l.out.error(l.at(e, "cautions"), "caution-due", fmt.Sprintf("add %s to its cautions", c.ID),
					"%s %q does not carry caution %q, due for %s", kind, id, c.ID, reason)
				break
			}
		}
	}
}

// speaksOf says whether a caution is due for this state, these tools and this
// unit, and for what.
func (d Due) speaksOf(state, tools []string, unit string) (string, bool) {
	var why []string
	for _, part := range []struct{ want, have []string }{{d.State, state}, {d.Tools, tools}, {d.Units, []string{unit}}} {
		if len(part.want) == 0 {
			continue
		}
		i := slices.IndexFunc(part.want, func(w string) bool { return slices.Contains(part.have, w) })
		if i < 0 {
			return "", false
		}
		why = append(why, part.want[i])
	}
	if len(why) == 0 {
		return "everything", true
	}
	return strings.Join(why, " with "), true
}

// sameObservation reports symptoms that two options claim, or that the line
// speaks of although they count through a check.
func (l *linker) sameObservation() {
	for _, c := range l.Checks {
		for i, o := range c.Options {
			s := l.Symptom(o.Symptom)
			if s == nil {
				continue
			}
			same, option := l.SameAs(s.ID)
			if option != &c.Options[i] {
				l.out.error(l.at(c, "options", strconv.Itoa(i), "symptom"), "counts-twice", "keep one of them",
					"symptom %q is the same as option %q of check %q already", s.ID, option.ID, same.ID)
				continue
			}
			if s.Line != nil {
				l.out.error(s.Line.Pos, "counts-twice", fmt.Sprintf("say it in the line of check %q", c.ID),
					"symptom %q counts through option %q of check %q, so the line cannot speak of it here", s.ID, o.ID, c.ID)
			}
			for _, k := range l.Kits {
				if k.Has(c.Parts) != k.Has(s.Parts) {
					l.out.warn(l.at(c, "options", strconv.Itoa(i), "symptom"), "no-kit", "give both the same parts",
						"symptom %q and the check %q it counts through are not on the same kits (%s)", s.ID, c.ID, k.ID)
					break
				}
			}
		}
	}
}
