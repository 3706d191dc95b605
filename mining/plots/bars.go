package plots

import (
	"fmt"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"triagebot/mining"
)

// names puts names on the Y axis, the first on top.
func names(p *plot.Plot, list []string) {
	ticks := make([]plot.Tick, len(list))
	for i, s := range list {
		ticks[i] = plot.Tick{Value: float64(len(list) - 1 - i), Label: s}
	}
	p.Y.Tick.Marker = plot.ConstantTicks(ticks)
	p.Y.Tick.Length = 0
	p.Y.Min, p.Y.Max = -0.6, float64(len(list))-0.4
}

// below leaves room under the rows for two lines of legend.
func below(p *plot.Plot) { p.Y.Min = -2.4 }

func rowsHigh(n int) vg.Length { return vg.Length(110 + 21*n) }

func pareto(r *mining.Report, kind mining.Kind) *Picture {
	var ranks []mining.Rank
	for _, x := range r.Pareto {
		if x.Kind == kind && len(ranks) < mostBars {
			ranks = append(ranks, x)
		}
	}
	if len(ranks) == 0 {
		return nil
	}
	p := page("pareto-"+string(kind), fmt.Sprintf("Most frequent: %ss in %d closed cases", kind, r.Cases), "cases", "", 560, rowsHigh(len(ranks)))
	var ids []string
	most := 0
	for _, x := range ranks {
		ids = append(ids, x.ID)
		most = max(most, x.N)
	}
	last := float64(len(ranks) - 1)
	p.plot.Add(marks{[4]float64{0, float64(most) * 1.22, -0.6, last + 0.6}, func(b brush) {
		for i, x := range ranks {
			y := last - float64(i)
			b.bar(0, y-0.34, float64(x.N), y+0.34, blue, ink)
			b.say(float64(x.N), y, 5, 0, fmt.Sprintf("%d, together %.0f %%", x.N, 100*x.Cumulative), 9, ink, 0, -0.4)
		}
	}})
	names(p.plot, ids)
	return p
}

func cannot(r *mining.Report) *Picture {
	var list []mining.CheckUse
	for _, x := range r.Checks {
		if x.Cannot.N != nil && *x.Cannot.N > 0 && len(list) < mostBars {
			list = append(list, x)
		}
	}
	if len(list) == 0 {
		return nil
	}
	p := page("cannot", "Checks that people could not do", "share of those asked, %", "", 560, rowsHigh(len(list))+30)
	var ids []string
	most := 0.0
	for _, x := range list {
		ids = append(ids, fmt.Sprintf("%s (%d)", x.Check, *x.Asked))
		most = max(most, 102*x.Cannot.Range.High)
	}
	last := float64(len(list) - 1)
	p.plot.Add(marks{[4]float64{0, most, -0.6, last + 0.6}, func(b brush) {
		for i, x := range list {
			y := last - float64(i)
			b.line(faint, 0.8, nil, [2]float64{0, y}, [2]float64{most, y})
			b.line(blue, 1.8, nil, [2]float64{100 * x.Cannot.Range.Low, y}, [2]float64{100 * x.Cannot.Range.High, y})
			b.glyph(100*(*x.Cannot.Share), y, blue, draw.CircleGlyph{})
			if x.Expected != nil {
				b.glyph(100*(*x.Expected), y, rust, draw.CrossGlyph{})
			}
		}
	}})
	names(p.plot, ids)
	below(p.plot)
	p.plot.Legend.Add("could not, 95 % interval", key{blue, nil, draw.CircleGlyph{}})
	p.plot.Legend.Add("the rules expect", key{rust, nil, draw.CrossGlyph{}})
	return p
}

func priors(kit string, shifts []mining.Shift) *Picture {
	if len(shifts) == 0 {
		return nil
	}
	p := page("priors-"+kit, "Priors before and after learning: "+kit, "share of single causes, %", "", 560, rowsHigh(len(shifts))+30)
	var ids []string
	most := 0.0
	for _, s := range shifts {
		ids = append(ids, s.Cause)
		most = max(most, 100*s.Before, 100*s.After)
	}
	last := float64(len(shifts) - 1)
	p.plot.Add(marks{[4]float64{0, most * 1.05, -0.6, last + 0.6}, func(b brush) {
		for i, s := range shifts {
			y := last - float64(i)
			b.line(faint, 0.8, nil, [2]float64{0, y}, [2]float64{most * 1.05, y})
			b.line(soft, 1.4, nil, [2]float64{100 * s.Before, y}, [2]float64{100 * s.After, y})
			b.glyph(100*s.Before, y, soft, draw.RingGlyph{})
			b.glyph(100*s.After, y, rust, draw.PyramidGlyph{})
		}
	}})
	names(p.plot, ids)
	below(p.plot)
	p.plot.Legend.Add("before", key{soft, nil, draw.RingGlyph{}})
	p.plot.Legend.Add("after", key{rust, nil, draw.PyramidGlyph{}})
	return p
}
