package web

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"triagebot/mining"
	"triagebot/mining/stats"
)

// span is a share drawn beside its words: a bar as long as the share, with its
// interval as a line over it. The words carry all of it.
type span struct {
	Name, Href, Value, Note string
	W, Low, High            float64 // 0 to 100
	Ranged                  bool
	Mark                    float64 // where something else stands; below 0: nowhere
}

// spanOf draws x of most; most is what fills the line.
func spanOf(name string, s mining.Share, most float64) span {
	b := span{Name: name, Value: "too few to show", Mark: -1}
	if s.N == nil {
		return b
	}
	b.Value, b.Note = fmt.Sprintf("%d of %d", *s.N, *s.Of), percents(*s.Share, s.Range)
	b.W, b.Low, b.High, b.Ranged = part(*s.Share, most), part(s.Range.Low, most), part(s.Range.High, most), true
	return b
}

func part(x, most float64) float64 {
	if !(most > 0) {
		return 0
	}
	return round(min(100, 100*x/most))
}

// percents writes a share with its interval.
func percents(x float64, r *stats.Interval) string {
	if r == nil {
		return tenth(x) + " %"
	}
	return fmt.Sprintf("%s %% (%s to %s)", tenth(x), tenth(r.Low), tenth(r.High))
}

func tenth(x float64) string { return strconv.FormatFloat(100*x, 'f', 1, 64) }

// highest is the top of all intervals, for a line that all are drawn along.
func highest(list []mining.Share) float64 {
	most := 0.0
	for _, s := range list {
		if s.Range != nil {
			most = max(most, s.Range.High)
		}
	}
	return most
}

// The size of a figure, in pixels on a phone.
const (
	figWide  = 340.0
	figLeft  = 34.0
	figRight = 334.0
	figTop   = 22.0
	figFoot  = 132.0
)

// columns are counts by month.
type columns struct {
	Cols   []column
	Ticks  []tick // below
	Lines  []tick // at the left: X is the height
	Recent float64
	Signal float64
	Says   string
	Hidden bool // a month is too small to show
	Heaped bool // of some months there are more
}

// column is one month; More is what is hidden of it, on top of what is shown.
type column struct {
	X, Y, W, H float64
	Hidden     bool
	More       float64
}

// heap puts a dashed box on the columns of which some is hidden.
func (v *columns) heap(more []bool) {
	for i := range v.Cols {
		if c := &v.Cols[i]; more[i] && !c.Hidden {
			c.More, v.Heaped = round(c.Y-hiddenHigh), true
		}
	}
	if v.Heaped {
		v.Says += " Where a kit had too few to show, there were some more."
	}
}

// hiddenHigh is how high a box is that says nothing of how many.
const hiddenHigh = 12.0

// columnsOf draws months; recent and signal are days or 0.
func columnsOf(what string, months []mining.Month, recent mining.Day, signal *mining.Day) columns {
	v := columns{Recent: -1, Signal: -1}
	most := 1
	for _, m := range months {
		if m.N != nil {
			most = max(most, *m.N)
		}
	}
	top := niceAbove(float64(most))
	step := (figRight - figLeft) / float64(len(months))
	every := (len(months) + 6) / 7
	var says []string
	for i, m := range months {
		x := figLeft + step*float64(i)
		c := column{X: round(x + step*0.12), W: round(step * 0.76), Hidden: m.N == nil}
		if m.N != nil {
			c.H = round((figFoot - figTop) * float64(*m.N) / top)
			says = append(says, monthWords(m.Month)+" "+strconv.Itoa(*m.N))
		} else {
			c.H, v.Hidden = hiddenHigh, true
			says = append(says, monthWords(m.Month)+" too few to show")
		}
		c.Y = round(figFoot - c.H)
		v.Cols = append(v.Cols, c)
		if i%every == 0 {
			v.Ticks = append(v.Ticks, tick{round(x + step/2), monthShort(m.Month, i == 0)})
		}
	}
	for _, y := range []float64{0, top / 2, top} {
		if y == math.Trunc(y) {
			v.Lines = append(v.Lines, tick{round(figFoot - (figFoot-figTop)*y/top), strconv.Itoa(int(y))})
		}
	}
	at := func(d mining.Day) float64 {
		for i, m := range months {
			if m.Month == d.Month() {
				return round(figLeft + step*(float64(i)+float64(d.OfMonth()-1)/31))
			}
		}
		return -1
	}
	if recent != 0 {
		v.Recent = at(recent)
		says = append(says, "the recent weeks begin on "+recent.String())
	}
	if signal != nil {
		v.Signal = at(*signal)
		says = append(says, "the chart signals in the week of "+signal.String())
	}
	v.Says = what + " by month: " + strings.Join(says, ", ") + "."
	return v
}

var monthNames = []string{"", "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// monthShort is "Mar", with the year in January and where the axis begins.
func monthShort(month string, begins bool) string {
	var y, m int
	if _, err := fmt.Sscanf(month, "%d-%d", &y, &m); err != nil || m < 1 || m > 12 {
		return month
	}
	if begins || m == 1 {
		return fmt.Sprintf("%s ’%02d", monthNames[m], y%100)
	}
	return monthNames[m]
}

func monthWords(month string) string {
	var y, m int
	if _, err := fmt.Sscanf(month, "%d-%d", &y, &m); err != nil || m < 1 || m > 12 {
		return month
	}
	return fmt.Sprintf("%s %d", monthNames[m], y)
}

// niceAbove is the next even step: 2, 4, 10, 20, 40, 100 and so on.
func niceAbove(x float64) float64 {
	for p := 1.0; ; p *= 10 {
		for _, m := range []float64{2, 4, 6, 10} {
			if x <= m*p {
				return m * p
			}
		}
	}
}

// curve is how many parts are still good along what they have run.
type curve struct {
	Seen, Fitted, Band string // paths
	Ticks, Lines       []tick
	Says               string
}

// curveOf draws a survival curve with its limits and the fitted life.
func curveOf(l mining.PartLife) curve {
	end := l.Curve[len(l.Curve)-1].Time * 1.04
	floor := 1.0
	for _, c := range l.Curve {
		floor = min(floor, c.Range.Low)
	}
	w := stats.Weibull{Shape: l.Shape, Scale: l.Scale}
	floor = max(0, math.Floor(min(floor, w.Survives(end))*10)/10)
	x := func(t float64) float64 { return round(figLeft + (figRight-figLeft)*t/end) }
	y := func(p float64) float64 {
		return round(figTop + (figFoot-figTop)*(1-min(1, max(p, floor)))/(1-floor))
	}
	var seen, up, down, fit strings.Builder
	fmt.Fprintf(&seen, "M%g %g", figLeft, figTop)
	fmt.Fprintf(&up, "M%g %g", figLeft, figTop)
	low := []string{}
	last := mining.CurvePoint{Survives: 1, Range: stats.Interval{Low: 1, High: 1}}
	for _, c := range thinned(l.Curve) {
		fmt.Fprintf(&seen, "H%gV%g", x(c.Time), y(c.Survives))
		fmt.Fprintf(&up, "H%gV%g", x(c.Time), y(c.Range.High))
		low = append(low, fmt.Sprintf("%g %gL%g %g", x(c.Time), y(c.Range.Low), x(c.Time), y(last.Range.Low)))
		last = c
	}
	for i := len(low) - 1; i >= 0; i-- {
		down.WriteString("L" + low[i])
	}
	for i := range 61 {
		t := end * float64(i) / 60
		fmt.Fprintf(&fit, "%s%g %g", map[bool]string{true: "M", false: "L"}[i == 0], x(t), y(w.Survives(t)))
	}
	v := curve{Seen: seen.String(), Fitted: fit.String(), Band: up.String() + down.String() + "Z"}
	for _, p := range []float64{1, (1 + floor) / 2, floor} {
		v.Lines = append(v.Lines, tick{y(p), fmt.Sprintf("%.0f", 100*p)})
	}
	step := niceAbove(end) / 4
	for step*2 > end {
		step /= 2
	}
	for t := step; t < end; t += step {
		v.Ticks = append(v.Ticks, tick{x(t), thousands(t)})
	}
	v.Says = fmt.Sprintf("Share of parts still good along %s: one in ten has failed by %s; the last point seen is %s %% at %s.",
		l.Unit, thousands(l.Tenth), tenth(last.Survives), thousands(last.Time))
	return v
}

// mostPoints is how many steps of a curve a phone can show.
const mostPoints = 120

func thinned(list []mining.CurvePoint) []mining.CurvePoint {
	if len(list) <= mostPoints {
		return list
	}
	var out []mining.CurvePoint
	for i := range mostPoints {
		out = append(out, list[(i+1)*len(list)/mostPoints-1])
	}
	return out
}
