package drawing

import (
	"image/color"
	"strconv"
)

// Colour is a colour as #rrggbb; "" is none.
type Colour string

// RGBA is the colour for an image; a colour that is none is clear.
func (c Colour) RGBA() color.NRGBA {
	if len(c) != 7 {
		return color.NRGBA{}
	}
	n, err := strconv.ParseUint(string(c[1:]), 16, 32)
	if err != nil {
		return color.NRGBA{}
	}
	return color.NRGBA{R: uint8(n >> 16), G: uint8(n >> 8), B: uint8(n), A: 0xff}
}

// Style says how a shape is filled and outlined.
type Style struct {
	Fill   Colour
	Stroke Colour
	Width  float64   // of the stroke
	Dash   []float64 // lengths on and off; none draws a whole line
}

// Sheet is a picture under way. The zero value is an empty one; set Width and
// Height before it is written.
type Sheet struct {
	Width, Height float64
	Name          string // begins every id of the SVG, so that several may stand in one page
	Title, Desc   string // for those who do not see it
	ops           []op
	open          int
}

type opKind uint8

const (
	opShape opKind = iota
	opText
	opGroup
	opEnd
)

// op is one thing on the sheet, in the order of drawing.
type op struct {
	kind  opKind
	path  *Path
	style Style
	text  Text
	id    string
	data  []string // name, value, name, value
}

// Draw puts a shape on the sheet.
func (s *Sheet) Draw(p *Path, st Style) { s.ops = append(s.ops, op{kind: opShape, path: p, style: st}) }

// Group begins a named part of the picture; data are names and values that the
// SVG carries as data-name="value". End it with [Sheet.End].
func (s *Sheet) Group(id string, data ...string) {
	s.open++
	s.ops = append(s.ops, op{kind: opGroup, id: id, data: data})
}

// End ends the part begun last; with none open it does nothing.
func (s *Sheet) End() {
	if s.open > 0 {
		s.open--
		s.ops = append(s.ops, op{kind: opEnd})
	}
}

// Write puts one line of text on the sheet.
func (s *Sheet) Write(t Text) {
	t.Says = Drawable(t.Says)
	if t.Says != "" {
		s.ops = append(s.ops, op{kind: opText, text: t})
	}
}

// Texts lists what is written, in the order of drawing.
func (s *Sheet) Texts() []Text {
	var list []Text
	for _, o := range s.ops {
		if o.kind == opText {
			list = append(list, o.text)
		}
	}
	return list
}

// Panel puts a shape beneath all that is on the sheet.
func (s *Sheet) Panel(p *Path, st Style) {
	s.ops = append([]op{{kind: opShape, path: p, style: st}}, s.ops...)
}
