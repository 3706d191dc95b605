package picture

import (
	"triagebot/picture/drawing"
	"triagebot/probe"
)

// lug is the radius of the ring that stands for a terminal given in words.
const lug = 13.0

// places draws probes whose places are given in words: a labelled terminal for
// each, side by side.
func (p *page) places(spots []probe.Spot) {
	const gap = 14.0
	n := float64(len(spots))
	width := min(190, (p.wide()-gap*(n-1))/n)
	left := p.left() + (p.wide()-n*width-gap*(n-1))/2
	text := 0.0
	for _, s := range spots {
		text = max(text, blockHeight(capital(s.Place), width-20, sizeBody+1, true))
	}
	high := text + 2*lug + 30
	for i, s := range spots {
		box := drawing.Box{X: left + float64(i)*(width+gap), Y: p.y, W: width, H: high}
		c := drawing.Point{X: box.X + width/2, Y: box.Y + high - 12 - lug}
		p.Group("terminal-"+s.Probe, "place", s.Place, "marked", s.Probe)
		p.Draw(drawing.Rect(box, 9), both(white, ink, 3))
		p.block(capital(s.Place), box.X+width/2, box.Y+10+(text-blockHeight(capital(s.Place), width-20, sizeBody+1, true))/2, width-20, sizeBody+1, true, ink, drawing.Middle)
		p.Draw(drawing.Circle(c.X, c.Y, lug), both("#c9c6be", ink, 2))
		p.Draw(drawing.Circle(c.X, c.Y, lug-7), both(paper, ink, 1.5))
		p.End()
		p.probe(reach{probe: s.Probe, way: []drawing.Point{c, {X: c.X, Y: box.Y + high}}, out: 1}, "place", s.Place)
	}
	p.y += high + probeZone + 12
}
