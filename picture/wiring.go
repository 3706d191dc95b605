package picture

import (
	"slices"

	"triagebot/kb"
)

// wiring is a kit's line as a forest, for walking up and down.
type wiring struct {
	line   kb.Line
	feeder map[string]kb.Link   // point -> the link that reaches it
	kids   map[string][]kb.Link // point -> the links that leave it, in the order of the file
}

func newWiring(line kb.Line) wiring {
	w := wiring{line: line, feeder: map[string]kb.Link{}, kids: map[string][]kb.Link{}}
	for _, l := range line.Links {
		if _, twice := w.feeder[l.To]; twice || l.To == l.From {
			continue // not a forest; the checker says so, and a walk must still end
		}
		w.feeder[l.To] = l
		w.kids[l.From] = append(w.kids[l.From], l)
	}
	return w
}

func (w wiring) has(point string) bool {
	_, fed := w.feeder[point]
	return fed || point == w.line.Source || point == w.line.Ground
}

func (w wiring) link(id string) (kb.Link, bool) {
	for _, l := range w.line.Links {
		if l.ID == id {
			return l, true
		}
	}
	return kb.Link{}, false
}

// path lists the links that lead to a point, the nearest first.
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

// serves lists the links that a voltage between two points needs: the way to
// each, and the ground that every regulator on the way works against.
func (w wiring) serves(at, against string) []string {
	var ids []string
	add := func(links []kb.Link) {
		for _, l := range links {
			if !slices.Contains(ids, l.ID) {
				ids = append(ids, l.ID)
			}
		}
	}
	supply := w.path(at)
	add(supply)
	for _, l := range supply {
		if l.Regulates && l.Return != "" {
			add(w.path(l.Return))
		}
	}
	if against != "" {
		add(w.path(against))
	}
	return ids
}

// below lists the points that a point feeds, itself first.
func (w wiring) below(point string) []string {
	points := []string{point}
	for i := 0; i < len(points) && i <= len(w.line.Links); i++ {
		for _, l := range w.kids[points[i]] {
			points = append(points, l.To)
		}
	}
	return points
}

// depth is how many links the longest way down from a point has.
func (w wiring) depth(point string) int { return w.depthWithin(point, len(w.line.Links)) }

func (w wiring) depthWithin(point string, most int) int {
	deepest := 0
	for _, l := range w.kids[point] {
		if most > 0 {
			deepest = max(deepest, 1+w.depthWithin(l.To, most-1))
		}
	}
	return deepest
}

// onward parts the links that leave a point into the one the longest way goes
// on with, and the branches aside.
func (w wiring) onward(point string) (on *kb.Link, aside []kb.Link) {
	kids := w.kids[point]
	best := -1
	for i, l := range kids {
		if best < 0 || w.depth(l.To) > w.depth(kids[best].To) {
			best = i
		}
	}
	for i := range kids {
		if i == best {
			on = &kids[i]
		} else {
			aside = append(aside, kids[i])
		}
	}
	return on, aside
}
