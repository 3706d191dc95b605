package plots

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"

	"triagebot/mining"
	"triagebot/mining/stats"
)

// name is fit for a file, whatever the ids are.
func name(parts ...string) string {
	return strings.Map(func(r rune) rune {
		if r >= 'a' && r <= 'z' || r >= '0' && r <= '9' || r == '-' {
			return r
		}
		return '-'
	}, strings.ToLower(strings.Join(parts, "-")))
}

func history(r *mining.Report, x mining.Rise, months []mining.Month) *Picture {
	if len(months) < 2 {
		return nil
	}
	title := fmt.Sprintf("Rising: %s %s on %s", x.Kind, x.ID, x.Kit)
	if x.Ratio != nil {
		title += fmt.Sprintf(", %.1f times as often", *x.Ratio)
	}
	p := page(name("rising", string(x.Kind), x.ID, x.Kit), title, "", "cases a month", 560, 300)
	most := float64(r.Least)
	ticks := plot.ConstantTicks{}
	step := (len(months) + 11) / 12
	for i, m := range months {
		if m.N != nil {
			most = max(most, float64(*m.N))
		}
		if i%step == 0 {
			ticks = append(ticks, plot.Tick{Value: float64(i), Label: m.Month[2:]})
		}
	}
	p.plot.X.Tick.Marker = ticks
	p.plot.Add(marks{[4]float64{-0.6, float64(len(months)) - 0.4, 0, most * 1.35}, func(b brush) {
		for i, m := range months {
			at := float64(i)
			switch {
			case m.N == nil:
				b.line(soft, 1, dotted, [2]float64{at - 0.36, 0}, [2]float64{at - 0.36, float64(r.Least)}, [2]float64{at + 0.36, float64(r.Least)}, [2]float64{at + 0.36, 0})
				b.say(at, 0, 0, 4, "?", 10, soft, -0.5, 0)
			case *m.N > 0:
				b.bar(at-0.36, 0, at+0.36, float64(*m.N), blue, ink)
				b.say(at, float64(*m.N), 0, 3, fmt.Sprint(*m.N), 9, ink, -0.5, 0)
			}
		}
		from := place(months, r.Rising.Recent.Month(), r.Rising.Recent)
		b.line(rust, 1.4, dashed, [2]float64{from, 0}, [2]float64{from, most * 1.35})
		b.say(from, most*1.35, 4, -2, "recent weeks", 9, rust, 0, -1)
		if x.Signal != nil {
			at := place(months, x.Signal.Month(), *x.Signal)
			b.line(ink, 1.4, nil, [2]float64{at, 0}, [2]float64{at, most * 1.24})
			b.say(at, most*1.24, 4, -2, "chart signals", 9, ink, 0, -1)
		}
	}})
	p.plot.X.Label.Text = fmt.Sprintf("month; dotted: fewer than %d, or hidden with one that is", r.Least)
	return p
}

// place is where a day lies along the bars.
func place(months []mining.Month, month string, day mining.Day) float64 {
	for i, m := range months {
		if m.Month == month {
			var first mining.Day
			if first, _ = mining.ParseDay(month + "-01"); first == 0 {
				return float64(i)
			}
			return float64(i) - 0.5 + float64(day-first)/31
		}
	}
	return 0
}

func life(l mining.PartLife) *Picture {
	title := fmt.Sprintf("Life of: %s on %s (%d failed, %d running)", l.Part, l.Kit, l.Failures, l.Running)
	p := page(name("life", l.Part, l.Kit, l.Unit), title, l.Unit, "still good, %", 560, 340)
	end := l.Curve[len(l.Curve)-1].Time * 1.05
	w := stats.Weibull{Shape: l.Shape, Scale: l.Scale}
	var steps, low, high, fitted [][2]float64
	at := [3]float64{100, 100, 100}
	for _, c := range l.Curve {
		next := [3]float64{100 * c.Survives, 100 * c.Range.Low, 100 * c.Range.High}
		for i, line := range []*[][2]float64{&steps, &low, &high} {
			if len(*line) == 0 {
				*line = append(*line, [2]float64{0, 100})
			}
			*line = append(*line, [2]float64{c.Time, at[i]}, [2]float64{c.Time, next[i]})
		}
		at = next
	}
	for i := range 101 {
		t := end * float64(i) / 100
		fitted = append(fitted, [2]float64{t, 100 * w.Survives(t)})
	}
	least := math.Floor(min(at[1], fitted[100][1])/10) * 10
	p.plot.Add(marks{[4]float64{0, end, max(0, least), 100}, func(b brush) {
		b.line(blue, 0.8, dotted, low...)
		b.line(blue, 0.8, dotted, high...)
		b.line(blue, 1.8, nil, steps...)
		b.line(rust, 1.8, dashed, fitted...)
	}})
	p.plot.Legend.Add("seen (Kaplan-Meier)", key{blue, nil, nil})
	p.plot.Legend.Add("its 95 % limits", key{blue, dotted, nil})
	p.plot.Legend.Add(fmt.Sprintf("fitted (Weibull, shape %.2f, scale %.0f)", l.Shape, l.Scale), key{rust, dashed, nil})
	p.plot.Legend.Top, p.plot.Legend.Left = false, true
	p.plot.Legend.ThumbnailWidth = 28
	p.plot.Legend.XOffs, p.plot.Legend.YOffs = 6, 6
	return p
}

func readings(m mining.Readings) *Picture {
	title := fmt.Sprintf("Readings: %s on %s (%d)", m.Check, m.Kit, m.N)
	p := page(name("readings", m.Check, m.Kit), title, m.Unit, "readings", 560, 320)
	low, high, most := m.Bars[0].From, m.Bars[len(m.Bars)-1].To, 0
	for _, b := range m.Bars {
		most = max(most, b.N)
	}
	// The healthy window is in sight whole, with a piece of its neighbours.
	for _, w := range m.Windows {
		if w.Healthy && w.From != nil && w.To != nil {
			low, high = min(low, *w.From), max(high, *w.To)
		}
	}
	room := (high - low) * 0.12
	low, high = low-room, high+room
	top := float64(most) * 1.25
	p.plot.Add(marks{[4]float64{low, high, 0, top}, func(b brush) {
		for _, w := range m.Windows {
			if w.From == nil || w.To == nil || *w.To <= low || *w.From >= high {
				continue
			}
			from, to := max(low, *w.From), min(high, *w.To)
			if w.Healthy {
				b.bar(from, 0, to, top, good, nil)
			}
			b.line(soft, 1, dashed, [2]float64{to, 0}, [2]float64{to, top})
			label := w.Window
			if w.N != nil {
				label = fmt.Sprintf("%s: %d", w.Window, *w.N)
			}
			t := style(9, ink)
			if t.Width(label) < b.x(to)-b.x(from) {
				b.say((from+to)/2, top, 0, -3, label, 9, ink, -0.5, -1)
			}
		}
		for _, x := range m.Bars {
			b.bar(x.From, 0, x.To, float64(x.N), blue, ink)
		}
	}})
	p.plot.X.Label.Text = m.Unit + "; shaded: the healthy window"
	return p
}

func confusion(r *mining.Report) *Picture {
	var rows, cols []string
	place := func(list *[]string, id string) {
		for _, x := range *list {
			if x == id {
				return
			}
		}
		*list = append(*list, id)
	}
	cells := map[[2]string]mining.Confused{}
	for _, x := range r.Misled {
		if *x.Wrong.N > 0 && len(rows) < 14 {
			rows = append(rows, x.Named)
		}
	}
	in := map[string]bool{}
	for _, x := range rows {
		in[x] = true
	}
	for _, c := range r.Confusion {
		if in[c.Named] {
			place(&cols, c.Confirmed)
			cells[[2]string{c.Named, c.Confirmed}] = c
		}
	}
	if len(rows) == 0 || len(cols) == 0 {
		return nil
	}
	p := page("confusion", "Named and confirmed cause", "", "", vg.Length(max(560, 300+24*len(cols))), rowsHigh(max(len(rows), len(cols))))
	last := float64(len(rows) - 1)
	p.plot.Add(marks{[4]float64{-0.6, float64(len(cols)) - 0.4, -0.6, last + 0.6}, func(b brush) {
		for i, n := range rows {
			for j, c := range cols {
				y, x := last-float64(i), float64(j)
				cell, ok := cells[[2]string{n, c}]
				if !ok {
					b.bar(x-0.46, y-0.46, x+0.46, y+0.46, nil, faint)
					continue
				}
				fill, edge := faint, soft
				if n == c {
					fill, edge = good, ink
				}
				b.bar(x-0.46, y-0.46, x+0.46, y+0.46, fill, edge)
				b.say(x, y, 0, 0, fmt.Sprint(cell.N), 9, ink, -0.5, -0.4)
			}
		}
	}})
	names(p.plot, rows)
	ticks := make(plot.ConstantTicks, len(cols))
	for i, c := range cols {
		ticks[i] = plot.Tick{Value: float64(i), Label: c + "  "}
	}
	p.plot.X.Tick.Marker = ticks
	p.plot.X.Tick.Label.Rotation = math.Pi / 2
	p.plot.X.Tick.Label.XAlign, p.plot.X.Tick.Label.YAlign = -1, -0.5
	p.plot.X.Tick.Length = 0
	p.plot.X.Label.Text = "confirmed; framed: named rightly; empty: none, or too few to show"
	p.height += 130
	return p
}
