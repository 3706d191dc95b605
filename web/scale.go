package web

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"triagebot/kb"
	"triagebot/mining"
	"triagebot/rules"
)

// The size of a scale, in pixels on a phone. It is drawn larger where there is
// room, and by half as much again at most, so that its type keeps its size.
const (
	scaleWide = 340.0
	barsHigh  = 64.0
	bandHigh  = 26.0
)

// scale is the windows of a check on a kit, drawn on one axis with the readings
// of owners over them.
type scale struct {
	Kits    []string // names
	Unit    string
	Windows []band
	Bars    []bar
	Ticks   []tick
	N       int
	Log     bool
	Says    string // for those who do not see it
}

type band struct {
	Letter  string
	Name    string
	Means   string
	Healthy bool
	Range   string
	Share   string // of the readings
	X, W    float64
}

// Middle is where the letter stands; "" has no room.
func (b band) Middle() float64 { return b.X + b.W/2 }

// Roomy says whether the letter fits.
func (b band) Roomy() bool { return b.W >= 11 }

type bar struct{ X, Y, W, H float64 }

type tick struct {
	X    float64
	Says string
}

// scale draws the windows of a check as they are on a kit before any earlier
// reading.
func (s *Server) scale(c *kb.Check, kit *kb.Kit, found *mining.Readings) scale {
	v := scale{Kits: []string{capital(kit.Name)}, Unit: c.Unit}
	scope, err := rules.NewScope(s.c.KB, kit, nil)
	if err != nil {
		return v // the checker says what is wrong with such a kit
	}
	type limits struct{ from, to float64 }
	var (
		at    []limits
		edges []float64
		marks []float64 // limits, those of what is as it should be first
	)
	for _, w := range c.Windows {
		l := limits{number(scope, w.From, math.Inf(-1)), number(scope, w.To, math.Inf(1))}
		at = append(at, l)
		edges = append(edges, l.from, l.to)
		if w.Healthy {
			marks = append(marks, l.from, l.to)
		}
	}
	marks = append(marks, edges...)
	if found != nil {
		for _, b := range found.Bars {
			edges = append(edges, b.From, b.To)
		}
	}
	a := axisOver(edges, c.Unit)
	v.Log = a.log
	for i, w := range c.Windows {
		b := band{Letter: string(rune('a' + i%26)), Name: w.Name, Means: w.Means, Healthy: w.Healthy, Range: between(at[i].from, at[i].to, c.Unit)}
		b.X = a.place(at[i].from)
		b.W = max(a.place(at[i].to)-b.X, 0.5)
		if found != nil {
			for _, u := range found.Windows {
				if u.Window == w.ID && u.Share.Share != nil {
					b.Share = percent(*u.Share.Share)
				}
			}
		}
		v.Windows = append(v.Windows, b)
	}
	if found != nil {
		v.N = found.N
		v.Bars = a.bars(found.Bars)
	}
	v.Ticks = a.ticks(marks, c.Unit)
	v.Says = v.words()
	return v
}

func number(s *rules.Scope, limit string, without float64) float64 {
	if limit == "" {
		return without
	}
	v, err := s.Number(limit)
	if err != nil || math.IsNaN(v) || math.Abs(v) > 1e9 { // larger than any meter shows: there is no limit
		return without
	}
	return v
}

func (v scale) words() string {
	var says []string
	for _, w := range v.Windows {
		x := w.Name + ", " + w.Range
		if w.Healthy {
			x += ", as it should be"
		}
		if w.Share != "" {
			x += ", " + w.Share + " of the readings"
		}
		says = append(says, x)
	}
	return "Windows on a scale: " + strings.Join(says, "; ") + "."
}

// axis takes figures to places.
type axis struct {
	from, to float64
	log      bool
}

// axisOver spans what is finite. Ohms reach from a wire to an open end, so they
// go by powers of ten.
func axisOver(edges []float64, unit string) axis {
	var finite []float64
	least := math.Inf(1) // above zero
	for _, x := range edges {
		if !math.IsInf(x, 0) {
			finite = append(finite, x)
			if x > 0 {
				least = min(least, x)
			}
		}
	}
	if len(finite) == 0 {
		return axis{from: 0, to: 1}
	}
	a := axis{from: slices.Min(finite), to: slices.Max(finite)}
	if unit == "Ω" && a.to > 200*least {
		return axis{math.Log10(least) - 0.5, math.Log10(a.to) + 0.5, true}
	}
	room := (a.to - a.from) * 0.06
	if room == 0 {
		room = 1
	}
	return axis{from: a.from - room, to: a.to + room}
}

func (a axis) place(x float64) float64 {
	if a.log {
		if x <= 0 {
			return 0
		}
		x = math.Log10(x)
	}
	return min(max((x-a.from)/(a.to-a.from), 0), 1) * scaleWide
}

func (a axis) bars(list []mining.Bar) []bar {
	most := 1
	for _, b := range list {
		most = max(most, b.N)
	}
	var out []bar
	for _, b := range list {
		x, h := a.place(b.From), math.Max(float64(b.N)/float64(most)*(barsHigh-4), 1)
		out = append(out, bar{round(x), round(barsHigh - h), round(math.Max(a.place(b.To)-x-0.6, 1.2)), round(h)})
	}
	return out
}

// ticks are the limits that have room for their words; those given first go
// before the others.
func (a axis) ticks(limits []float64, unit string) []tick {
	var out []tick
	half := func(t tick) float64 { return float64(utf8.RuneCountInString(t.Says)) * letterWide / 2 }
	for _, x := range limits {
		if math.IsInf(x, 0) {
			continue
		}
		t := tick{round(a.place(x)), amount(x, unit)}
		clash := func(o tick) bool { return math.Abs(o.X-t.X) < half(o)+half(t)+4 }
		if t.X >= half(t) && t.X+half(t) <= scaleWide && !slices.ContainsFunc(out, clash) {
			out = append(out, t)
		}
	}
	return out
}

// letterWide is how wide a letter of the smallest type may be.
const letterWide = 7.2

func round(x float64) float64 { return math.Round(x*10) / 10 }

// amount writes a limit with its unit, with as many places as it needs, three at
// most.
func amount(x float64, unit string) string {
	prefix := ""
	switch {
	case math.Abs(x) >= 1e6:
		x, prefix = x/1e6, "M"
	case math.Abs(x) >= 1e4:
		x, prefix = x/1e3, "k"
	}
	n := strings.TrimSuffix(strings.TrimRight(strconv.FormatFloat(x, 'f', 3, 64), "0"), ".")
	return strings.TrimSpace(n + " " + prefix + unit)
}

func between(from, to float64, unit string) string {
	switch {
	case math.IsInf(from, -1) && math.IsInf(to, 1):
		return "anything"
	case math.IsInf(from, -1):
		return "below " + amount(to, unit)
	case math.IsInf(to, 1):
		return amount(from, unit) + " and above"
	}
	low, high := amount(from, unit), amount(to, unit)
	if n, of, ok := strings.Cut(low, " "); ok && strings.HasSuffix(high, " "+of) {
		low = n
	}
	return low + " to " + high
}

// figure writes a figure that needs no unit.
func figure(x float64) string { return amount(x, "") }

// joined puts kits with the same windows and no readings of their own together.
func joined(list []scale) []scale {
	var out []scale
next:
	for _, x := range list {
		for i, y := range out {
			if x.N == 0 && y.N == 0 && slices.Equal(x.Windows, y.Windows) {
				out[i].Kits = append(out[i].Kits, x.Kits...)
				continue next
			}
		}
		out = append(out, x)
	}
	slices.SortStableFunc(out, func(x, y scale) int { return y.N - x.N }) // those with readings first
	return out
}

// times says how often.
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}
