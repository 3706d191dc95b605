package drawing

import (
	"hash/fnv"
	"strconv"

	"golang.org/x/image/font/sfnt"
)

// letters are the outlines that a sheet's texts share, so that each is in the
// SVG once.
type letters struct {
	prefix string
	ids    map[letter]string
	order  []letter
}

type letter struct {
	rune rune
	bold bool
}

// letters lists those of all texts in the order they come. Their ids begin with
// a short form of the sheet's name: there are very many of them.
func (s *Sheet) letters() *letters {
	h := fnv.New32a()
	_, _ = h.Write([]byte(s.Name)) // never fails
	l := &letters{prefix: "l" + strconv.FormatUint(uint64(h.Sum32()), 36) + ".", ids: map[letter]string{}}
	for _, o := range s.ops {
		if o.kind != opText {
			continue
		}
		for _, r := range o.text.Says {
			one := letter{r, o.text.Bold}
			if _, there := l.ids[one]; !there && r != ' ' {
				l.ids[one] = l.prefix + strconv.FormatInt(int64(len(l.order)), 36)
				l.order = append(l.order, one)
			}
		}
	}
	return l
}

// define writes the outlines, in the units of the font.
func (l *letters) define(put func(...string)) {
	put("<defs>\n")
	var b sfnt.Buffer
	for _, one := range l.order {
		if f := faceOf(one.bold); f != nil {
			put(`<path id="`, l.ids[one], `" d="`, relative(f.letter(&b, one.rune)), "\"/>\n")
		}
	}
	put("</defs>\n")
}

// write writes one line of text letter by letter.
func (l *letters) write(t Text, put func(...string)) {
	f := faceOf(t.Bold)
	if f == nil {
		return
	}
	put(`<g data-text="`, escape(t.Says), `" fill="`, string(t.Colour), `" transform="translate(`,
		number(t.left(Width(t.Says, t.Size, t.Bold))), " ", number(t.Y), `)scale(`,
		strconv.FormatFloat(t.Size/f.units(), 'g', 5, 64), `)">`)
	var b sfnt.Buffer
	at := 0.0
	for _, r := range t.Says {
		if id, ok := l.ids[letter{r, t.Bold}]; ok {
			put(`<use href="#`, id, `"`)
			if at != 0 {
				put(` x="`, number(at), `"`)
			}
			put("/>")
		}
		at += fromFixed(f.advance(&b, r))
	}
	put("</g>\n")
}
