package picture

import (
	"triagebot/picture/drawing"
)

// The size of a probe's grip, and how far the grip stands off from what is
// drawn above it.
const (
	gripWidth  = 78.0
	gripHeight = 26.0
	gripOff    = 20.0
	cableTail  = 14.0
	probeZone  = gripOff + gripHeight + cableTail
	gripGap    = 8.0
)

// reach is the way of a probe from its tip to where it leaves the drawing it
// touches; out is +1 when the grip lies below and -1 when it lies above.
type reach struct {
	probe string
	way   []drawing.Point // the tip first; the last stretch is upright
	out   float64
	foot  float64 // how far to the right of the last point the grip is, for two that would touch
}

// probe draws a probe: a needle of metal, and a grip in the colour of the probe
// with its name on it. The needle has a light edge, so that it is seen on a
// wire of any colour.
func (p *page) probe(r reach, data ...string) {
	p.Group("probe-"+r.probe, data...)
	defer p.End()
	last := r.way[len(r.way)-1]
	foot := drawing.Point{X: last.X + r.foot, Y: last.Y + r.out*gripOff}
	way := append(append([]drawing.Point{}, r.way...), foot)
	p.Draw(drawing.Line(way...), stroke(white, 8.5))
	p.Draw(drawing.Line(way...), stroke(metal, 4))
	tip := way[0]
	p.Draw(drawing.Circle(tip.X, tip.Y, 4.4), both(metal, white, 1.6))

	colour := probeColour(r.probe)
	collar := foot.Y - r.out*7
	p.Draw(drawing.Polygon(
		drawing.Point{X: foot.X - 4, Y: collar}, drawing.Point{X: foot.X + 4, Y: collar},
		drawing.Point{X: foot.X + 11, Y: foot.Y + r.out}, drawing.Point{X: foot.X - 11, Y: foot.Y + r.out}), fill(colour))
	grip := drawing.Box{X: foot.X - gripWidth/2, Y: foot.Y, W: gripWidth, H: gripHeight}
	tail := foot.Y + gripHeight
	if r.out < 0 {
		grip.Y, tail = foot.Y-gripHeight, foot.Y-gripHeight
	}
	p.Draw(drawing.Line(drawing.Point{X: foot.X, Y: tail}, drawing.Point{X: foot.X, Y: tail + r.out*(cableTail-3)}), stroke(colour, 5))
	p.Draw(drawing.Rect(grip, gripRadius(r.probe)), fill(colour))
	p.label(p.words().Name(r.probe), grip, sizeBody+1, true, white)
}
