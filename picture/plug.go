package picture

import (
	"slices"
	"strings"

	"triagebot/kb"
	"triagebot/picture/drawing"
	"triagebot/probe"
)

// plug draws a plug's face with the probes that touch it.
func (p *page) plug(spots []probe.Spot, side string) {
	plug := spots[0].Plug
	p.Group("plug-"+plug.ID, "plug", plug.ID)
	defer p.End()
	p.paragraph(capital(plug.Name), sizeHead, true, ink)
	if plug.Where != "" {
		p.paragraph(capital(plug.Where), sizeBody, false, soft)
	}
	p.y += 6
	p.view(plug, side)

	f := newFace(p.words(), plug, p.wide())
	var above, below []reach
	marked := map[string][]string{}
	for _, s := range spots {
		r, ok := f.reach(s)
		if !ok {
			continue
		}
		marked[s.Pin.ID] = append(marked[s.Pin.ID], s.Probe)
		if r.out < 0 {
			above = append(above, r)
		} else {
			below = append(below, r)
		}
	}
	key := p.words().KeyOf(plug)
	top := 0.0
	if len(above) > 0 {
		top = probeZone
	}
	dx := (p.Width - f.box.W) / 2
	p.spread(above, dx)
	p.spread(below, dx)
	if key.There && !key.Down {
		top += keyHeight
	}
	at := drawing.Point{X: dx, Y: p.y + top}
	p.face(f, at, marked)
	p.key(f, at, key, above, below)
	for _, r := range append(above, below...) {
		if key.There && key.Down == (r.out > 0) {
			// The grip stays clear of the latch on its side.
			end := r.way[len(r.way)-1]
			r.way = append(r.way, drawing.Point{X: end.X, Y: end.Y + r.out*keyHeight})
		}
		p.probe(r.shifted(at.X, at.Y), "plug", plug.ID, "pin", pinOf(spots, r.probe))
	}
	p.y = at.Y + f.box.H
	if key.There && key.Down {
		p.y += keyHeight
	}
	if len(below) > 0 {
		p.y += probeZone
	}
	p.y += 8
	if f.numbered {
		p.legend(f, marked)
	}
	if w := spots[0].Warning(); w != "" {
		p.warning(w)
	}
	p.y += 2
}

func pinOf(spots []probe.Spot, colour string) string {
	for _, s := range spots {
		if s.Probe == colour {
			return s.Pin.ID
		}
	}
	return ""
}

// spread keeps the grips on the page and apart: where they would touch, the
// needles fork where they leave the plug. dx is where the plug is drawn.
func (p *page) spread(rs []reach, dx float64) {
	const apart = gripWidth + gripGap
	least, most := p.left()+gripWidth/2, p.right()-gripWidth/2
	end := func(i int) float64 { return rs[i].way[len(rs[i].way)-1].X + dx }
	for i := range rs {
		rs[i].foot = min(max(end(i), least), most) - end(i)
	}
	if len(rs) != 2 {
		return
	}
	l, r := 0, 1
	if end(0) > end(1) {
		l, r = 1, 0
	}
	if end(r)+rs[r].foot-end(l)-rs[l].foot >= apart {
		return
	}
	centre := min(max((end(l)+end(r))/2, least+apart/2), most-apart/2)
	rs[l].foot = centre - apart/2 - end(l)
	rs[r].foot = centre + apart/2 - end(r)
}

// face draws the housing and the pins.
func (p *page) face(f *face, at drawing.Point, marked map[string][]string) {
	move := func(b drawing.Box) drawing.Box {
		return drawing.Box{X: b.X + at.X, Y: b.Y + at.Y, W: b.W, H: b.H}
	}
	p.Draw(drawing.Rect(move(f.box), 9), both(shell, ink, 2))
	for i, row := range f.plug.Rows {
		for j, id := range row {
			if id == "" {
				continue
			}
			s := f.socket(i, j)
			p.pin(f, id, f.number(i, j), move(f.cells[i][j]), drawing.Point{X: s.X + at.X, Y: s.Y + at.Y}, f.fromAbove(i), marked[id])
		}
	}
}

func (p *page) pin(f *face, id, number string, cell drawing.Box, socket drawing.Point, socketFirst bool, marks []string) {
	p.Group("pin-"+f.plug.ID+"-"+id, "plug", f.plug.ID, "pin", id, "marked", strings.Join(marks, " "))
	defer p.End()
	edge, text := stroke(rim, 1), soft
	if len(marks) > 0 {
		edge, text = stroke(ink, 3), ink
	}
	edge.Fill = paper
	if len(marks) > 0 {
		edge.Fill = white
	}
	p.Draw(drawing.Rect(cell, 6), edge)
	pin := f.plug.Pin(id)
	if pin == nil {
		pin = &kb.Pin{ID: id, Name: id}
	}
	if colour, ok := wireColour(pin.Colour); ok {
		p.Draw(drawing.Circle(socket.X, socket.Y, pinRadius), both(colour, ink, 1.5))
	} else {
		dashed := stroke(ink, 1.5, 3, 3)
		dashed.Fill = white
		p.Draw(drawing.Circle(socket.X, socket.Y, pinRadius), dashed)
	}
	y := cell.Y + cellPad
	if socketFirst {
		y += 2*pinRadius + 4
	}
	if f.numbered {
		p.block(number, cell.X+cell.W/2, y, cell.W-4, sizeBody, true, text, drawing.Middle)
		return
	}
	y += p.block(f.words.PinName(f.plug, id), cell.X+cell.W/2, y, cell.W-2*cellPad, sizeBody, true, text, drawing.Middle)
	p.block(f.words.Wire(*pin), cell.X+cell.W/2, y, cell.W-2*cellPad, sizeSmall, false, text, drawing.Middle)
}

// legend names the pins of a numbered face.
func (p *page) legend(f *face, marked map[string][]string) {
	for i, row := range f.plug.Rows {
		for j, id := range row {
			pin := f.plug.Pin(id)
			if pin == nil {
				continue
			}
			line := p.say("legend", "number", f.number(i, j), "pin", f.words.PinName(f.plug, id), "wire", f.words.Wire(*pin))
			for _, colour := range marked[id] {
				line += " ← " + f.words.Name(colour)
			}
			p.paragraph(line, sizeBody, len(marked[id]) > 0, ink)
		}
	}
	p.y += 4
}

// key draws the latch or notch that says which way up the plug is held, with
// its word where no probe passes.
func (p *page) key(f *face, at drawing.Point, k probe.Key, above, below []reach) {
	if !k.There {
		return
	}
	passing, top := above, at.Y-keyHeight
	if k.Down {
		passing, top = below, at.Y+f.box.H
	}
	word := drawing.Width(k.Word, sizeSmall, true) + 10
	wide := max(f.box.W*0.56, min(word+16, f.box.W-16))
	tab := drawing.Box{X: at.X + (f.box.W-wide)/2, Y: top, W: wide, H: keyHeight}
	p.Group("key-" + f.plug.ID)
	defer p.End()
	if k.Notch {
		y := at.Y
		if k.Down {
			y = at.Y + f.box.H - 6
		}
		c := at.X + f.box.W/2
		p.Draw(drawing.Rect(drawing.Box{X: c - 20, Y: y - 1, W: 40, H: 7}, 0), fill(paper))
		p.Draw(drawing.Line(drawing.Point{X: c - 20, Y: y}, drawing.Point{X: c - 20, Y: y + 6}, drawing.Point{X: c + 20, Y: y + 6}, drawing.Point{X: c + 20, Y: y}), stroke(ink, 2))
	} else {
		p.Draw(drawing.Rect(tab, 5), both(shell, ink, 2))
	}
	x := p.clear(tab, word, passing, at.X)
	p.label(k.Word, drawing.Box{X: x - word/2, Y: tab.Y, W: word, H: tab.H}, sizeSmall, true, ink)
}

// clear finds the middle for a word of this width beside the needles that pass:
// on the tab where there is room, else beside it.
func (p *page) clear(tab drawing.Box, word float64, passing []reach, dx float64) float64 {
	const off = 8.0
	edges := []float64{tab.X}
	for _, r := range passing {
		edges = append(edges, dx+r.way[len(r.way)-1].X)
	}
	slices.Sort(edges[1:])
	edges = append(edges, tab.X+tab.W)
	free := func(x float64) bool {
		for i, edge := range edges {
			room := off
			if i == 0 || i == len(edges)-1 {
				room = 0 // the word has a margin of its own
			}
			if x-word/2 < edge+room && edge-room < x+word/2 {
				return false
			}
		}
		return x-word/2 >= p.left() && x+word/2 <= p.right()
	}
	tries := []float64{tab.X + tab.W/2}
	for i := 1; i < len(edges); i++ {
		tries = append(tries, (edges[i-1]+edges[i])/2)
	}
	tries = append(tries, tab.X-word/2, tab.X+tab.W+word/2)
	for _, x := range tries {
		if free(x) {
			return x
		}
	}
	return tries[0]
}
