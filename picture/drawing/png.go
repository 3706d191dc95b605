package drawing

import (
	"fmt"
	"image"
	"image/png"
	"io"
	"math"

	"git.sr.ht/~sbinet/gg"
)

// mostPixels bounds a PNG: four bytes each, so 160 MB.
const mostPixels = 40e6

// PNG writes the sheet as an image; scale 2 gives twice as many pixels each way.
func (s *Sheet) PNG(w io.Writer, scale float64) error {
	img, err := s.Image(scale, true)
	if err != nil {
		return err
	}
	// On flat colours the fastest level writes as few bytes as the default one.
	encoder := png.Encoder{CompressionLevel: png.BestSpeed}
	if err := encoder.Encode(w, img); err != nil {
		return fmt.Errorf("writing the picture %q as PNG: %w", s.Name, err)
	}
	return nil
}

// Image draws the sheet, with its text or without.
func (s *Sheet) Image(scale float64, text bool) (image.Image, error) {
	wide, high := math.Ceil(s.Width*scale), math.Ceil(s.Height*scale)
	if !(wide >= 1 && high >= 1 && wide*high <= mostPixels) {
		return nil, fmt.Errorf("drawing the picture %q at scale %g: %g by %g pixels is nothing or too much; choose a scale between 0.5 and 4", s.Name, scale, wide, high)
	}
	dc := gg.NewContext(int(wide), int(high))
	dc.SetLineJoinRound()
	for _, o := range s.ops {
		switch o.kind {
		case opShape:
			trace(dc, o.path, 0, 0, scale)
			if o.style.Fill != "" {
				dc.SetColor(o.style.Fill.RGBA())
				dc.FillPreserve()
			}
			if o.style.Stroke != "" && o.style.Width > 0 {
				dc.SetColor(o.style.Stroke.RGBA())
				dc.SetLineWidth(o.style.Width * scale)
				dash := make([]float64, len(o.style.Dash))
				for i, d := range o.style.Dash {
					dash[i] = d * scale
				}
				dc.SetDash(dash...)
				dc.SetLineCapRound()
				if len(dash) > 0 {
					dc.SetLineCapButt()
				}
				dc.StrokePreserve()
			}
			dc.ClearPath()
		case opText:
			if !text {
				continue
			}
			t := o.text
			trace(dc, outline(t), t.left(Width(t.Says, t.Size, t.Bold)), t.Y, scale)
			dc.SetColor(t.Colour.RGBA())
			dc.Fill()
		}
	}
	return dc.Image(), nil
}

// trace lays a path, shifted and then scaled, under the pen.
func trace(dc *gg.Context, p *Path, dx, dy, scale float64) {
	at := 0
	pt := func(i int) (float64, float64) {
		return (p.points[at+i].X + dx) * scale, (p.points[at+i].Y + dy) * scale
	}
	for _, v := range p.verbs {
		switch v {
		case move:
			dc.MoveTo(pt(0))
		case line:
			dc.LineTo(pt(0))
		case quad:
			x1, y1 := pt(0)
			x, y := pt(1)
			dc.QuadraticTo(x1, y1, x, y)
		case cubic:
			x1, y1 := pt(0)
			x2, y2 := pt(1)
			x, y := pt(2)
			dc.CubicTo(x1, y1, x2, y2, x, y)
		case shut:
			dc.ClosePath()
		}
		at += pointsOf[v]
	}
}
