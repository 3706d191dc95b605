package plots

import (
	"fmt"
	"image/color"
	"io"

	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/opentype"
	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgimg"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Picture is one plot.
type Picture struct {
	Name   string // of its files, without ending
	Title  string // what it shows, in words, for people who cannot see it
	plot   *plot.Plot
	width  vg.Length
	height vg.Length
}

// Colours on the paper; text ones at 4.5:1 or better.
var (
	paper = color.RGBA{0xfb, 0xf9, 0xf4, 255}
	ink   = color.RGBA{0x1c, 0x1b, 0x19, 255}
	soft  = color.RGBA{0x5b, 0x57, 0x50, 255}
	faint = color.RGBA{0xd9, 0xd3, 0xc6, 255}
	blue  = color.RGBA{0x1f, 0x4e, 0x8c, 255}
	rust  = color.RGBA{0xa8, 0x42, 0x0f, 255}
	good  = color.RGBA{0xd5, 0xe8, 0xd4, 255}
)

const typeface = "Go"

var hand = newHand()

// newHand sets type in the font that golang.org/x/image brings along. One
// weight does: each one more would make every SVG 200 kB larger.
func newHand() text.Plain {
	var faces font.Collection
	if face, err := opentype.Parse(goregular.TTF); err == nil { // it is part of the program
		faces = append(faces, font.Face{Font: font.Font{Typeface: typeface}, Face: face})
	}
	return text.Plain{Fonts: font.NewCache(faces)}
}

func style(size vg.Length, c color.Color) text.Style {
	return text.Style{Color: c, Font: font.Font{Typeface: typeface, Size: size}, Handler: hand}
}

// page is an empty plot in our hand.
func page(name, title, across, up string, width, height vg.Length) *Picture {
	p := plot.New()
	p.TextHandler = hand
	p.BackgroundColor = paper
	p.Title.Text = title
	p.Title.TextStyle = style(13, ink)
	p.Title.TextStyle.XAlign, p.Title.TextStyle.YAlign = draw.XCenter, draw.YTop
	p.Title.Padding = 10
	p.Legend.TextStyle = style(10, ink)
	p.Legend.Padding = 2
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Tick.Color = soft, soft
		old := a.Label.TextStyle
		a.Label.TextStyle = style(11, ink)
		a.Label.TextStyle.XAlign, a.Label.TextStyle.YAlign, a.Label.TextStyle.Rotation = old.XAlign, old.YAlign, old.Rotation
		old = a.Tick.Label
		a.Tick.Label = style(10, ink)
		a.Tick.Label.XAlign, a.Tick.Label.YAlign = old.XAlign, old.YAlign
	}
	p.X.Label.Text, p.Y.Label.Text = across, up
	return &Picture{Name: name, Title: title, plot: p, width: width, height: height}
}

func (p *Picture) paint(c vg.CanvasSizer) {
	dc := draw.New(c)
	dc.FillPolygon(paper, []vg.Point{{X: dc.Min.X, Y: dc.Min.Y}, {X: dc.Max.X, Y: dc.Min.Y}, {X: dc.Max.X, Y: dc.Max.Y}, {X: dc.Min.X, Y: dc.Max.Y}})
	const margin = 12
	p.plot.Draw(draw.Crop(dc, margin, -margin-6, margin, -margin))
}

// WriteSVG writes the picture with its fonts embedded.
func (p *Picture) WriteSVG(w io.Writer) error {
	c := vgsvg.NewWith(vgsvg.UseWH(p.width, p.height), vgsvg.EmbedFonts(true))
	p.paint(c)
	if _, err := c.WriteTo(w); err != nil {
		return fmt.Errorf("writing picture %s: %w", p.Name, err)
	}
	return nil
}

// WritePNG writes the picture at twice the usual density.
func (p *Picture) WritePNG(w io.Writer) error {
	c := vgimg.PngCanvas{Canvas: vgimg.NewWith(vgimg.UseWH(p.width, p.height), vgimg.UseDPI(144))}
	p.paint(c)
	if _, err := c.WriteTo(w); err != nil {
		return fmt.Errorf("writing picture %s: %w", p.Name, err)
	}
	return nil
}
