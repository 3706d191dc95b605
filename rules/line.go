package rules

import (
	"slices"

	"triagebot/kb"
)

// LineState is what a point of the supply line shows against a reference.
// Worse states are larger: of two faults the worse one decides.
type LineState uint8

const (
	Live    LineState = iota
	Weak              // sags as soon as something draws current
	Lifted            // reads too high, because the ground it works against is lifted
	Dragged           // a short holds it near ground
	Dead
)

var lineStateNames = [...]string{"live", "weak", "lifted", "dragged", "dead"}

func (s LineState) String() string { return lineStateNames[s] }

// wiring answers what a fault does to any point of one kit's line.
type wiring struct {
	line   kb.Line
	feeder map[string]kb.Link // point -> the link that reaches it
}

func newWiring(line kb.Line) wiring {
	w := wiring{line: line, feeder: map[string]kb.Link{}}
	for _, l := range line.Links {
		w.feeder[l.To] = l
	}
	return w
}

// has says whether the kit has this point at all.
func (w wiring) has(point string) bool {
	_, fed := w.feeder[point]
	return fed || point == w.line.Source || point == w.line.Ground
}

// path lists the links that lead to a point, the nearest first. It ends at a
// point that nothing feeds, and after as many links as there are, so that a
// line the checker has not passed cannot hold it.
func (w wiring) path(point string) []kb.Link {
	var links []kb.Link
	for len(links) < len(w.line.Links) {
		l, ok := w.feeder[point]
		if !ok {
			break
		}
		links = append(links, l)
		point = l.From
	}
	return links
}

// state is what a meter between two points finds under one cause's fault.
func (w wiring) state(at, against string, fault kb.CauseLine) LineState {
	if len(fault.Opens)+len(fault.Weakens)+len(fault.Shorts) == 0 {
		return Live
	}
	if against == "" {
		against = w.line.Ground
	}
	worst := Live
	worse := func(s LineState) { worst = max(worst, s) }

	ground := w.path(against)
	if touches(ground, fault.Opens) {
		worse(Dead)
	}
	// Walking up from the point: what lies before the nearest regulator is
	// held steady by it, so a weak joint there does not show beyond it.
	returnPath, regulated := ground, false
	for _, l := range w.path(at) {
		if slices.Contains(fault.Opens, l.ID) {
			worse(Dead)
		}
		if slices.Contains(fault.Weakens, l.ID) && !regulated {
			worse(Weak)
		}
		if l.Regulates {
			back := w.path(w.returnOf(l))
			if touches(back, fault.Opens) {
				worse(Dead)
			}
			if !regulated {
				returnPath, regulated = back, true
				if w.shorted(l, fault.Shorts) {
					worse(Dragged)
				}
			}
		}
	}
	if !regulated && len(w.path(at)) > 0 && w.shortedUnregulated(fault.Shorts) {
		worse(Dragged)
	}
	for _, l := range ground {
		if slices.Contains(fault.Weakens, l.ID) && (!regulated || !hasLink(returnPath, l.ID)) {
			worse(Weak)
		}
	}
	for _, l := range returnPath {
		if slices.Contains(fault.Weakens, l.ID) && !hasLink(ground, l.ID) {
			worse(Lifted)
		}
	}
	return worst
}

func (w wiring) returnOf(l kb.Link) string {
	if l.Return == "" {
		return w.line.Ground
	}
	return l.Return
}

// shorted says whether one of the shorted points hangs on this regulator's own supply.
func (w wiring) shorted(regulator kb.Link, points []string) bool {
	for _, p := range points {
		if r, ok := w.regulatorOf(p); ok && r.ID == regulator.ID {
			return true
		}
	}
	return false
}

func (w wiring) shortedUnregulated(points []string) bool {
	for _, p := range points {
		if _, ok := w.regulatorOf(p); !ok && w.has(p) {
			return true
		}
	}
	return false
}

func (w wiring) regulatorOf(point string) (kb.Link, bool) {
	for _, l := range w.path(point) {
		if l.Regulates {
			return l, true
		}
	}
	return kb.Link{}, false
}

// reads works out the state that a LineReads speaks of. ok is false when this
// kit has none of its points.
func (w wiring) reads(r *kb.LineReads, fault kb.CauseLine) (s LineState, ok bool) {
	switch {
	case r.At != "":
		if !w.has(r.At) || r.Against != "" && !w.has(r.Against) {
			return Live, false
		}
		return w.state(r.At, r.Against, fault), true
	case len(r.Any) > 0:
		for _, p := range r.Any {
			if w.has(p) {
				s, ok = max(s, w.state(p, r.Against, fault)), true
			}
		}
	default:
		s = Dead
		for _, p := range r.All {
			if w.has(p) {
				s, ok = min(s, w.state(p, r.Against, fault)), true
			}
		}
	}
	if !ok {
		s = Live
	}
	return s, ok
}

func touches(links []kb.Link, ids []string) bool {
	for _, l := range links {
		if slices.Contains(ids, l.ID) {
			return true
		}
	}
	return false
}

func hasLink(links []kb.Link, id string) bool {
	for _, l := range links {
		if l.ID == id {
			return true
		}
	}
	return false
}
