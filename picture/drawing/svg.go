package drawing

import (
	"bufio"
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"
)

// SVG writes the sheet as a picture for browsers. Text is in it twice: as
// outlines to be seen, each letter once, and as data-text to be found; Title and Desc are for
// those who have it read out.
func (s *Sheet) SVG(w io.Writer) error {
	b := bufio.NewWriter(w)
	put := func(parts ...string) {
		for _, p := range parts {
			_, _ = b.WriteString(p) // Flush returns the first error
		}
	}
	id := func(part string) string { return escape(s.Name + "." + part) }
	put(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 `, number(s.Width), " ", number(s.Height),
		`" width="`, number(s.Width), `" height="`, number(s.Height),
		`" role="img" aria-labelledby="`, id("title"), " ", id("desc"), "\">\n",
		`<title id="`, id("title"), `">`, escape(s.Title), "</title>\n",
		`<desc id="`, id("desc"), `">`, escape(s.Desc), "</desc>\n")
	letters := s.letters()
	letters.define(put)
	for _, o := range s.ops {
		switch o.kind {
		case opGroup:
			put(`<g id="`, id(o.id), `"`)
			for i := 0; i+1 < len(o.data); i += 2 {
				put(" data-", o.data[i], `="`, escape(o.data[i+1]), `"`)
			}
			put(">\n")
		case opEnd:
			put("</g>\n")
		case opShape:
			put(`<path`, styled(o.style), ` d="`, absolute(o.path), "\"/>\n")
		case opText:
			letters.write(o.text, put)
		}
	}
	for range s.open {
		put("</g>\n")
	}
	put("</svg>\n")
	return b.Flush()
}

func styled(st Style) string {
	out := ` fill="none"`
	if st.Fill != "" {
		out = ` fill="` + string(st.Fill) + `"`
	}
	if st.Stroke != "" && st.Width > 0 {
		out += ` stroke="` + string(st.Stroke) + `" stroke-width="` + number(st.Width) + `" stroke-linejoin="round" stroke-linecap="` + lineCap(st) + `"`
		if len(st.Dash) > 0 {
			dash := make([]string, len(st.Dash))
			for i, d := range st.Dash {
				dash[i] = number(d)
			}
			out += ` stroke-dasharray="` + strings.Join(dash, " ") + `"`
		}
	}
	return out
}

// lineCap is butt for dashes, whose gaps round ends would fill.
func lineCap(st Style) string {
	if len(st.Dash) > 0 {
		return "butt"
	}
	return "round"
}

func escape(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(s)); err != nil {
		return ""
	}
	return b.String()
}

// number writes a length to a hundredth of a pixel.
func number(x float64) string {
	x = math.Round(x*100) / 100
	if x == 0 {
		return "0" // not -0
	}
	return strconv.FormatFloat(x, 'f', -1, 64)
}

func absolute(p *Path) string {
	var b strings.Builder
	at := 0
	for _, v := range p.verbs {
		n := pointsOf[v]
		b.WriteByte("MLQCZ"[v])
		for i := range n {
			if i > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(number(p.points[at+i].X) + " " + number(p.points[at+i].Y))
		}
		at += n
	}
	return b.String()
}

var pointsOf = [...]int{move: 1, line: 1, quad: 2, cubic: 3, shut: 0}

// relative writes a path in whole numbers, each step from the end of the one
// before: outlines of letters are long, and this halves them.
func relative(p *Path) string {
	var b strings.Builder
	at, x, y, startX, startY := 0, 0, 0, 0, 0
	for _, v := range p.verbs {
		n := pointsOf[v]
		b.WriteByte("mlqcz"[v])
		fromX, fromY := x, y
		for i := range n {
			px, py := int(math.Round(p.points[at+i].X)), int(math.Round(p.points[at+i].Y))
			short(&b, px-fromX, i > 0)
			short(&b, py-fromY, true)
			x, y = px, py
		}
		switch v {
		case move:
			startX, startY = x, y
		case shut:
			x, y = startX, startY
		}
		at += n
	}
	return b.String()
}

// short writes a number with a blank before it where its sign does not part it
// from the last one.
func short(b *strings.Builder, n int, after bool) {
	if after && n >= 0 {
		b.WriteByte(' ')
	}
	b.WriteString(strconv.Itoa(n))
}
