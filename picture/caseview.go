package picture

import (
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
)

// The measures of the ladder.
const (
	laneStep = 20.0
	linkTop  = 5.0
	iconStep = 24.0
)

func (l *ladder) picture(kit *kb.Kit, name, title string, summary []string) (*Picture, error) {
	p := newPage(name, title+", "+kit.Name, 0)
	p.Desc = l.alt(kit, title, summary)
	p.paragraph(title, sizeTitle, true, ink)
	p.paragraph(kit.Name, sizeBody, false, soft)
	p.y += 6
	text := []string{title + " (" + kit.Name + ")"}
	for _, s := range summary {
		p.paragraph(s, sizeHead, true, ink)
		p.y += 2
		text = append(text, s)
	}
	if len(l.suspects) > 0 {
		p.paragraph(l.suspects[0].says(), sizeHead, true, violet)
		text = append(text, l.suspects[0].says())
	}
	p.y += 8
	for _, root := range []struct{ point, head string }{
		{l.w.line.Source, say("supply-head")}, {l.w.line.Ground, say("ground-head")},
	} {
		l.lay(root.point)
		if len(l.rows) == 0 {
			continue
		}
		p.section(root.head)
		p.ladder(l)
		text = append(append(text, "", root.head), l.text()...)
	}
	findings, suspects := l.elsewhere()
	if len(findings)+len(suspects) > 0 {
		p.section(say("elsewhere-head"))
		text = append(text, "", say("elsewhere-head"))
		for _, f := range findings {
			p.y += p.finding(f, p.left(), p.y, p.wide())
			text = append(text, "  "+f.line())
		}
		for _, s := range suspects {
			p.y += p.suspect(s, "elsewhere", p.left(), p.y, p.wide())
			text = append(text, "  "+s.line())
		}
		p.y += 6
	}
	if !l.whole {
		p.signs(l)
	}
	return &Picture{sheet: p.finish(), text: text}, nil
}

func (p *page) section(head string) {
	p.y += 4
	p.rule()
	p.y += 8
	p.paragraph(head, sizeHead, true, ink)
	p.y += 4
}

// ladder draws the rows: first the words, which say how high each row is, then
// the rails between the rows.
func (p *page) ladder(l *ladder) {
	x := p.left() + 12 + float64(l.lanes)*laneStep
	width := p.right() - x
	at := map[string]drawing.Point{} // points
	mid := make([]float64, len(l.rows))
	for i, r := range l.rows {
		mid[i] = p.y + linkTop + lineHeight(sizeBody)/2
		switch {
		case r.link != nil:
			p.y += p.linkRow(l, *r.link, x, width)
		case r.folded != nil:
			p.y += p.foldedRow(l, r.folded, x, width)
		default:
			high := p.pointRow(l, r, i == 0, x, width)
			if high == 0 {
				high, mid[i] = 8, p.y+4
			}
			at[r.point] = drawing.Point{X: p.rail(r.lane), Y: mid[i]}
			p.y += high
		}
	}
	p.rails(l, at, mid)
	p.y += 8
}

// rail is the middle of a lane.
func (p *page) rail(lane int) float64 { return p.left() + 12 + float64(lane)*laneStep }

func (p *page) linkRow(l *ladder, link kb.Link, x, width float64) float64 {
	suspects := l.suspectsOn(link.ID)
	var ranks []string
	for _, s := range suspects {
		ranks = append(ranks, s.cause.ID)
	}
	p.Group("link-"+link.ID, "rail", l.flow.rail(link.ID), "suspects", strings.Join(ranks, " "))
	defer p.End()
	y := p.y + linkTop
	y += p.block(capital(strings.TrimPrefix(l.linkName(link.ID), "the ")), x, y, width, sizeBody, true, ink, drawing.Left)
	if l.flow.rail(link.ID) == "stops" {
		words := say("may-stop")
		if len(l.flow.stops) == 1 {
			words = say("stops-here")
		}
		y += p.block(words, x, y, width, sizeBody, true, red, drawing.Left)
	}
	for _, f := range l.findingsAcross(link.ID) {
		y += p.finding(f, x, y, width)
	}
	for _, s := range suspects {
		y += p.suspect(s, link.ID, x, y, width)
	}
	return y - p.y + linkTop
}

func (p *page) foldedRow(l *ladder, links []kb.Link, x, width float64) float64 {
	p.Group("folded-" + links[0].ID)
	defer p.End()
	return p.block(l.foldedSays(links), x, p.y+linkTop, width, sizeSmall, false, soft, drawing.Left) + 2*linkTop
}

func (l *ladder) foldedSays(links []kb.Link) string {
	names := make([]string, len(links))
	for i, link := range links {
		names[i] = strings.TrimPrefix(l.linkName(link.ID), "the ")
	}
	return say("folded-"+l.flow.rail(links[0].ID), "links", strings.Join(names, ", "))
}

func (p *page) pointRow(l *ladder, r row, root bool, x, width float64) float64 {
	findings, suspects := l.findingsAt(r.point), l.suspectsAt(r.point)
	if !root && len(findings)+len(suspects) == 0 {
		return 0
	}
	p.Group("point-" + r.point)
	defer p.End()
	y := p.y + linkTop
	if root {
		y += p.block(capital(idWords(r.point)), x, y, width, sizeBody, false, ink, drawing.Left)
	}
	for _, f := range findings {
		y += p.finding(f, x, y, width)
	}
	for _, s := range suspects {
		y += p.suspect(s, "at-"+r.point, x, y, width)
	}
	return y - p.y + linkTop
}

// finding draws a reading: a shape for how it is judged, the figure with the
// judgement in words, and below what was measured.
func (p *page) finding(f finding, x, y, width float64) float64 {
	p.Group("finding-"+f.id, "verdict", string(f.verdict))
	defer p.End()
	p.verdict(f.verdict, x+8, y+lineHeight(sizeHead)/2)
	h := p.block(f.says(), x+iconStep, y, width-iconStep, sizeHead, true, verdictColour(f.verdict), drawing.Left)
	h += p.block(capital(f.name), x+iconStep, y+h, width-iconStep, sizeSmall, false, soft, drawing.Left)
	return h + 5
}

func verdictColour(v verdict) drawing.Colour {
	switch v {
	case good:
		return green
	case bad:
		return red
	case closeRun, odd:
		return amber
	}
	return soft
}

// verdict is the shape of a judgement: a round tick, a square cross, a diamond
// for too close to call, a triangle for odd, a ring for no judgement.
func (p *page) verdict(v verdict, x, y float64) {
	c := verdictColour(v)
	pt := func(dx, dy float64) drawing.Point { return drawing.Point{X: x + dx, Y: y + dy} }
	switch v {
	case good:
		p.Draw(drawing.Circle(x, y, 8.5), fill(c))
		p.Draw(drawing.Line(pt(-4, 0.5), pt(-1, 3.5), pt(4, -3.5)), stroke(white, 2.2))
	case bad:
		p.Draw(drawing.Rect(drawing.Box{X: x - 8, Y: y - 8, W: 16, H: 16}, 2), fill(c))
		p.cross(x, y, 3.6, white, 2.2)
	case closeRun:
		p.Draw(drawing.Polygon(pt(0, -9.5), pt(9.5, 0), pt(0, 9.5), pt(-9.5, 0)), fill(c))
		p.Draw((&drawing.Path{}).MoveTo(x-4.5, y+1).QuadTo(x-2.2, y-4, x, y).QuadTo(x+2.2, y+4, x+4.5, y-1), stroke(white, 2))
	case odd:
		p.Draw(drawing.Polygon(pt(0, -9), pt(9.5, 8), pt(-9.5, 8)), fill(c))
		p.Draw(drawing.Line(pt(0, -2.5), pt(0, 2)), stroke(white, 2.2))
		p.Draw(drawing.Circle(x, y+5.2, 1.2), fill(white))
	default:
		p.Draw(drawing.Circle(x, y, 7.5), both(white, c, 2))
	}
}

func (p *page) cross(x, y, r float64, c drawing.Colour, width float64) {
	p.Draw(drawing.Line(drawing.Point{X: x - r, Y: y - r}, drawing.Point{X: x + r, Y: y + r}), stroke(c, width))
	p.Draw(drawing.Line(drawing.Point{X: x - r, Y: y + r}, drawing.Point{X: x + r, Y: y - r}), stroke(c, width))
}

// suspect draws a flag with the suspect's rank, and its name.
func (p *page) suspect(s suspect, place string, x, y, width float64) float64 {
	p.Group("suspect-"+strconv.Itoa(s.rank)+"-"+s.cause.ID+"-"+place, "cause", s.cause.ID)
	defer p.End()
	top := y + 1
	p.Draw(drawing.Line(drawing.Point{X: x + 1, Y: top}, drawing.Point{X: x + 1, Y: top + 19}), stroke(violet, 2))
	p.Draw(drawing.Polygon(drawing.Point{X: x + 1, Y: top}, drawing.Point{X: x + 19, Y: top}, drawing.Point{X: x + 15, Y: top + 7}, drawing.Point{X: x + 19, Y: top + 14}, drawing.Point{X: x + 1, Y: top + 14}), fill(violet))
	h := p.block(s.says(), x+iconStep, y, width-iconStep, sizeBody, true, violet, drawing.Left)
	return max(h, 20) + 5
}
