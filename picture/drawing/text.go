package drawing

import (
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"golang.org/x/image/font"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"
	"golang.org/x/image/font/sfnt"
	"golang.org/x/image/math/fixed"
	"golang.org/x/text/unicode/norm"
)

// Anchor says which part of a text lies at its X.
type Anchor uint8

// The anchors.
const (
	Left Anchor = iota
	Middle
	Right
)

// Text is one line of text. Y is its baseline.
type Text struct {
	Says   string
	X, Y   float64
	Size   float64 // height of the type in pixels, as CSS counts it
	Bold   bool
	Anchor Anchor
	Colour Colour
	In     *Box // what it must fit into, for those who check; nil is the sheet
}

// Box is what the text takes up: its width, and the height from the top of
// the tallest capital to the foot of the deepest letter.
func (t Text) Box() Box {
	w := Width(t.Says, t.Size, t.Bold)
	return Box{t.left(w), t.Y - Ascent*t.Size, w, (Ascent + Descent) * t.Size}
}

func (t Text) left(width float64) float64 {
	switch t.Anchor {
	case Middle:
		return t.X - width/2
	case Right:
		return t.X - width
	}
	return t.X
}

// Ascent and Descent are how far the letters of the font reach above and below
// the baseline, in parts of its size: those of capitals and of a "g".
const (
	Ascent  = 0.74
	Descent = 0.21
)

// Mark is drawn where the font has no letter for a sign, so that what is
// missing is seen to be missing.
const Mark = '□'

type face struct {
	font *sfnt.Font
	em   fixed.Int26_6
}

var faces = sync.OnceValue(func() [2]*face {
	var two [2]*face
	for i, ttf := range [][]byte{goregular.TTF, gobold.TTF} {
		// The fonts are part of the program; a test holds that they parse. Without
		// one, text has no width and no outline, and nothing else goes wrong.
		if f, err := sfnt.Parse(ttf); err == nil {
			two[i] = &face{f, fixed.I(int(f.UnitsPerEm()))}
		}
	}
	return two
})

func faceOf(bold bool) *face {
	if bold {
		return faces()[1]
	}
	return faces()[0]
}

func (f *face) has(b *sfnt.Buffer, r rune) bool {
	i, err := f.font.GlyphIndex(b, r)
	return err == nil && i != 0
}

// Drawable is a text as it can be drawn in one line: control signs become
// blanks, and signs the font does not have become a visible mark.
func Drawable(s string) string {
	f := faceOf(false)
	if f == nil {
		return s
	}
	var b sfnt.Buffer
	var out strings.Builder
	for _, r := range norm.NFC.String(strings.ToValidUTF8(s, "\uFFFD")) {
		switch {
		case unicode.IsSpace(r), unicode.IsControl(r):
			r = ' '
		case !f.has(&b, r):
			r = Mark
		}
		out.WriteRune(r)
	}
	return strings.TrimSpace(out.String())
}

// Width is how wide a text is drawn.
func Width(s string, size float64, bold bool) float64 {
	f := faceOf(bold)
	if f == nil {
		return 0
	}
	var b sfnt.Buffer
	var sum fixed.Int26_6
	for _, r := range s {
		sum += f.advance(&b, r)
	}
	return float64(sum) / float64(f.em) * size
}

func (f *face) advance(b *sfnt.Buffer, r rune) fixed.Int26_6 {
	i, err := f.font.GlyphIndex(b, r)
	if err != nil {
		return 0
	}
	a, err := f.font.GlyphAdvance(b, i, f.em, font.HintingNone)
	if err != nil {
		return 0
	}
	return a
}

// Wrap breaks a text into lines no wider than width: between words, and within
// a word that is wider by itself.
func Wrap(s string, size float64, bold bool, width float64) []string {
	var lines []string
	now := ""
	for _, word := range strings.Fields(Drawable(s)) {
		longer := word
		if now != "" {
			longer = now + " " + word
		}
		if Width(longer, size, bold) <= width {
			now = longer
			continue
		}
		if now != "" {
			lines = append(lines, now)
		}
		now = word
		for Width(now, size, bold) > width {
			head, tail := split(now, size, bold, width)
			if tail == "" {
				break
			}
			lines, now = append(lines, head), tail
		}
	}
	if now != "" {
		lines = append(lines, now)
	}
	return lines
}

// split cuts a word where the width is full, but takes at least one letter.
func split(word string, size float64, bold bool, width float64) (head, tail string) {
	_, end := utf8.DecodeRuneInString(word)
	for i := range word {
		if i > end && Width(word[:i], size, bold) > width {
			break
		}
		end = max(end, i)
	}
	return word[:end], word[end:]
}

// outline is the text as a path, from its left end at the baseline.
func outline(t Text) *Path {
	p := &Path{}
	f := faceOf(t.Bold)
	if f == nil {
		return p
	}
	var b sfnt.Buffer
	k := t.Size / f.units()
	at := 0.0
	for _, r := range t.Says {
		g := f.letter(&b, r)
		p.verbs = append(p.verbs, g.verbs...)
		for _, pt := range g.points {
			p.points = append(p.points, Point{(at + pt.X) * k, pt.Y * k})
		}
		at += fromFixed(f.advance(&b, r))
	}
	return p
}

// letter is the outline of one letter in the units of the font.
func (f *face) letter(b *sfnt.Buffer, r rune) *Path {
	p := &Path{}
	i, err := f.font.GlyphIndex(b, r)
	if err != nil {
		return p
	}
	segments, err := f.font.LoadGlyph(b, i, f.em, nil)
	if err != nil {
		return p
	}
	pt := func(a fixed.Point26_6) (x, y float64) { return fromFixed(a.X), fromFixed(a.Y) }
	for n, s := range segments {
		x1, y1 := pt(s.Args[0])
		x2, y2 := pt(s.Args[1])
		x3, y3 := pt(s.Args[2])
		switch s.Op {
		case sfnt.SegmentOpMoveTo:
			if n > 0 {
				p.Close()
			}
			p.MoveTo(x1, y1)
		case sfnt.SegmentOpLineTo:
			p.LineTo(x1, y1)
		case sfnt.SegmentOpQuadTo:
			p.QuadTo(x1, y1, x2, y2)
		case sfnt.SegmentOpCubeTo:
			p.CubeTo(x1, y1, x2, y2, x3, y3)
		}
	}
	if len(segments) > 0 {
		p.Close()
	}
	return p
}

// units is how many units of the font its size has.
func (f *face) units() float64 { return fromFixed(f.em) }

func fromFixed(x fixed.Int26_6) float64 { return float64(x) / 64 }
