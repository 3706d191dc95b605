package checker

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"triagebot/kb"
	"triagebot/rules"
)

// figures works out the figures of every kit, and keeps the kits that have all.
func (c *checker) figures() {
	for _, kit := range c.Kits {
		_, err := rules.NewScope(c.KB, kit, nil)
		if err == nil {
			var m *rules.Model
			if m, err = rules.NewModel(c.KB, kit, nil); err == nil {
				c.models = append(c.models, m)
				continue
			}
		}
		pos := kit.Pos
		for i := range kit.Figures {
			part := *kit
			part.Figures = kit.Figures[:i+1]
			if _, err := rules.NewScope(c.KB, &part, nil); err != nil {
				pos = kit.Figures[i].Pos
				break
			}
		}
		c.error(pos, "limit", "use numbers and the figures before this one", "%s", withoutKit(err, kit))
	}
}

// span is a window or the possible range, with both limits worked out.
type span struct {
	from, to float64
	ok       bool
}

// limits works out every limit of every check on every kit that can have it,
// and holds the windows against each other. It says whether all could be
// worked out.
func (c *checker) limits() bool {
	sound := len(c.models) == len(c.Kits)
	for _, check := range c.Checks {
		c.units(check)
		for _, m := range c.models {
			if m.Index(check.ID) < 0 || len(check.Windows) == 0 {
				continue
			}
			if !c.windows(check, m) {
				sound = false
			}
		}
	}
	return sound
}

func (c *checker) windows(check *kb.Check, m *rules.Model) bool {
	sound := true
	limit := func(src string, path ...string) float64 {
		v, err := m.Scope().Number(src)
		if err != nil {
			sound = false
			c.onKit(m.Kit, kb.Diagnostic{
				Pos: c.At(append([]string{"checks", check.ID}, path...)...), Severity: kb.Error, Check: "limit",
				Text: withoutKit(err, m.Kit), Cure: "use numbers, figures of the kit, reading('check', default) and table('id', x)",
			})
		}
		return v
	}
	spans := make([]span, len(check.Windows))
	for i, w := range check.Windows {
		before := sound
		sound = true
		spans[i].from = limit(w.From, "windows", w.ID, "from")
		spans[i].to = limit(w.To, "windows", w.ID, "to")
		spans[i].ok = sound
		sound = sound && before
	}
	if sound {
		c.follow(check, m)
	}
	var possible span
	if check.Possible != nil {
		before := sound
		sound = true
		possible.from = limit(check.Possible.From, "possible", "from")
		possible.to = limit(check.Possible.To, "possible", "to")
		possible.ok = sound
		sound = sound && before
	}
	c.meet(check, m.Kit, spans, possible)
	c.beyondRange(check, m, possible)
	return sound
}

// meet reports windows that are empty, overlap, leave gaps, or lie where no
// reading can be.
func (c *checker) meet(check *kb.Check, kit *kb.Kit, spans []span, possible span) {
	fault := func(path []string, cure, text string, args ...any) {
		c.onKit(kit, kb.Diagnostic{
			Pos: c.At(append([]string{"checks", check.ID}, path...)...), Severity: kb.Error, Check: "windows",
			Text: fmt.Sprintf(text, args...), Cure: cure,
		})
	}
	if possible.ok && possible.from >= possible.to {
		fault([]string{"possible"}, "give the smaller one first", "possible of check %q goes from %.6g to %.6g", check.ID, possible.from, possible.to)
	}
	for i, s := range spans {
		w := check.Windows[i]
		if !s.ok {
			continue
		}
		switch {
		case s.from >= s.to:
			fault([]string{"windows", w.ID}, "give the smaller limit first", "window %q of check %q goes from %.6g to %.6g", w.ID, check.ID, s.from, s.to)
		case possible.ok && possible.from < possible.to && (s.to <= possible.from || s.from >= possible.to):
			fault([]string{"windows", w.ID}, "widen possible, or take the window away",
				"window %q of check %q, %.6g to %.6g, lies outside what is possible, %.6g to %.6g", w.ID, check.ID, s.from, s.to, possible.from, possible.to)
		}
		if i == 0 || !spans[i-1].ok {
			continue
		}
		last := spans[i-1]
		switch before := check.Windows[i-1]; {
		case same(last.to, s.from):
		case last.to < s.from:
			fault([]string{"windows", w.ID, "from"}, fmt.Sprintf("begin where %q ends", before.ID),
				"check %q has no window from %.6g to %.6g, between %q and %q", check.ID, last.to, s.from, before.ID, w.ID)
		case s.from < last.from:
			fault([]string{"windows", w.ID, "from"}, "sort the windows from the smallest readings to the greatest",
				"window %q of check %q comes after %q but begins below it", w.ID, check.ID, before.ID)
		default:
			fault([]string{"windows", w.ID, "from"}, fmt.Sprintf("begin where %q ends", before.ID),
				"windows %q and %q of check %q overlap from %.6g to %.6g", before.ID, w.ID, check.ID, s.from, last.to)
		}
	}
}

// follow moves the readings that the limits refer to over what they may be,
// and reports windows that then run backwards: good at a supply of 5.0 V is no
// use when it ends below its beginning at 4.5 V.
func (c *checker) follow(check *kb.Check, m *rules.Model) {
	refers := map[string]bool{}
	for _, w := range check.Windows {
		for _, id := range append(m.Scope().RefersTo(w.From), m.Scope().RefersTo(w.To)...) {
			refers[id] = true
		}
	}
	for _, id := range sortedKeys(refers) {
		for _, y := range edges(c.Check(id), check, m) {
			scope := m.Scope().With(map[string]rules.Known{id: {Value: y}})
			for _, w := range check.Windows {
				from, err1 := scope.Number(w.From)
				to, err2 := scope.Number(w.To)
				if err1 == nil && err2 == nil && from < to || !slices.Contains(append(m.Scope().RefersTo(w.From), m.Scope().RefersTo(w.To)...), id) {
					continue
				}
				c.onKit(m.Kit, kb.Diagnostic{
					Pos: c.At("checks", check.ID, "windows", w.ID), Severity: kb.Warning, Check: "windows",
					Text: fmt.Sprintf("window %q of check %q is empty when %q reads %.6g", w.ID, check.ID, id, y),
					Cure: "hold the limit in place with min or max, or name under needs the outcomes it may follow",
				})
				break
			}
		}
	}
}

// edges lists the readings at the ends of the windows that an earlier check
// may have come out in: those that are needed, or else the healthy ones.
func edges(earlier, check *kb.Check, m *rules.Model) []float64 {
	if earlier == nil || m.Index(earlier.ID) < 0 {
		return nil
	}
	may := func(w kb.Window) bool { return w.Healthy }
	for _, n := range check.Needs {
		if n.Check == earlier.ID {
			may = func(w kb.Window) bool { return slices.Contains(n.Outcomes, w.ID) }
		}
	}
	var all []float64
	for _, w := range earlier.Windows {
		if !may(w) {
			continue
		}
		for _, limit := range []string{w.From, w.To} {
			if y, err := m.Scope().Number(limit); err == nil {
				all = append(all, y)
			}
		}
	}
	return all
}

func same(a, b float64) bool {
	return math.Abs(a-b) <= 1e-9*math.Max(1, math.Max(math.Abs(a), math.Abs(b)))
}

// withoutKit takes the kit's name out of an error, for one report of all kits.
func withoutKit(err error, kit *kb.Kit) string {
	return strings.ReplaceAll(err.Error(), fmt.Sprintf(" for kit %q", kit.ID), "")
}

// conditions tries the conditions of cautions and odd notes.
func (c *checker) conditions() {
	try := func(m *rules.Model, src string, value float64, path ...string) {
		if _, err := m.Scope().Holds(src, value); err != nil {
			c.onKit(m.Kit, kb.Diagnostic{
				Pos: c.At(path...), Severity: kb.Error, Check: "limit",
				Text: withoutKit(err, m.Kit), Cure: "compare numbers, value and figures of the kit, such as full > 60",
			})
		}
	}
	for _, m := range c.models {
		for _, caution := range c.Cautions {
			for i, d := range caution.Due {
				if d.When != "" {
					try(m, d.When, math.NaN(), "cautions", caution.ID, "due", fmt.Sprint(i), "when")
				}
			}
		}
		for _, check := range c.Checks {
			for i, o := range check.Odd {
				if m.Index(check.ID) < 0 {
					continue
				}
				for _, value := range []float64{-1, 0, 1} {
					try(m, o.When, value, "checks", check.ID, "odd", fmt.Sprint(i), "when")
				}
			}
		}
	}
}
