package rehearsal

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"
)

//go:embed page.html
var pageFile string

var pageTemplate = template.Must(template.New("page").Funcs(template.FuncMap{
	"percent": func(s Share) string { return fmt.Sprintf("%.0f\u00a0%%", 100*s.Is) },
	"between": func(s Share) string { return fmt.Sprintf("%.0f–%.0f\u00a0%%", 100*s.Low, 100*s.High) },
	"one":     func(x float64) string { return fmt.Sprintf("%.1f", x) },
	"two":     func(x float64) string { return fmt.Sprintf("%.2f", x) },
	"ratio":   func(a, b float64) string { return fmt.Sprintf("%.3f", a/b) },
	"first": func(n int, list []Count) []Count {
		return list[:min(n, len(list))]
	},
	"join": func(list []string) string { return strings.Join(list, "; ") },
}).Parse(pageFile))

// WriteHTML writes a report as one page that needs nothing beside it.
func (r *Report) WriteHTML(w io.Writer) error {
	v := page{Report: r, All: tally("", r.Talks), Heads: slices.Concat([]Tally{r.Total}, r.Kits)}
	v.Heads[0].Name = "all kits"
	for _, t := range r.Sorts {
		if t.Name != string(Single) {
			v.Others = append(v.Others, t)
		}
	}
	v.Curve = r.curve()
	if err := pageTemplate.Execute(w, v); err != nil {
		return fmt.Errorf("writing the page: %w", err)
	}
	return nil
}

type page struct {
	*Report
	All    Tally
	Heads  []Tally
	Others []Tally
	Curve  plot
}

// Segment is a part of a bar, 0 to 100 wide.
type Segment struct {
	Class    string
	At, Wide float64
	Title    string
}

// Bar is a tally's ends as parts of a bar.
func (t Tally) Bar() []Segment {
	var out []Segment
	at := 0.0
	for _, x := range []struct {
		class string
		s     Share
		name  string
	}{{"right", t.Right, "right"}, {"both", t.Both, "both named and handed over"}, {"handed", t.Handed, "handed over"}, {"wrong", t.Wrong, "wrong"}} {
		if x.s.N == 0 {
			continue
		}
		wide := 100 * x.s.Is
		out = append(out, Segment{x.class, at, wide, fmt.Sprintf("%s: %d of %d", x.name, x.s.N, x.s.Of)})
		at += wide
	}
	return out
}

// plot is the share of talks that have reached their remedy, over questions.
type plot struct {
	Path   string
	Ticks  []tick
	Shares []tick
	Most   int
}

type tick struct {
	At   float64
	Text string
}

// The plot's frame, in units of its view box.
const (
	plotLeft, plotTop     = 44.0, 12.0
	plotWide, plotHigh    = 540.0, 200.0
	plotStep, plotAtLeast = 5, 10
)

func (r *Report) curve() plot {
	var asked []int
	judged := 0
	for _, t := range r.Talks {
		if t.Sort != Single || t.Apart || t.Outcome == Unnoticed || t.Outcome == Stopped {
			continue
		}
		judged++
		if t.Outcome == Right {
			asked = append(asked, t.Questions)
		}
	}
	slices.Sort(asked)
	p := plot{Most: plotAtLeast}
	if len(asked) > 0 {
		p.Most = max(p.Most, int(math.Ceil(float64(asked[len(asked)-1])/plotStep))*plotStep)
	}
	x := func(q int) float64 { return plotLeft + plotWide*float64(q)/float64(p.Most) }
	y := func(share float64) float64 { return plotTop + plotHigh*(1-share) }
	var b strings.Builder
	fmt.Fprintf(&b, "M%.1f %.1f", x(0), y(0))
	done := 0
	for q := 0; q <= p.Most && judged > 0; q++ {
		for done < len(asked) && asked[done] <= q {
			done++
		}
		fmt.Fprintf(&b, "H%.1fV%.1f", x(q), y(float64(done)/float64(judged)))
	}
	p.Path = b.String()
	for q := 0; q <= p.Most; q += plotStep {
		p.Ticks = append(p.Ticks, tick{x(q), fmt.Sprint(q)})
	}
	for s := 0; s <= 100; s += 25 {
		p.Shares = append(p.Shares, tick{y(float64(s) / 100), fmt.Sprintf("%d %%", s)})
	}
	return p
}
