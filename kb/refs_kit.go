package kb

import (
	"slices"
	"strconv"
	"strings"
)

func (l *linker) about() {
	if id := l.About.Generic; id != "" && l.Kit(id) == nil {
		l.unknown("kit", id, l.known["kit"], l.At("about", "generic"))
	}
	b := l.About.Belief
	if b.Pairs+b.Unlisted+b.NothingWrong >= 1 {
		l.out.error(l.At("about", "belief"), "sum", "lower them; single causes need the rest",
			"pairs, unlisted and nothing-wrong leave no probability for a single cause")
	}
}

// meters warns of readings that are taken for surer than a hand meter is.
func (l *linker) meters() {
	for _, unit := range sortedIDs(l.About.Meters) {
		if m := l.About.Meters[unit]; m.Digits > 0 && m.Counts == 0 {
			l.out.warn(l.At("about", "meters", unit, "digits"), "meter", "give counts, such as 6000", "the digits of the meter for %s count for nothing without its counts", unit)
		}
	}
	for _, c := range l.Checks {
		if _, given := l.About.Meters[c.Unit]; c.Kind == "measure" && c.Unit != "" && !given {
			l.out.warn(l.at(c, "unit"), "meter", "add "+c.Unit+" to meters of about", "check %q reads in %s, of which about names no meter: its readings are taken as exact but for their last digit", c.ID, c.Unit)
		}
	}
}

func (l *linker) kit(k *Kit) {
	for _, id := range sortedIDs(k.Priors) {
		l.ref("cause", id, k, "priors", id)
	}
	named := map[string]Pos{}
	for i, a := range k.Ask {
		at := strconv.Itoa(i)
		if first, twice := named[a.Figure]; twice {
			l.out.error(l.at(k, "ask", at, "figure"), "duplicate-id", "keep one of them", "figure %q is asked for twice, first at %s", a.Figure, first)
		}
		named[a.Figure] = a.Pos
		switch {
		case a.From >= a.To:
			l.out.error(l.at(k, "ask", at, "from"), "range", "give the smaller one first", "figure %q goes from %v to %v", a.Figure, a.From, a.To)
		case a.Default < a.From || a.Default > a.To:
			l.out.error(l.at(k, "ask", at, "default"), "range", "move it inside", "the default %v of figure %q is not within %v to %v", a.Default, a.Figure, a.From, a.To)
		}
	}
	for i, f := range k.Figures {
		if first, twice := named[f.Name]; twice {
			l.out.error(f.Pos, "duplicate-id", "keep one of them", "figure %q is asked for already at %s", f.Name, first)
		}
		before := k.figureNames()[:len(k.Ask)+i]
		l.limit(f.Expr, limitPlace{pos: f.Pos, kits: []*Kit{k}, early: true, names: before})
	}
	for i, p := range k.Plugs {
		l.plug(k, p, i)
	}
	if k.Line.Source != "" {
		l.line(k)
	}
}

func (l *linker) plug(k *Kit, p *Plug, i int) {
	if first := k.Plug(p.ID); first != p && p.ID != "" {
		l.out.error(p.Pos, "duplicate-id", "rename one or take it away", "plug %q is given twice, first at %s", p.ID, first.Pos)
		return
	}
	pins := map[string]Pos{}
	for _, pin := range p.Pins {
		if first, twice := pins[pin.ID]; twice {
			l.out.error(pin.Pos, "duplicate-id", "rename one or take it away", "pin %q is given twice, first at %s", pin.ID, first)
		}
		pins[pin.ID] = pin.Pos
	}
	seen := map[string]bool{"": true}
	for r, row := range p.Rows {
		for c, id := range row {
			pos := l.at(k, "plugs", strconv.Itoa(i), "rows", strconv.Itoa(r), strconv.Itoa(c))
			switch {
			case id == "":
			case pins[id] == Pos{}:
				l.unknown("pin", id, sortedIDs(pins), pos)
			case seen[id]:
				l.out.error(pos, "pin", "keep one of them; \"\" leaves a gap", "pin %q lies twice in the rows of plug %q", id, p.ID)
			}
			seen[id] = true
		}
	}
	for _, pin := range p.Pins {
		if !seen[pin.ID] {
			l.out.error(pin.Pos, "pin", "add it to rows", "pin %q lies nowhere in the rows of plug %q", pin.ID, p.ID)
		}
	}
}

// line checks that the links form two trees: one that the supply runs through,
// one that all grounds come back by.
func (l *linker) line(k *Kit) {
	n := k.Line
	if n.Source == n.Ground {
		l.out.error(l.at(k, "line", "ground"), "line", "name two points", "the supply begins where the grounds come back: %q", n.Source)
		return
	}
	byLink, byPoint := map[string]Link{}, map[string]Link{}
	for _, link := range n.Links {
		if first, twice := byLink[link.ID]; twice {
			l.out.error(link.Pos, "duplicate-id", "rename one or take it away", "link %q is given twice, first at %s", link.ID, first.Pos)
			continue
		}
		byLink[link.ID] = link
		if link.Ground && (link.Regulates || link.Return != "") {
			l.out.error(link.Pos, "line", "take one of the two away", "link %q is a ground and cannot regulate", link.ID)
		}
		if link.Return != "" && !link.Regulates {
			l.out.error(link.Pos, "line", "take return away, or add regulates: true", "link %q has a return, but only a regulating link has one", link.ID)
		}
		if link.To == n.Source || link.To == n.Ground {
			l.out.error(link.Pos, "line", "turn the link round", "link %q leads to %q, where the line begins", link.ID, link.To)
			continue
		}
		if first, twice := byPoint[link.To]; twice {
			l.out.error(link.Pos, "line", "name a point of its own beyond the second link",
				"point %q is reached by two links, %q and %q", link.To, first.ID, link.ID)
			continue
		}
		byPoint[link.To] = link
	}
	for _, link := range n.Links {
		if byPoint[link.To].ID == link.ID {
			l.rooted(n, link, byPoint)
		}
		if link.Return != "" && link.Return != n.Ground && !byPoint[link.Return].Ground {
			l.unknown("ground point", link.Return, groundPoints(n), link.Pos)
		}
	}
}

func groundPoints(n Line) []string {
	points := []string{n.Ground}
	for _, link := range n.Links {
		if link.Ground {
			points = append(points, link.To)
		}
	}
	return points
}

// rooted follows a link back to where its tree must begin.
func (l *linker) rooted(n Line, link Link, byPoint map[string]Link) {
	root, kind := n.Source, "supply"
	if link.Ground {
		root, kind = n.Ground, "ground"
	}
	seen := map[string]bool{link.To: true}
	trail := []string{link.To}
	for at := link.From; at != root; {
		if seen[at] {
			// Each link of the circle would say the same; its first point speaks for all.
			if at == link.To && at == slices.Min(trail) {
				l.out.error(link.Pos, "line", "let each link lead away from "+root, "the links run in a circle: %s", strings.Join(append(trail, at), " from "))
			}
			return
		}
		before, fed := byPoint[at]
		switch {
		case !fed && (at == n.Source || at == n.Ground), fed && before.Ground != link.Ground:
			if at == link.From {
				l.out.error(link.Pos, "line", "set ground: true on links of the return, and only there", "link %q is of the %s line and begins at %q, which is of the other", link.ID, kind, at)
			}
			return
		case !fed:
			if at == link.From {
				l.unknown("point fed by a link:", at, pointsFed(n), link.Pos)
			}
			return
		}
		seen[at] = true
		trail = append(trail, at)
		at = before.From
	}
}

func pointsFed(n Line) []string {
	points := []string{n.Source, n.Ground}
	for _, link := range n.Links {
		points = append(points, link.To)
	}
	return points
}
