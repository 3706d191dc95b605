package picture

import (
	"slices"

	"triagebot/kb"
)

// row is one line of the ladder: a point of the line, a link, or a branch of
// which nothing is known, folded into one.
type row struct {
	lane   int
	point  string
	link   *kb.Link
	folded []kb.Link
}

// ladder is a kit's line laid out from the pack downwards: the longest way
// straight down, the other branches in lanes to its right.
type ladder struct {
	w        wiring
	flow     flow
	findings []finding
	suspects []suspect
	whole    bool // fold nothing
	rows     []row
	lanes    int
}

// lay lists the rows from a root on.
func (l *ladder) lay(root string) {
	l.rows, l.lanes = nil, 0
	if len(l.w.kids[root]) > 0 {
		l.walk(root, 0)
	}
}

func (l *ladder) walk(point string, lane int) {
	if len(l.rows) > 3*len(l.w.line.Links)+3 {
		return // a line that runs in a circle; the checker says so
	}
	l.lanes = max(l.lanes, lane+1)
	l.rows = append(l.rows, row{lane: lane, point: point})
	on, aside := l.w.onward(point)
	for i := range aside {
		branch := &aside[i]
		if !l.whole && !l.touched(*branch) {
			l.lanes = max(l.lanes, lane+2)
			l.rows = append(l.rows, row{lane: lane + 1, folded: l.branch(*branch)})
			continue
		}
		l.rows = append(l.rows, row{lane: lane + 1, link: branch})
		l.walk(branch.To, lane+1)
	}
	if on != nil {
		l.rows = append(l.rows, row{lane: lane, link: on})
		l.walk(on.To, lane)
	}
}

// branch lists a link and all beyond it.
func (l *ladder) branch(first kb.Link) []kb.Link {
	links := []kb.Link{first}
	for _, p := range l.w.below(first.To) {
		links = append(links, l.w.kids[p]...)
	}
	return links
}

// touched says whether something is known or suspected of a branch, beyond
// that a voltage comes through all of it.
func (l *ladder) touched(first kb.Link) bool {
	for _, link := range l.branch(first) {
		if l.flow.rail(link.ID) != l.flow.rail(first.ID) || slices.Contains(l.flow.stops, link.ID) ||
			len(l.findingsAt(link.To))+len(l.findingsAcross(link.ID)) > 0 ||
			len(l.suspectsAt(link.To))+len(l.suspectsOn(link.ID)) > 0 {
			return true
		}
	}
	return false
}

func (l *ladder) findingsAt(point string) []finding {
	var list []finding
	for _, f := range l.findings {
		// A look that several points speak for is shown at the first of them.
		if len(f.points) > 0 && f.points[0] == point {
			list = append(list, f)
		}
	}
	return list
}

func (l *ladder) findingsAcross(link string) []finding {
	var list []finding
	for _, f := range l.findings {
		if f.link == link {
			list = append(list, f)
		}
	}
	return list
}

func (l *ladder) suspectsOn(link string) []suspect {
	var list []suspect
	for _, s := range l.suspects {
		if slices.Contains(s.links, link) {
			list = append(list, s)
		}
	}
	return list
}

func (l *ladder) suspectsAt(point string) []suspect {
	var list []suspect
	for _, s := range l.suspects {
		if slices.Contains(s.points, point) {
			list = append(list, s)
		}
	}
	return list
}

// elsewhere lists what has no place on the line.
func (l *ladder) elsewhere() (findings []finding, suspects []suspect) {
	for _, f := range l.findings {
		if len(f.points) == 0 && f.link == "" {
			findings = append(findings, f)
		}
	}
	for _, s := range l.suspects {
		if len(s.points)+len(s.links) == 0 {
			suspects = append(suspects, s)
		}
	}
	return findings, suspects
}
