package plots

import (
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// marks draws in the coordinates of the data; extent is what must be in sight.
type marks struct {
	extent [4]float64 // xmin, xmax, ymin, ymax
	draw   func(m brush)
}

func (m marks) Plot(c draw.Canvas, p *plot.Plot) {
	x, y := p.Transforms(&c)
	m.draw(brush{c, x, y})
}

func (m marks) DataRange() (xmin, xmax, ymin, ymax float64) {
	return m.extent[0], m.extent[1], m.extent[2], m.extent[3]
}

// brush draws single marks.
type brush struct {
	c    draw.Canvas
	x, y func(float64) vg.Length
}

func (b brush) at(x, y float64) vg.Point { return vg.Point{X: b.x(x), Y: b.y(y)} }

func (b brush) bar(x0, y0, x1, y1 float64, fill, edge color.Color) {
	corners := []vg.Point{b.at(x0, y0), b.at(x1, y0), b.at(x1, y1), b.at(x0, y1)}
	if fill != nil {
		b.c.FillPolygon(fill, corners)
	}
	if edge != nil {
		b.c.StrokeLines(draw.LineStyle{Color: edge, Width: 0.8}, append(corners, corners[0]))
	}
}

func (b brush) line(c color.Color, width vg.Length, dashes []vg.Length, points ...[2]float64) {
	var list []vg.Point
	for _, p := range points {
		list = append(list, b.at(p[0], p[1]))
	}
	b.c.StrokeLines(draw.LineStyle{Color: c, Width: width, Dashes: dashes}, b.c.ClipLinesXY(list)...)
}

func (b brush) glyph(x, y float64, c color.Color, shape draw.GlyphDrawer) {
	b.c.DrawGlyph(draw.GlyphStyle{Color: c, Radius: 4, Shape: shape}, b.at(x, y))
}

// say writes beside a point; dx and dy are in points of type.
func (b brush) say(x, y float64, dx, dy vg.Length, s string, size vg.Length, c color.Color, xalign, yalign float64) {
	t := style(size, c)
	t.XAlign, t.YAlign = draw.XAlignment(xalign), draw.YAlignment(yalign)
	at := b.at(x, y)
	b.c.FillText(t, vg.Point{X: at.X + dx, Y: at.Y + dy}, s)
}

var (
	dotted = []vg.Length{1.5, 2.5}
	dashed = []vg.Length{6, 3}
)

// key is a legend entry drawn as a line.
type key struct {
	colour color.Color
	dashes []vg.Length
	shape  draw.GlyphDrawer
}

func (k key) Thumbnail(c *draw.Canvas) {
	y := c.Center().Y
	if k.shape != nil {
		c.DrawGlyph(draw.GlyphStyle{Color: k.colour, Radius: 4, Shape: k.shape}, c.Center())
		return
	}
	c.StrokeLine2(draw.LineStyle{Color: k.colour, Width: 1.6, Dashes: k.dashes}, c.Min.X, y, c.Max.X, y)
}
