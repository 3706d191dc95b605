package picture

import (
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
	"triagebot/probe"
)

// The strip that shows from where one looks.
const (
	viewHeight = 58.0
	viewWidth  = 138.0
)

// view says in words from which side the face is drawn, and shows it: the plug
// from its side, with an eye and an arrow.
func (p *page) view(plug *kb.Plug, side string) {
	text := p.words().DrawnAs(plug)
	if text == "" {
		return
	}
	where := probe.SightOf(plug.Viewed)
	if where == probe.AnySide {
		p.paragraph(text, sizeBody, false, ink)
		p.y += 6
		return
	}
	width := p.wide() - viewWidth - 30
	high := max(viewHeight, blockHeight(text, width, sizeBody, false)+16)
	box := drawing.Box{X: p.left(), Y: p.y, W: p.wide(), H: high}
	p.Group("view", "side", map[probe.Sight]string{probe.WireSide: "wire", probe.MatingFace: "mating"}[where])
	defer p.End()
	p.Draw(drawing.Rect(box, 8), both(white, rim, 1))
	p.block(text, p.left()+viewWidth+20, p.y+(high-blockHeight(text, width, sizeBody, false))/2, width, sizeBody, false, ink, drawing.Left)
	p.sideView(p.left()+8, p.y+high/2, where, probe.KeyOf(plug.Viewed), strings.Contains(side, "plugged in"))
	p.y += high + 10
}

// sideView draws the plug from its side, wires on one end, with the eye at the
// end that is looked at. The other half is there when the plug stays closed.
func (p *page) sideView(x, y float64, where probe.Sight, k probe.Key, closed bool) {
	const long, wide = 28.0, 26.0
	body := x + 62
	if where == probe.MatingFace {
		body = x + wide
	}
	p.strands(body-wide, body, y)
	if where == probe.WireSide && closed {
		p.strands(body+long+wide, body+long+wide+16, y)
		p.Draw(drawing.Rect(drawing.Box{X: body + long, Y: y - 13, W: wide, H: 26}, 4), both(white, ink, 1.6))
	} else {
		p.Draw(drawing.Rect(drawing.Box{X: body + long, Y: y - 10, W: 11, H: 20}, 2), both(paper, ink, 2))
	}
	p.Draw(drawing.Rect(drawing.Box{X: body, Y: y - 15, W: long, H: 30}, 4), both(shell, ink, 2))
	if k.There {
		top := y - 21
		if k.Down {
			top = y + 15
		}
		p.Draw(drawing.Rect(drawing.Box{X: body + 6, Y: top, W: 16, H: 6}, 2), both(ink, ink, 1))
	}
	if where == probe.WireSide {
		p.eye(x+10, y, 1)
		p.arrow(x+22, x+34, y)
		return
	}
	p.eye(x+108, y, -1)
	p.arrow(x+96, x+72, y)
}

// strands are three wires.
func (p *page) strands(from, to, y float64) {
	for _, dy := range []float64{-7, 0, 7} {
		p.Draw(drawing.Line(drawing.Point{X: from, Y: y + dy}, drawing.Point{X: to, Y: y + dy}), stroke(ink, 2.2))
	}
}

// eye is an eye that looks to the right (1) or the left (-1).
func (p *page) eye(x, y, to float64) {
	p.Draw((&drawing.Path{}).MoveTo(x-11, y).QuadTo(x, y-12, x+11, y).QuadTo(x, y+12, x-11, y).Close(), both(white, ink, 2))
	p.Draw(drawing.Circle(x+2.5*to, y, 3.6), fill(ink))
}

func (p *page) arrow(from, to, y float64) {
	back := 6.0
	if to < from {
		back = -6
	}
	p.Draw(drawing.Line(drawing.Point{X: from, Y: y}, drawing.Point{X: to - back, Y: y}), stroke(ink, 2.2))
	p.Draw(drawing.Polygon(drawing.Point{X: to, Y: y}, drawing.Point{X: to - back, Y: y - 5}, drawing.Point{X: to - back, Y: y + 5}), fill(ink))
}
