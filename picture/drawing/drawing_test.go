package drawing_test

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"image/png"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"triagebot/picture/drawing"
)

func TestFontsAreThere(t *testing.T) {
	assert.Greater(t, drawing.Width("signal", 13, false), 20.0)
	assert.Greater(t, drawing.Width("signal", 13, true), drawing.Width("signal", 13, false))
	assert.InDelta(t, 2*drawing.Width("5 V", 13, false), drawing.Width("5 V", 26, false), 1e-9)
}

func TestUnknownSignsAreSeen(t *testing.T) {
	for in, want := range map[string]string{
		"200 kΩ, 20 °C, ±0.1": "200 kΩ, 20 °C, ±0.1",
		"漢字 plug":             "□□ plug",
		"a\nb\tc":             "a b c",
		"e\u0301":             "é",
		"bad \xff byte":       "bad \uFFFD byte",
		"\U0001F525":          "□",
		"  ":                  "",
	} {
		assert.Equal(t, want, drawing.Drawable(in))
	}
	assert.Greater(t, drawing.Width("□", 13, true), 5.0)
}

func TestWrapKeepsEveryLetterWithinTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[ a-zA-ZΩéя漢0-9,.-]{0,60}`).Draw(t, "text")
		width := rapid.Float64Range(14, 300).Draw(t, "width")
		lines := drawing.Wrap(text, 13, true, width)
		for _, l := range lines {
			require.LessOrEqual(t, drawing.Width(l, 13, true), width)
			require.NotEmpty(t, l)
		}
		bare := strings.NewReplacer(" ", "")
		require.Equal(t, bare.Replace(drawing.Drawable(text)), bare.Replace(strings.Join(lines, "")))
	})
}

func TestWrapEndsAtNoWidthAtAll(t *testing.T) {
	for _, width := range []float64{0, -1, math.NaN()} {
		assert.NotPanics(t, func() { drawing.Wrap("some words", 13, false, width) })
	}
}

func sheet() *drawing.Sheet {
	s := &drawing.Sheet{Width: 40, Height: 20, Name: `a"<b`, Title: "T & t", Desc: "<d>"}
	s.Group("g", "says", `"&<`)
	s.Draw(drawing.Rect(drawing.Box{W: 20, H: 20}, 0), drawing.Style{Fill: "#ff0000"})
	s.Draw(drawing.Line(drawing.Point{X: 20, Y: 10}, drawing.Point{X: 40, Y: 10}), drawing.Style{Stroke: "#0000ff", Width: 4, Dash: []float64{5, 5}})
	s.Write(drawing.Text{Says: "x<&\"", X: 5, Y: 15, Size: 12, Colour: "#000000"})
	return s // the group is left open
}

func TestSVGIsWellFormed(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, sheet().SVG(&b))
	d := xml.NewDecoder(bytes.NewReader(b.Bytes()))
	said := map[string]bool{}
	for {
		token, err := d.Token()
		if err == io.EOF {
			break
		}
		require.NoError(t, err)
		if e, ok := token.(xml.StartElement); ok {
			for _, a := range e.Attr {
				said[a.Value] = true
			}
		}
	}
	assert.True(t, said["x<&\""])
	assert.True(t, said["\"&<"])
	assert.NotContains(t, b.String(), "NaN")
}

// The letters of the SVG, each defined once and set one after the other, fill
// the box that the text is said to take up.
func TestSVGSetsItsLettersInTheirPlaces(t *testing.T) {
	text := drawing.Text{Says: "Hog HH", X: 40, Y: 40, Size: 30, Bold: true, Anchor: drawing.Middle, Colour: "#000000"}
	s := &drawing.Sheet{Width: 80, Height: 60, Name: "n"}
	s.Write(text)
	var b bytes.Buffer
	require.NoError(t, s.SVG(&b))
	var doc struct {
		Letters []struct {
			ID string `xml:"id,attr"`
			D  string `xml:"d,attr"`
		} `xml:"defs>path"`
		Text struct {
			Transform string `xml:"transform,attr"`
			Uses      []struct {
				Href string  `xml:"href,attr"`
				X    float64 `xml:"x,attr"`
			} `xml:"use"`
		} `xml:"g"`
	}
	require.NoError(t, xml.Unmarshal(b.Bytes(), &doc))
	require.Len(t, doc.Letters, 3)
	var x, y, scale float64
	_, err := fmt.Sscanf(doc.Text.Transform, "translate(%g %g)scale(%g)", &x, &y, &scale)
	require.NoError(t, err)
	assert.InDelta(t, text.Box().X, x, 0.01)
	assert.InDelta(t, 40.0, y, 0.01)
	order := []int{0, 1, 2, 0, 0}
	require.Len(t, doc.Text.Uses, len(order))
	for i, before := range []string{"", "H", "Ho", "Hog ", "Hog H"} {
		assert.Equal(t, "#"+doc.Letters[order[i]].ID, doc.Text.Uses[i].Href)
		assert.InDelta(t, drawing.Width(before, 30, true), doc.Text.Uses[i].X*scale, 0.01)
	}
	// An H stands on the line and is as high as a capital: its outline is straight.
	low, high := 0.0, 0.0
	at := 0.0
	steps := regexp.MustCompile(`([ml])\s?(-?\d+)\s?(-?\d+)`).FindAllStringSubmatch(doc.Letters[0].D, -1)
	require.Len(t, steps, 13)
	for _, step := range steps {
		dy, err := strconv.ParseFloat(step[3], 64)
		require.NoError(t, err)
		at += dy * scale
		low, high = min(low, at), max(high, at)
	}
	assert.InDelta(t, -drawing.Ascent*30, low, 1)
	assert.InDelta(t, 0, high, 0.1)
}

func TestPNGShowsWhatIsDrawn(t *testing.T) {
	var b bytes.Buffer
	require.NoError(t, sheet().PNG(&b, 2))
	img, err := png.Decode(&b)
	require.NoError(t, err)
	assert.Equal(t, 80, img.Bounds().Dx())
	at := func(x, y int) [4]uint32 { r, g, b, a := img.At(x, y).RGBA(); return [4]uint32{r, g, b, a} }
	assert.Equal(t, [4]uint32{0xffff, 0, 0, 0xffff}, at(35, 4))
	assert.Equal(t, [4]uint32{0, 0, 0xffff, 0xffff}, at(45, 20)) // on a dash
	assert.Equal(t, [4]uint32{}, at(55, 20))                     // in its gap
	assert.Equal(t, [4]uint32{}, at(75, 4))
}

func TestPNGRefusesSenselessScales(t *testing.T) {
	for _, scale := range []float64{0, -1, math.NaN(), math.Inf(1), 1e6} {
		assert.ErrorContains(t, sheet().PNG(io.Discard, scale), "scale")
	}
}

// deafWriter fails as a full disk does.
type deafWriter struct{}

func (deafWriter) Write([]byte) (int, error) { return 0, io.ErrShortWrite }

func TestWritersErrorsArePassedOn(t *testing.T) {
	assert.ErrorIs(t, sheet().SVG(deafWriter{}), io.ErrShortWrite)
	assert.ErrorIs(t, sheet().PNG(deafWriter{}, 1), io.ErrShortWrite)
}

func TestBoxOfTextIsWhereItsInkIs(t *testing.T) {
	text := drawing.Text{Says: "Hg", X: 40, Y: 40, Size: 30, Bold: true, Anchor: drawing.Middle, Colour: "#000000"}
	s := &drawing.Sheet{Width: 80, Height: 60}
	s.Write(text)
	img, err := s.Image(1, true)
	require.NoError(t, err)
	box := text.Box()
	ink := 0
	for y := range 60 {
		for x := range 80 {
			if _, _, _, a := img.At(x, y).RGBA(); a > 0x1000 {
				ink++
				assert.True(t, float64(x+1) > box.X && float64(x) < box.X+box.W && float64(y+1) > box.Y && float64(y) < box.Y+box.H, "ink at %d %d outside %v", x, y, box)
			}
		}
	}
	assert.Greater(t, ink, 200)
}
