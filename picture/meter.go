package picture

import (
	"math"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
)

// dial is one position of a meter's dial.
type dial struct {
	id    string
	angle float64 // degrees clockwise from the top
	sign  func(p *page, c drawing.Point, colour drawing.Colour)
}

// dials are the positions every hand meter has, in the order they are drawn.
var dials = []dial{
	{"off", -130, word("OFF")},
	{"dc-volts", -78, volts(directCurrent)},
	{"ac-volts", -26, volts(alternating)},
	{"ohms", 26, word("Ω")},
	{"diode", 78, diode},
	{"amps", 130, word("A")},
}

// dialOf reads the position out of a meter's setting, "" when it is not told.
func dialOf(setting string) string {
	s := strings.ToLower(setting)
	if list := parts(s); len(list) > 0 {
		s = list[0]
	}
	switch {
	case strings.Contains(s, "diode"):
		return "diode"
	case strings.Contains(s, "ohm"), strings.Contains(s, "ω"), strings.Contains(s, "resistance"):
		return "ohms"
	case strings.Contains(s, "ac volt"), strings.Contains(s, "volts ac"):
		return "ac-volts"
	case strings.Contains(s, "volt"):
		return "dc-volts"
	case strings.Contains(s, "amp"):
		return "amps"
	}
	return ""
}

// meter shows how the meter is set: the dial, the words, the unit that is read,
// and the jacks.
func (p *page) meter(c *kb.Check) {
	setting, unit := c.Meter, c.Unit
	chosen := dialOf(setting)
	p.Group("meter", "dial", chosen)
	defer p.End()
	type line struct {
		says string
		size float64
	}
	lines := []line{}
	for i, w := range parts(c.MeterSaid()) {
		size := sizeBody
		if i == 0 {
			size = sizeHead
		}
		lines = append(lines, line{capital(w), size})
	}
	if unit != "" {
		lines = append(lines, line{readIn(p.voice, setting, unit), sizeHead})
	}
	const dialWidth, dialHeight = 160.0, 140.0
	textWidth := p.wide() - dialWidth - 16
	text := lineHeight(sizeSmall) + 4
	for _, l := range lines {
		text += blockHeight(l.says, textWidth, l.size, l.size == sizeHead) + 3
	}
	high := text + 20
	if chosen != "" {
		high = max(dialHeight, high) + jackHeight
	}
	box := drawing.Box{X: p.left(), Y: p.y, W: p.wide(), H: high}
	p.Draw(drawing.Rect(box, 14), both(shell, ink, 2))
	x := p.left() + 16
	if chosen != "" {
		p.dial(drawing.Point{X: p.left() + dialWidth/2, Y: p.y + 72}, chosen)
		x = p.left() + dialWidth
	}
	y := p.y + 12
	y += p.block(p.say("meter"), x, y, textWidth, sizeSmall, true, soft, drawing.Left) + 4
	for _, l := range lines {
		y += p.block(l.says, x, y, textWidth, l.size, l.size == sizeHead, ink, drawing.Left) + 3
	}
	if chosen != "" {
		p.jacks(p.y+high-jackHeight, chosen)
	}
	p.y += high
}

// readIn says the unit of the figure. On a range of its thousands the meter
// shows those, and a figure told without them is a thousand times wrong.
func readIn(v voice, setting, unit string) string {
	units := []string{}
	for word := range strings.FieldsSeq(setting) {
		if word = strings.Trim(word, ","); word != unit && len(word) > len(unit) && strings.HasSuffix(word, unit) {
			units = append(units, word)
		}
	}
	return v.say("read-in", "unit", strings.Join(append(units, unit), v.say("or")))
}

// dial draws the knob with its pointer at the chosen position, which also
// carries its sign in a filled field.
func (p *page) dial(c drawing.Point, chosen string) {
	const knob, signs = 27.0, 53.0
	p.Draw(drawing.Circle(c.X, c.Y, knob+5), both(paper, rim, 1))
	p.Draw(drawing.Circle(c.X, c.Y, knob), both("#3a3834", ink, 2))
	for _, d := range dials {
		sin, cos := math.Sincos(d.angle * math.Pi / 180)
		at := drawing.Point{X: c.X + signs*sin*1.06, Y: c.Y - signs*cos}
		colour := soft
		if d.id == chosen {
			colour = white
			p.Group("dial-"+d.id, "chosen", "yes")
			p.Draw(drawing.Rect(drawing.Box{X: at.X - 19, Y: at.Y - 13, W: 38, H: 26}, 6), fill(ink))
			p.Draw(drawing.Line(
				drawing.Point{X: c.X - sin*knob*0.5, Y: c.Y + cos*knob*0.5},
				drawing.Point{X: c.X + sin*(knob-5), Y: c.Y - cos*(knob-5)}), stroke(white, 5))
			d.sign(p, at, colour)
			p.End()
			continue
		}
		d.sign(p, at, colour)
	}
}

func word(text string) func(*page, drawing.Point, drawing.Colour) {
	return func(p *page, c drawing.Point, colour drawing.Colour) {
		size := sizeHead
		if len(text) > 2 {
			size = sizeSmall
		}
		p.label(text, drawing.Box{X: c.X - 19, Y: c.Y - 13, W: 38, H: 26}, size, true, colour)
	}
}

// volts is a V with the sign of its current beside it.
func volts(current func(*page, float64, float64, drawing.Colour)) func(*page, drawing.Point, drawing.Colour) {
	return func(p *page, c drawing.Point, colour drawing.Colour) {
		p.label("V", drawing.Box{X: c.X - 17, Y: c.Y - 13, W: 16, H: 26}, sizeHead, true, colour)
		current(p, c.X+8, c.Y, colour)
	}
}

// directCurrent is a line over three dashes.
func directCurrent(p *page, x, y float64, colour drawing.Colour) {
	p.Draw(drawing.Line(drawing.Point{X: x - 7, Y: y - 2.5}, drawing.Point{X: x + 7, Y: y - 2.5}), stroke(colour, 2))
	p.Draw(drawing.Line(drawing.Point{X: x - 7, Y: y + 2.5}, drawing.Point{X: x + 7, Y: y + 2.5}), stroke(colour, 2, 3.4, 1.9))
}

// alternating is a wave.
func alternating(p *page, x, y float64, colour drawing.Colour) {
	p.Draw((&drawing.Path{}).MoveTo(x-7, y+1).QuadTo(x-3.5, y-7, x, y).QuadTo(x+3.5, y+7, x+7, y-1), stroke(colour, 2))
}

// diode is the sign of one: an arrow against a bar.
func diode(p *page, c drawing.Point, colour drawing.Colour) {
	x, y := c.X, c.Y
	p.Draw(drawing.Line(drawing.Point{X: x - 13, Y: y}, drawing.Point{X: x + 13, Y: y}), stroke(colour, 1.8))
	p.Draw(drawing.Polygon(drawing.Point{X: x - 5, Y: y - 6}, drawing.Point{X: x - 5, Y: y + 6}, drawing.Point{X: x + 5, Y: y}), fill(colour))
	p.Draw(drawing.Line(drawing.Point{X: x + 5, Y: y - 6}, drawing.Point{X: x + 5, Y: y + 6}), stroke(colour, 2))
}

const jackHeight = 88.0

// jacks draws the three holes of a meter with what is plugged into each. The
// one for current stays empty: a lead in it shorts what is measured.
func (p *page) jacks(y float64, chosen string) {
	amps := chosen == "amps"
	holes := []struct{ id, name, lead string }{
		{"a", "10 A", ""}, {"com", "COM", "black"}, {"v", "V Ω", "red"},
	}
	if amps {
		holes[0].lead, holes[2].lead = "red", ""
	}
	step := p.wide() / 3
	for i, h := range holes {
		c := drawing.Point{X: p.left() + step*(float64(i)+0.5), Y: y + 33}
		p.Group("jack-"+h.id, "lead", h.lead)
		p.label(h.name, drawing.Box{X: c.X - step/2, Y: y, W: step, H: 20}, sizeBody, true, ink)
		p.Draw(drawing.Circle(c.X, c.Y, 11), both(white, ink, 2))
		below := drawing.Box{X: c.X - gripWidth/2, Y: c.Y + 19, W: gripWidth, H: gripHeight}
		if h.lead == "" {
			for _, d := range []float64{-1, 1} {
				p.Draw(drawing.Line(drawing.Point{X: c.X - 6, Y: c.Y - 6*d}, drawing.Point{X: c.X + 6, Y: c.Y + 6*d}), stroke(ink, 2.6))
			}
			p.label(p.say("empty"), drawing.Box{X: c.X - step/2, Y: below.Y, W: step, H: below.H}, sizeBody, false, ink)
		} else {
			colour := probeColour(h.lead)
			p.Draw(drawing.Circle(c.X, c.Y, 7), fill(colour))
			p.Draw(drawing.Line(c, drawing.Point{X: c.X, Y: below.Y}), stroke(colour, 7))
			p.Draw(drawing.Rect(below, gripRadius(h.lead)), fill(colour))
			p.label(p.words().Name(h.lead), below, sizeBody+1, true, white)
		}
		p.End()
	}
}
