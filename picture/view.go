package picture

import (
	"strings"

	"triagebot/picture/drawing"
)

// key is the latch or notch of a plug, by which one knows which way up it is.
type key struct {
	there, notch, down bool
	word               string
}

// keyOf reads the key out of the words that say how a plug is looked at:
// "from the wire side, latch up".
func keyOf(viewed string) key {
	for _, part := range parts(viewed) {
		words := strings.Fields(part)
		if len(words) < 2 {
			continue
		}
		last := words[len(words)-1]
		latch, notch := strings.Contains(part, "latch"), strings.Contains(part, "notch")
		if (latch || notch) && (last == "up" || last == "down") {
			return key{there: true, notch: notch && !latch, down: last == "down", word: strings.Join(words[:len(words)-1], " ")}
		}
	}
	return key{}
}

// sight is the side of a plug that is looked at.
type sight uint8

const (
	anySide sight = iota
	wireSide
	matingFace
)

// sightOf reads a side out of words; back-probing is done from the wires, and
// a plug that is off shows its mating face.
func sightOf(words string) sight {
	switch {
	case strings.Contains(words, "wire side"), strings.Contains(words, "back-probed"):
		return wireSide
	case strings.Contains(words, "mating face"), strings.Contains(words, "unplugged"):
		return matingFace
	}
	return anySide
}

// halfOf reads which half of a plug words speak of: "the bike's half", bike.
func halfOf(words string) string {
	before, _, found := strings.Cut(words, " half")
	if !found {
		return ""
	}
	list := strings.Fields(before)
	for i := len(list) - 1; i >= 0; i-- {
		if owner, ok := strings.CutSuffix(list[i], "'s"); ok {
			return owner
		}
	}
	return ""
}

// order is how the pins lie where a probe goes, against how they are drawn.
type order uint8

const (
	asDrawn     order = iota
	sameOrder         // another half from its other side: the same again
	maySwap           // another side, of which half is not said
	leftIsRight       // another side of the same half, or the same side of the other
)

// orderAt compares the side a plug is drawn from with the side it is probed
// from. The mating face of one half has the order of the other half's wires.
func orderAt(viewed, side string) order {
	v, s := sightOf(viewed), sightOf(side)
	if v == anySide || s == anySide {
		return asDrawn
	}
	hv, hs := halfOf(viewed), halfOf(side)
	switch {
	case hv == "" || hs == "":
		if v == s {
			return asDrawn
		}
		return maySwap
	case (v != s) != (hv != hs):
		return leftIsRight
	case v != s:
		return sameOrder
	}
	return asDrawn
}

// orderSays puts it in words, "" when the pins lie as drawn.
func orderSays(viewed, side string) string {
	switch orderAt(viewed, side) {
	case sameOrder:
		return say("same-order", "half", halfOf(side))
	case maySwap:
		return say("may-swap")
	case leftIsRight:
		return say("swapped", "half", halfOf(side))
	}
	return ""
}

// The strip that shows from where one looks.
const (
	viewHeight = 58.0
	viewWidth  = 138.0
)

// view says in words from which side the face is drawn, and shows it: the plug
// from its side, with an eye and an arrow.
func (p *page) view(viewed, side string) {
	if viewed == "" {
		return
	}
	text := stop(say("drawn-as", "viewed", viewed))
	where := sightOf(viewed)
	if where == anySide {
		p.paragraph(text, sizeBody, false, ink)
		p.y += 6
		return
	}
	width := p.wide() - viewWidth - 30
	high := max(viewHeight, blockHeight(text, width, sizeBody, false)+16)
	box := drawing.Box{X: p.left(), Y: p.y, W: p.wide(), H: high}
	p.Group("view", "side", map[sight]string{wireSide: "wire", matingFace: "mating"}[where])
	defer p.End()
	p.Draw(drawing.Rect(box, 8), both(white, rim, 1))
	p.block(text, p.left()+viewWidth+20, p.y+(high-blockHeight(text, width, sizeBody, false))/2, width, sizeBody, false, ink, drawing.Left)
	p.sideView(p.left()+8, p.y+high/2, where, keyOf(viewed), strings.Contains(side, "plugged in"))
	p.y += high + 10
}

// sideView draws the plug from its side, wires on one end, with the eye at the
// end that is looked at. The other half is there when the plug stays closed.
func (p *page) sideView(x, y float64, where sight, k key, closed bool) {
	const long, wide = 28.0, 26.0
	body := x + 62
	if where == matingFace {
		body = x + wide
	}
	p.strands(body-wide, body, y)
	if where == wireSide && closed {
		p.strands(body+long+wide, body+long+wide+16, y)
		p.Draw(drawing.Rect(drawing.Box{X: body + long, Y: y - 13, W: wide, H: 26}, 4), both(white, ink, 1.6))
	} else {
		p.Draw(drawing.Rect(drawing.Box{X: body + long, Y: y - 10, W: 11, H: 20}, 2), both(paper, ink, 2))
	}
	p.Draw(drawing.Rect(drawing.Box{X: body, Y: y - 15, W: long, H: 30}, 4), both(shell, ink, 2))
	if k.there {
		top := y - 21
		if k.down {
			top = y + 15
		}
		p.Draw(drawing.Rect(drawing.Box{X: body + 6, Y: top, W: 16, H: 6}, 2), both(ink, ink, 1))
	}
	if where == wireSide {
		p.eye(x+10, y, 1)
		p.arrow(x+22, x+34, y)
		return
	}
	p.eye(x+108, y, -1)
	p.arrow(x+96, x+72, y)
}

// strands are three wires.
func (p *page) strands(from, to, y float64) {
	for _, dy := range []float64{-7, 0, 7} {
		p.Draw(drawing.Line(drawing.Point{X: from, Y: y + dy}, drawing.Point{X: to, Y: y + dy}), stroke(ink, 2.2))
	}
}

// eye is an eye that looks to the right (1) or the left (-1).
func (p *page) eye(x, y, to float64) {
	p.Draw((&drawing.Path{}).MoveTo(x-11, y).QuadTo(x, y-12, x+11, y).QuadTo(x, y+12, x-11, y).Close(), both(white, ink, 2))
	p.Draw(drawing.Circle(x+2.5*to, y, 3.6), fill(ink))
}

func (p *page) arrow(from, to, y float64) {
	back := 6.0
	if to < from {
		back = -6
	}
	p.Draw(drawing.Line(drawing.Point{X: from, Y: y}, drawing.Point{X: to - back, Y: y}), stroke(ink, 2.2))
	p.Draw(drawing.Polygon(drawing.Point{X: to, Y: y}, drawing.Point{X: to - back, Y: y - 5}, drawing.Point{X: to - back, Y: y + 5}), fill(ink))
}
