package picture

import "triagebot/picture/drawing"

// railStyle is how the rail of a link is drawn: thick where a voltage is known
// to come through, dotted where it stops, dashed beyond, dash-dotted where a short drags it down, thin
// where nothing is known.
func railStyle(state string) drawing.Style {
	switch state {
	case "there":
		return stroke(green, 5)
	case "stops":
		return stroke(red, 4, 2, 4)
	case "gone":
		return stroke(red, 2.5, 8, 5)
	case "dragged":
		return stroke(amber, 4, 10, 3, 2, 3)
	}
	return stroke(rim, 2)
}

// rails draws the rails, and on them the points and the parts. at are the
// points' places, mid the height of each row.
func (p *page) rails(l *ladder, at map[string]drawing.Point, mid []float64) {
	p.Group("rails-" + l.rows[0].point)
	defer p.End()
	// Where each point's branches leave it: the last one decides how far its
	// own stretch of the lane goes before the longest way goes on.
	leave := map[string]float64{}
	for i, r := range l.rows {
		if from, aside := l.leaves(r); aside {
			leave[from] = mid[i] - 12
		}
	}
	for point, y := range sortedLeaves(l, leave) {
		pt := at[point]
		p.Draw(drawing.Line(pt, drawing.Point{X: pt.X, Y: y}), railStyle(l.pointRail(point)))
	}
	for i, r := range l.rows {
		if r.link == nil && r.folded == nil {
			continue
		}
		from, aside := l.leaves(r)
		start := at[from]
		x := p.rail(r.lane)
		end := drawing.Point{X: x, Y: mid[i]}
		state := "unknown"
		if r.folded != nil {
			state = l.flow.rail(r.folded[0].ID)
		} else {
			state = l.flow.rail(r.link.ID)
			end = at[r.link.To]
		}
		way := (&drawing.Path{}).MoveTo(start.X, start.Y)
		if aside {
			way = (&drawing.Path{}).MoveTo(start.X, mid[i]-12).QuadTo(x, mid[i]-12, x, mid[i]-2)
		} else if y, ok := leave[from]; ok {
			way = (&drawing.Path{}).MoveTo(start.X, y)
		}
		p.Draw(way.LineTo(end.X, end.Y), railStyle(state))
	}
	for i, r := range l.rows {
		x := p.rail(r.lane)
		switch {
		case r.link != nil:
			p.part(x, mid[i], l.flow.rail(r.link.ID))
		case r.folded != nil:
			for _, dy := range []float64{0, 6, 12} {
				p.Draw(drawing.Circle(x, mid[i]+dy, 1.8), fill(rim))
			}
		default:
			radius := 3.5
			if len(l.findingsAt(r.point))+len(l.suspectsAt(r.point)) > 0 || i == 0 {
				radius = 5.5
			}
			p.Draw(drawing.Circle(x, mid[i], radius), both(paper, ink, 2))
		}
	}
}

// part is the sign of a link: a block on the rail, struck out where the
// voltage stops.
func (p *page) part(x, y float64, state string) {
	p.Draw(drawing.Rect(drawing.Box{X: x - 7, Y: y - 8, W: 14, H: 16}, 3), both(white, ink, 2))
	if state == "stops" {
		p.cross(x, y, 7.5, white, 5.5)
		p.cross(x, y, 7, red, 3)
	}
}

// leaves tells from which point a row's link comes, and whether it goes aside.
func (l *ladder) leaves(r row) (from string, aside bool) {
	var link string
	switch {
	case r.link != nil:
		from, link = r.link.From, r.link.ID
	case r.folded != nil:
		from, link = r.folded[0].From, r.folded[0].ID
	default:
		return "", false
	}
	on, _ := l.w.onward(from)
	return from, on == nil || on.ID != link
}

// pointRail is the state of a point: that of what feeds it, or live when
// anything it feeds is.
func (l *ladder) pointRail(point string) string {
	for _, link := range l.w.kids[point] {
		if l.flow.proven[link.ID] {
			return "there"
		}
	}
	for _, link := range l.w.kids[point] {
		if l.flow.dead[link.ID] {
			return "gone"
		}
	}
	feeder, ok := l.w.feeder[point]
	if !ok {
		return "unknown"
	}
	state := l.flow.rail(feeder.ID)
	if state == "stops" {
		return "unknown"
	}
	return state
}

// sortedLeaves walks the points in the order of the rows.
func sortedLeaves(l *ladder, leave map[string]float64) func(func(string, float64) bool) {
	return func(yield func(string, float64) bool) {
		for _, r := range l.rows {
			if y, ok := leave[r.point]; ok && r.point != "" && !yield(r.point, y) {
				return
			}
		}
	}
}

// signs explains the rails and the shapes that the picture has, in two columns.
func (p *page) signs(l *ladder) {
	rails, verdicts := map[string]bool{}, map[verdict]bool{}
	for _, link := range l.w.line.Links {
		rails[l.flow.rail(link.ID)] = true
	}
	for _, f := range l.findings {
		verdicts[f.verdict] = true
	}
	p.section(say("key-head"))
	type sign struct {
		words string
		draw  func(x, y float64)
	}
	var list []sign
	for _, state := range []string{"there", "unknown", "stops", "gone", "dragged"} {
		if !rails[state] {
			continue
		}
		list = append(list, sign{say("rail-" + state), func(x, y float64) {
			p.Draw(drawing.Line(drawing.Point{X: x, Y: y}, drawing.Point{X: x + 26, Y: y}), railStyle(state))
		}})
	}
	for _, v := range []verdict{good, bad, closeRun, odd, unjudged} {
		if !verdicts[v] {
			continue
		}
		list = append(list, sign{say("verdict-" + string(v)), func(x, y float64) { p.verdict(v, x+13, y) }})
	}
	const indent = 34.0
	column := p.wide() / 2
	for i := 0; i < len(list); i += 2 {
		high := 22.0
		for j := i; j < min(i+2, len(list)); j++ {
			x := p.left() + float64(j-i)*column
			list[j].draw(x, p.y+9)
			high = max(high, p.block(list[j].words, x+indent, p.y+1, column-indent-4, sizeSmall, false, ink, drawing.Left)+6)
		}
		p.y += high
	}
}
