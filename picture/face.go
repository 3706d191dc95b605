package picture

import (
	"strconv"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
	"triagebot/probe"
)

// The measures of a plug's face.
const (
	cellGap   = 8.0
	cellLeast = 30.0
	cellMost  = 134.0
	cellPad   = 7.0
	pinRadius = 12.0
	keyHeight = 20.0 // of the latch or notch
)

// face is the layout of a plug's pins as they lie. box is its housing with
// its left top corner at 0,0; cells are in it.
type face struct {
	words    probe.Words
	plug     *kb.Plug
	box      drawing.Box
	cells    [][]drawing.Box
	columns  int
	numbered bool // names do not fit: the cells carry numbers, the names stand below
}

func newFace(words probe.Words, plug *kb.Plug, most float64) *face {
	f := &face{words: words, plug: plug}
	for _, row := range plug.Rows {
		f.columns = max(f.columns, len(row))
	}
	f.columns = max(f.columns, 1)
	n := float64(f.columns)
	width := min(cellMost, max(cellLeast, (most-cellGap*(n+1))/n))
	f.numbered = !f.fits(width - 2*cellPad)
	y := cellGap
	for _, row := range plug.Rows {
		high := 0.0
		for _, id := range row {
			high = max(high, f.cellHeight(id, width))
		}
		var cells []drawing.Box
		for j := range row {
			cells = append(cells, drawing.Box{X: cellGap + float64(j)*(width+cellGap), Y: y, W: width, H: high})
		}
		f.cells = append(f.cells, cells)
		y += high + cellGap
	}
	f.box = drawing.Box{W: cellGap + n*(width+cellGap), H: max(y, 3*cellGap)}
	return f
}

// fits says whether every word of the names fits a cell.
func (f *face) fits(width float64) bool {
	for _, pin := range f.plug.Pins {
		for _, word := range append(strings.Fields(f.words.PinName(f.plug, pin.ID)), strings.Fields(f.words.Wire(pin))...) {
			if drawing.Width(drawing.Drawable(word), sizeBody, true) > width {
				return false
			}
		}
	}
	return true
}

func (f *face) cellHeight(id string, width float64) float64 {
	h := 2*cellPad + 2*pinRadius
	if f.numbered {
		return h + lineHeight(sizeBody)
	}
	if pin := f.plug.Pin(id); pin != nil {
		h += 4 + blockHeight(f.words.PinName(f.plug, id), width-2*cellPad, sizeBody, true) + blockHeight(f.words.Wire(*pin), width-2*cellPad, sizeSmall, false)
	}
	return h
}

// fromAbove says from which edge the pins of a row are reached: the nearer one.
func (f *face) fromAbove(row int) bool { return row < len(f.cells)/2 }

// socket is the middle of a pin's metal: near the edge from which the probe
// comes, so that the probe does not lie over the pin's name.
func (f *face) socket(row, column int) drawing.Point {
	c := f.cells[row][column]
	if f.fromAbove(row) {
		return drawing.Point{X: c.X + c.W/2, Y: c.Y + cellPad + pinRadius}
	}
	return drawing.Point{X: c.X + c.W/2, Y: c.Y + c.H - cellPad - pinRadius}
}

// find is where a pin lies.
func (f *face) find(pin string) (row, column int, ok bool) {
	for i, r := range f.plug.Rows {
		for j, id := range r {
			if id == pin {
				return i, j, true
			}
		}
	}
	return 0, 0, false
}

// reach is the way of a probe to its pin: straight from the edge to a pin of
// an outer row, and between the columns to a pin further in.
func (f *face) reach(s probe.Spot) (reach, bool) {
	row, column, ok := f.find(s.Pin.ID)
	if !ok {
		return reach{}, false
	}
	tip := f.socket(row, column)
	r := reach{probe: s.Probe, way: []drawing.Point{tip}, out: 1}
	edge, outer := f.box.H, row == len(f.cells)-1
	if f.fromAbove(row) {
		r.out, edge, outer = -1, 0, row == 0
	}
	x := tip.X
	if !outer {
		c := f.cells[row][column]
		x = c.X + c.W + cellGap/2
		r.way = append(r.way, drawing.Point{X: x, Y: tip.Y})
	}
	r.way = append(r.way, drawing.Point{X: x, Y: edge})
	return r, true
}

// shifted is a way moved to where the face is drawn.
func (r reach) shifted(dx, dy float64) reach {
	way := make([]drawing.Point, len(r.way))
	for i, pt := range r.way {
		way[i] = drawing.Point{X: pt.X + dx, Y: pt.Y + dy}
	}
	r.way = way
	return r
}

// number is the place of a pin counted along the rows, for a numbered face.
func (f *face) number(row, column int) string {
	n := column + 1
	for i := range row {
		n += len(f.plug.Rows[i])
	}
	return strconv.Itoa(n)
}
