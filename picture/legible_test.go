package picture_test

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/picture"
	"triagebot/picture/drawing"
)

// The least that WCAG 2.2 asks of text (1.4.3) and of signs (1.4.11).
const (
	textContrast = 4.5
	signContrast = 3.0
)

// leastSize is the smallest type that is read on a phone 360 pixels wide.
const leastSize = 12.0

func TestEveryPictureIsLegibleOnAnyPage(t *testing.T) {
	t.Parallel()
	for _, p := range everyPicture(t) {
		w, _ := p.Size()
		assert.Equal(t, 360.0, w, p.Name())
		requirePanel(t, p, requireLegible(t, p))
	}
}

// requireLegible holds that no text is small, cut off, laid over another, wider
// than its field, or too near the colour of its ground. It returns that ground:
// the picture without its text.
func requireLegible(t require.TestingT, p *picture.Picture) image.Image {
	sheet := p.Sheet()
	page := drawing.Box{W: sheet.Width, H: sheet.Height}.Inset(8)
	ground, err := sheet.Image(1, false)
	require.NoError(t, err)
	texts := sheet.Texts()
	require.NotEmpty(t, texts)
	for i, one := range texts {
		box := one.Box()
		require.GreaterOrEqual(t, one.Size, leastSize, "%s: %q", p.Name(), one.Says)
		require.True(t, page.Holds(box, 0), "%s: %q is cut off", p.Name(), one.Says)
		if one.In != nil {
			require.True(t, one.In.Holds(box, 0.5), "%s: %q does not fit its field: %v in %v", p.Name(), one.Says, box, *one.In)
		}
		for _, other := range texts[i+1:] {
			require.False(t, box.Meets(other.Box()), "%s: %q lies over %q", p.Name(), one.Says, other.Says)
		}
		require.GreaterOrEqual(t, leastContrast(ground, box, one.Colour.RGBA()), textContrast, "%s: %q on its ground", p.Name(), one.Says)
	}
	return ground
}

// leastContrast is the worst contrast of a colour against the ground of a box.
func leastContrast(ground image.Image, b drawing.Box, c color.Color) float64 {
	least := math.Inf(1)
	seen := map[color.Color]bool{} // a ground has few colours, and a contrast is slow to work out
	for y := int(b.Y); y <= int(b.Y+b.H); y++ {
		for x := int(b.X); x <= int(b.X+b.W); x++ {
			if at := ground.At(x, y); !seen[at] {
				seen[at] = true
				least = min(least, contrast(c, at))
			}
		}
	}
	return least
}

// contrast is that of WCAG 2.2.
func contrast(a, b color.Color) float64 {
	la, lb := luminance(a), luminance(b)
	return (max(la, lb) + 0.05) / (min(la, lb) + 0.05)
}

func luminance(c color.Color) float64 {
	part := func(v uint32) float64 {
		s := float64(v) / 0xffff
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	r, g, b, _ := c.RGBA()
	return 0.2126*part(r) + 0.7152*part(g) + 0.0722*part(b)
}

func TestContrastIsThatOfTheGuideline(t *testing.T) {
	assert.InDelta(t, 21, contrast(color.Black, color.White), 0.01)
	assert.InDelta(t, 4.54, contrast(color.Gray{0x76}, color.White), 0.01) // the guideline's own example of a grey that just holds
}

// requirePanel holds that the panel's edge is seen on a light and on a dark
// page, and that its corners let the page through.
func requirePanel(t require.TestingT, p *picture.Picture, img image.Image) {
	edge := img.At(1, img.Bounds().Dy()/2)
	for _, page := range []color.Color{color.White, color.Black, color.RGBA{0x31, 0x33, 0x38, 0xff}} {
		assert.GreaterOrEqual(t, max(contrast(edge, page), contrast(img.At(6, 40), page)), signContrast, p.Name())
	}
	_, _, _, alpha := img.At(0, 0).RGBA()
	assert.Zero(t, alpha, p.Name())
	_, _, _, alpha = img.At(10, 10).RGBA()
	assert.EqualValues(t, 0xffff, alpha, p.Name())
}

func TestSameBytesTwice(t *testing.T) {
	t.Parallel()
	first := everyPicture(t)
	second, err := drawAll()
	require.NoError(t, err)
	require.Len(t, second, len(first))
	for i := range first {
		require.Equal(t, svgBytes(t, first[i]), svgBytes(t, second[i]))
		require.Equal(t, first[i].Text(), second[i].Text())
		require.Equal(t, first[i].Alt(), second[i].Alt())
	}
	var a, b bytes.Buffer
	require.NoError(t, first[0].PNG(&a, 2))
	require.NoError(t, second[0].PNG(&b, 2))
	require.Equal(t, a.Bytes(), b.Bytes())
}

func TestIdsAreUniqueWithinAPicture(t *testing.T) {
	for _, p := range everyPicture(t) {
		seen := map[string]bool{}
		parse(t, p).walk(func(n node) {
			if id := n.attr("id"); id != "" {
				assert.False(t, seen[id], fmt.Sprintf("%s twice", id))
				seen[id] = true
			}
		})
	}
}

func BenchmarkCheck(b *testing.B) {
	k := embedded(b)
	kit, c := k.Kit("sorrel-60"), k.Check("throttle-rest")
	for b.Loop() {
		if _, err := picture.Check(k, kit, c); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCheckSVG(b *testing.B) {
	k := embedded(b)
	p, err := picture.Check(k, k.Kit("sorrel-60"), k.Check("throttle-rest"))
	require.NoError(b, err)
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := p.SVG(&out); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes")
}

func BenchmarkCheckPNG(b *testing.B) {
	k := embedded(b)
	p, err := picture.Check(k, k.Kit("sorrel-60"), k.Check("throttle-rest"))
	require.NoError(b, err)
	var out bytes.Buffer
	for b.Loop() {
		out.Reset()
		if err := p.PNG(&out, 2); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(out.Len()), "bytes")
}

func BenchmarkCase(b *testing.B) {
	k := embedded(b)
	c := caseNamed(b, "dead-throttle")
	for b.Loop() {
		if _, err := picture.Case(k, c); err != nil {
			b.Fatal(err)
		}
	}
}
