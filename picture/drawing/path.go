package drawing

import "math"

// Point is a place on the sheet.
type Point struct{ X, Y float64 }

// Box is an upright rectangle.
type Box struct{ X, Y, W, H float64 }

// Inset is the box made smaller by d on every side.
func (b Box) Inset(d float64) Box { return Box{b.X + d, b.Y + d, b.W - 2*d, b.H - 2*d} }

// Centre is the middle of the box.
func (b Box) Centre() Point { return Point{b.X + b.W/2, b.Y + b.H/2} }

// Holds says whether o lies within b; slack allows for rounding.
func (b Box) Holds(o Box, slack float64) bool {
	return o.X >= b.X-slack && o.Y >= b.Y-slack && o.X+o.W <= b.X+b.W+slack && o.Y+o.H <= b.Y+b.H+slack
}

// Meets says whether two boxes share more than an edge.
func (b Box) Meets(o Box) bool {
	return b.X < o.X+o.W && o.X < b.X+b.W && b.Y < o.Y+o.H && o.Y < b.Y+b.H
}

// verb is what one step of a path does.
type verb uint8

const (
	move  verb = iota // 1 point
	line              // 1 point
	quad              // 2 points
	cubic             // 3 points
	shut              // none
)

// Path is an outline: lines and curves one after the other.
type Path struct {
	verbs  []verb
	points []Point
}

// MoveTo begins a new stroke.
func (p *Path) MoveTo(x, y float64) *Path { return p.add(move, Point{x, y}) }

// LineTo goes straight on.
func (p *Path) LineTo(x, y float64) *Path { return p.add(line, Point{x, y}) }

// QuadTo goes on in a curve drawn towards one point.
func (p *Path) QuadTo(x1, y1, x, y float64) *Path { return p.add(quad, Point{x1, y1}, Point{x, y}) }

// CubeTo goes on in a curve drawn towards two points.
func (p *Path) CubeTo(x1, y1, x2, y2, x, y float64) *Path {
	return p.add(cubic, Point{x1, y1}, Point{x2, y2}, Point{x, y})
}

// Close goes back to where the stroke began.
func (p *Path) Close() *Path { return p.add(shut) }

func (p *Path) add(v verb, points ...Point) *Path {
	p.verbs = append(p.verbs, v)
	p.points = append(p.points, points...)
	return p
}

// Line is a path through points.
func Line(points ...Point) *Path {
	p := &Path{}
	for i, pt := range points {
		if i == 0 {
			p.MoveTo(pt.X, pt.Y)
		} else {
			p.LineTo(pt.X, pt.Y)
		}
	}
	return p
}

// Polygon is a closed path through points.
func Polygon(points ...Point) *Path { return Line(points...).Close() }

// bow is how far the handles of a cubic curve stand off so that it comes
// within three parts in ten thousand of a quarter circle.
var bow = 4 * (math.Sqrt2 - 1) / 3

// Rect is a rectangle with round corners; radius 0 gives square ones.
func Rect(b Box, radius float64) *Path {
	r := min(radius, b.W/2, b.H/2)
	l, t, rt, bt := b.X, b.Y, b.X+b.W, b.Y+b.H
	if r <= 0 {
		return Polygon(Point{l, t}, Point{rt, t}, Point{rt, bt}, Point{l, bt})
	}
	k := r * (1 - bow)
	return (&Path{}).MoveTo(l+r, t).LineTo(rt-r, t).CubeTo(rt-k, t, rt, t+k, rt, t+r).
		LineTo(rt, bt-r).CubeTo(rt, bt-k, rt-k, bt, rt-r, bt).
		LineTo(l+r, bt).CubeTo(l+k, bt, l, bt-k, l, bt-r).
		LineTo(l, t+r).CubeTo(l, t+k, l+k, t, l+r, t).Close()
}

// Circle is a circle about a point.
func Circle(x, y, r float64) *Path { return Rect(Box{x - r, y - r, 2 * r, 2 * r}, r) }
