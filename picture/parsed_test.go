package picture_test

import (
	"bytes"
	"encoding/xml"
	"errors"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"triagebot/picture"
	"triagebot/picture/drawing"
)

// node is an element of an SVG.
type node struct {
	XMLName xml.Name
	Attrs   []xml.Attr `xml:",any,attr"`
	Kids    []node     `xml:",any"`
	Words   string     `xml:",chardata"`
}

func (n node) attr(name string) string {
	for _, a := range n.Attrs {
		if a.Name.Local == name {
			return a.Value
		}
	}
	return ""
}

// walk visits a node and all below it.
func (n node) walk(visit func(node)) {
	visit(n)
	for _, k := range n.Kids {
		k.walk(visit)
	}
}

// groups lists the groups whose id, after the picture's name, begins so.
func (n node) groups(p *picture.Picture, prefix string) []node {
	var list []node
	n.walk(func(x node) {
		if x.XMLName.Local == "g" && strings.HasPrefix(x.attr("id"), p.Name()+"."+prefix) {
			list = append(list, x)
		}
	})
	return list
}

func (n node) texts() []string {
	var list []string
	n.walk(func(x node) {
		if t := x.attr("data-text"); t != "" {
			list = append(list, t)
		}
	})
	return list
}

// drawnWords are all words of a picture in the order they are drawn.
func drawnWords(p *picture.Picture) string {
	var words []string
	for _, text := range p.Sheet().Texts() {
		words = append(words, text.Says)
	}
	return strings.Join(words, " ")
}

var numbers = regexp.MustCompile(`-?[0-9.]+`)

// points are all the points of the first shape of a group, handles of curves
// with them.
func (n node) points(t require.TestingT) []drawing.Point {
	for _, k := range n.Kids {
		if k.XMLName.Local != "path" || k.attr("data-text") != "" {
			continue
		}
		var list []drawing.Point
		all := numbers.FindAllString(k.attr("d"), -1)
		for i := 0; i+1 < len(all); i += 2 {
			x, err := strconv.ParseFloat(all[i], 64)
			require.NoError(t, err)
			y, err := strconv.ParseFloat(all[i+1], 64)
			require.NoError(t, err)
			list = append(list, drawing.Point{X: x, Y: y})
		}
		return list
	}
	require.Fail(t, "the group has no shape", "%s", n.attr("id"))
	return nil
}

// box is the extent of the first shape of a group.
func (n node) box(t require.TestingT) drawing.Box {
	list := n.points(t)
	lo, hi := list[0], list[0]
	for _, p := range list {
		lo = drawing.Point{X: min(lo.X, p.X), Y: min(lo.Y, p.Y)}
		hi = drawing.Point{X: max(hi.X, p.X), Y: max(hi.Y, p.Y)}
	}
	return drawing.Box{X: lo.X, Y: lo.Y, W: hi.X - lo.X, H: hi.Y - lo.Y}
}

func svgBytes(t require.TestingT, p *picture.Picture) []byte {
	var b bytes.Buffer
	require.NoError(t, p.SVG(&b))
	return b.Bytes()
}

func parse(t require.TestingT, p *picture.Picture) node {
	var root node
	require.NoError(t, xml.Unmarshal(svgBytes(t, p), &root))
	require.Equal(t, "svg", root.XMLName.Local)
	return root
}

// everyPicture is every measurement of every kit, every line and every case of
// these tests, drawn once for all of them.
func everyPicture(t testing.TB) []*picture.Picture {
	list, err := pictures()
	require.NoError(t, err)
	require.Greater(t, len(list), 100)
	return list
}

var pictures = sync.OnceValues(drawAll)

func drawAll() ([]*picture.Picture, error) {
	k, err := builtIn()
	if err != nil {
		return nil, err
	}
	built, err := allCases()
	if err != nil {
		return nil, err
	}
	var list []*picture.Picture
	var wrong error
	add := func(p *picture.Picture, err error) {
		list, wrong = append(list, p), errors.Join(wrong, err)
	}
	for _, kit := range k.Kits {
		add(picture.Line(k, kit))
		for _, c := range k.Checks {
			if picture.Drawable(kit, c) {
				add(picture.Check(k, kit, c))
			}
		}
	}
	for _, name := range caseNames() {
		add(picture.Case(k, built[name]))
	}
	return list, wrong
}
