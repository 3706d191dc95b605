package picture

import "triagebot/picture/drawing"

// The page: as wide as a phone, with a margin.
const (
	pageWidth = 360.0
	margin    = 18.0
)

// page is a sheet that is filled from the top downwards; y is how far.
type page struct {
	*drawing.Sheet
	voice
	y float64
}

// newPage begins a page. Its panel is put beneath when it is finished, for
// only then is its height known.
func newPage(name, title string, width float64) *page {
	return &page{Sheet: &drawing.Sheet{Name: name, Title: title, Width: max(pageWidth, width)}, y: margin}
}

func (p *page) left() float64  { return margin }
func (p *page) right() float64 { return p.Width - margin }
func (p *page) wide() float64  { return p.Width - 2*margin }

// finish lays the panel beneath what was drawn.
func (p *page) finish() *drawing.Sheet {
	p.Height = p.y + margin
	p.Panel(drawing.Rect(drawing.Box{X: 1, Y: 1, W: p.Width - 2, H: p.Height - 2}, 14), both(paper, rim, 2))
	return p.Sheet
}

// lineHeight is the distance of two baselines.
func lineHeight(size float64) float64 { return size * 1.32 }

// paragraph writes a text over the width, broken as needed, and moves on.
func (p *page) paragraph(text string, size float64, bold bool, colour drawing.Colour) {
	p.y += p.block(text, p.left(), p.y, p.wide(), size, bold, colour, drawing.Left)
}

// block writes a text, broken to a width, with its top at y, and returns its
// height. x is its left end, or its middle when it is centred.
func (p *page) block(text string, x, y, width, size float64, bold bool, colour drawing.Colour, anchor drawing.Anchor) float64 {
	lines := drawing.Wrap(text, size, bold, width)
	left := x
	if anchor == drawing.Middle {
		left = x - width/2
	}
	in := &drawing.Box{X: left, Y: y, W: width, H: float64(len(lines)) * lineHeight(size)}
	for i, line := range lines {
		p.Write(drawing.Text{
			Says: line, X: x, Y: y + (float64(i)+0.5)*lineHeight(size) + 0.27*size,
			Size: size, Bold: bold, Colour: colour, Anchor: anchor, In: in,
		})
	}
	return in.H
}

func blockHeight(text string, width, size float64, bold bool) float64 {
	return float64(len(drawing.Wrap(text, size, bold, width))) * lineHeight(size)
}

// label writes one line in the middle of a box.
func (p *page) label(text string, in drawing.Box, size float64, bold bool, colour drawing.Colour) {
	c := in.Centre()
	p.Write(drawing.Text{Says: text, X: c.X, Y: c.Y + 0.36*size, Size: size, Bold: bold, Colour: colour, Anchor: drawing.Middle, In: &in})
}

// rule draws a fine line over the width.
func (p *page) rule() {
	p.Draw(drawing.Line(drawing.Point{X: p.left(), Y: p.y}, drawing.Point{X: p.right(), Y: p.y}), stroke(rim, 1))
}

// warning writes a text in a field with a warning triangle.
func (p *page) warning(text string) {
	const sign = 34.0
	width := p.wide() - sign - 22
	high := max(blockHeight(text, width, sizeBody, true)+14, sign)
	p.Draw(drawing.Rect(drawing.Box{X: p.left(), Y: p.y, W: p.wide(), H: high}, 8), both("#fff3cd", amber, 1.5))
	x, y := p.left()+10, p.y+high/2
	p.Draw(drawing.Polygon(drawing.Point{X: x + 12, Y: y - 11}, drawing.Point{X: x + 25, Y: y + 11}, drawing.Point{X: x - 1, Y: y + 11}), both("#ffd43b", ink, 1.8))
	p.Draw(drawing.Line(drawing.Point{X: x + 12, Y: y - 3}, drawing.Point{X: x + 12, Y: y + 3}), stroke(ink, 2.4))
	p.Draw(drawing.Circle(x+12, y+7, 1.4), fill(ink))
	p.block(text, p.left()+sign+12, p.y+(high-blockHeight(text, width, sizeBody, true))/2, width, sizeBody, true, ink, drawing.Left)
	p.y += high + 8
}
