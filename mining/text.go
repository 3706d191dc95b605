package mining

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
)

// shownRows is how many rows of a long table the text shows; the rest is in
// the CSV.
const shownRows = 15

// WriteText writes the report as tables for a terminal.
func (r *Report) WriteText(w io.Writer) error {
	var b strings.Builder
	t := tabwriter.NewWriter(&b, 0, 4, 2, ' ', 0)
	row := func(cells ...any) {
		for i, c := range cells {
			if i > 0 {
				fmt.Fprint(t, "\t")
			}
			fmt.Fprint(t, c)
		}
		fmt.Fprintln(t)
	}
	section := func(title string, heads ...any) {
		t.Flush()
		fmt.Fprintf(&b, "\n%s\n", title)
		row(heads...)
	}
	if r.Demo {
		b.WriteString("DEMO: these cases are invented.\n")
	}
	fmt.Fprintf(&b, "%d closed cases, %s to %s. Groups of fewer than %d are not shown (-); intervals are %g %%.\n", r.Cases, r.From, r.To, r.Least, 100*r.Level)
	section("Talks", "kit", "solved without a person", "questions mean/median/p90", "minutes mean/median/p90")
	for _, x := range r.Talks {
		row(x.Kit, x.Solved, x.Questions, x.Minutes)
	}
	for _, kind := range kinds[1:] {
		section("Most frequent: "+string(kind), "id", "cases", "share", "together")
		n := 0
		for _, x := range r.Pareto {
			if x.Kind == kind {
				if n++; n <= shownRows {
					row(x.ID, x.N, percent(x.Share), percent(x.Cumulative))
				}
			}
		}
	}
	r.risingText(section, row)
	section("Life of parts", "part", "kit", "unit", "failed/running", "shape", "scale", "one in ten by")
	lives := slices.Clone(r.Lives)
	slices.SortStableFunc(lives, func(x, y PartLife) int { return cmp.Compare(y.Failures, x.Failures) })
	for _, x := range lives[:min(shownRows, len(lives))] {
		row(x.Part, x.Kit, x.Unit, fmt.Sprintf("%d/%d", x.Failures, x.Running), fmt.Sprintf("%.2f (%.2f to %.2f)", x.Shape, x.ShapeRange.Low, x.ShapeRange.High),
			fmt.Sprintf("%.0f (%.0f to %.0f)", x.Scale, x.ScaleRange.Low, x.ScaleRange.High), fmt.Sprintf("%.0f", x.Tenth))
	}
	section("Checks people cannot do", "check", "asked", "could not", "the rules expect", "too close to call", "odd")
	for i, x := range r.Checks {
		if i < shownRows && x.Cannot.N != nil && *x.Cannot.N > 0 {
			row(x.Check, *x.Asked, x.Cannot, shareOrDash(x.Expected), x.Close, x.Odd)
		}
	}
	section("Rules that misled", "named", "wrong", "of which twins")
	for i, x := range r.Misled {
		if i < shownRows && *x.Wrong.N > 0 {
			row(x.Named, x.Wrong, x.Twins)
		}
	}
	section("Rules never used", "kind", "count", "ids")
	for _, u := range []struct {
		kind string
		ids  []string
	}{{"symptoms", r.Unused.Symptoms}, {"checks", r.Unused.Checks}, {"causes", r.Unused.Causes}, {"remedies", r.Unused.Remedies}} {
		ids := u.ids
		if len(ids) > 6 {
			ids = append(ids[:6:6], "...")
		}
		row(u.kind, len(u.ids), strings.Join(ids, " "))
	}
	section("Wording that matched nothing", "cases", "wording", "most of them meant")
	for i, x := range r.Wording.Groups {
		if i < shownRows {
			row(x.N, x.Text, x.Symptom)
		}
	}
	t.Flush()
	_, err := io.WriteString(w, b.String())
	return err
}

func (r *Report) risingText(section func(string, ...any), row func(...any)) {
	x := r.Rising
	per := "cases a week"
	if x.PerCase {
		per = "shares of cases"
	}
	section(fmt.Sprintf("Rising: %d weeks from %s against the %d before, %s, %d series, one-sided, false alarms at most %s",
		x.Weeks, x.Recent, x.Base, per, x.Tested, percent(x.False)), "what", "kit", "recent", "before", "ratio", "p adjusted", "chart signals")
	if x.TooShort {
		row("(too few weeks before to compare with)")
	}
	for _, f := range x.Found {
		before, ratio, signal := "-", "-", "-"
		if f.Before != nil {
			before = fmt.Sprint(*f.Before)
		}
		if f.Ratio != nil {
			ratio = fmt.Sprintf("%.1f (%.1f to %.1f)", *f.Ratio, *f.Low, *f.High)
		}
		if f.Signal != nil {
			signal = "week of " + f.Signal.String()
		}
		row(string(f.Kind)+" "+f.ID, f.Kit, f.Recent, before, ratio, fmt.Sprintf("%.2g", f.Q), signal)
	}
	section(fmt.Sprintf("Batches: bikes by month of building, %d groups, false alarms at most %s", r.Batches.Tested, percent(r.Batches.False)),
		"part", "kit", "built", "cases", "expected", "p adjusted")
	for _, f := range r.Batches.Found {
		row(f.Part, f.Kit, f.Built, f.Cases, f.Expected, fmt.Sprintf("%.2g", f.Q))
	}
}

func percent(v float64) string { return fmt.Sprintf("%.1f %%", 100*v) }

func shareOrDash(v *float64) string {
	if v == nil {
		return "-"
	}
	return percent(*v)
}

// String is "12 of 40, 30.0 % (18.1 to 45.4)", or "-" where it is hidden.
func (s Share) String() string {
	if s.N == nil {
		return "-"
	}
	return fmt.Sprintf("%d of %d, %s (%.1f to %.1f)", *s.N, *s.Of, percent(*s.Share), 100*s.Range.Low, 100*s.Range.High)
}

// String is "7.1 / 6 / 12", or "-" where it is hidden.
func (m Middle) String() string {
	if m.Mean == nil {
		return "-"
	}
	return fmt.Sprintf("%.1f / %g / %g", *m.Mean, *m.Median, *m.P90)
}
