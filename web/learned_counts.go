package web

import (
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"triagebot/mining"
	"triagebot/mining/feed"
)

// glance is the page that one opens first.
type glance struct {
	downloads
	Solved   []span
	Effort   []effort
	Rises    []riseView
	TooShort bool
	Batches  []batchView
	Parts    []span
	Cases    columns
}

// effort is mean, median and 90th percentile of questions and of minutes.
type effort struct {
	Kit                string
	Questions, Minutes [3]string
}

func (s *Server) learnedGlance(_ *asking, x *feed.Snapshot) (any, error) {
	r := x.Report
	g := glance{TooShort: r.Rising.TooShort}
	g.list = append(g.list, offered{demoName(r, "report.json"), "everything as JSON"})
	for _, t := range x.Names {
		g.list = append(g.list, offered{t + ".csv", strings.TrimPrefix(t, "demo-") + " as CSV"})
	}
	for _, t := range r.Talks {
		g.Solved = append(g.Solved, spanOf(s.kitName(t.Kit), t.Solved, 1))
		if t.Questions.Mean != nil {
			g.Effort = append(g.Effort, effort{s.kitName(t.Kit), middle(t.Questions), middle(t.Minutes)})
		}
	}
	g.Rises = s.rises(x, r.Rising.Found)
	for i := range g.Rises { // told in full on their own page
		g.Rises[i].Columns, g.Rises[i].Sure = nil, ""
	}
	g.Batches = s.batches(r)
	g.Parts = s.ranks(r, mining.Parts, 6)
	months, more := total(x)
	g.Cases = columnsOf("Talks that ended", months, 0, nil)
	g.Cases.heap(more)
	return g, nil
}

func demoName(r *mining.Report, name string) string {
	if r.Demo {
		return "demo-" + name
	}
	return name
}

func middle(m mining.Middle) [3]string {
	return [3]string{strconv.FormatFloat(*m.Mean, 'f', 1, 64), figure(*m.Median), figure(*m.P90)}
}

// total adds up what is shown of the months of all kits, and says in which of
// them there were more.
func total(x *feed.Snapshot) (list []mining.Month, more []bool) {
	n, hidden := map[string]int{}, map[string]bool{}
	for _, t := range x.Report.Talks {
		for month, shown := range x.Months(mining.Cases, "", t.Kit) {
			if shown == nil {
				hidden[month] = true
			} else {
				n[month] += *shown
			}
		}
	}
	list = months(x.Report, func(m string) *int {
		v := n[m]
		return &v
	})
	for _, m := range list {
		more = append(more, hidden[m.Month])
	}
	return list, more
}

// months are all those that the report spans.
func months(r *mining.Report, of func(string) *int) []mining.Month {
	list := []mining.Month{}
	for d := r.From; ; {
		m := d.Month()
		list = append(list, mining.Month{Month: m, N: of(m)})
		for d.Month() == m {
			if d++; d > r.To && d.Month() != m {
				return list
			}
		}
	}
}

// history is one series by month.
func history(x *feed.Snapshot, kind mining.Kind, id, kit string) []mining.Month {
	n, zero := x.Months(kind, id, kit), 0
	return months(x.Report, func(m string) *int {
		if v, ok := n[m]; ok {
			return v
		}
		return &zero
	})
}

// ranks are the most frequent of one kind, over all kits.
func (s *Server) ranks(r *mining.Report, kind mining.Kind, most int) []span {
	var list []span
	top := 0.0
	for _, x := range r.Pareto {
		if x.Kind != kind || len(list) == most {
			continue
		}
		top = max(top, x.Share)
		list = append(list, span{
			Name: s.nameOf(kind, x.ID), Value: fmt.Sprint(x.N), Note: fmt.Sprintf("%s %% of cases; with those above %s %% of all counted", tenth(x.Share), tenth(x.Cumulative)),
			W: part(x.Share, top), Mark: -1,
		})
	}
	return list
}

// countsView is the counts of one kind, cut as it is asked for.
type countsView struct {
	downloads
	Kinds, Kits, Cuts []choice
	Kind              string
	Heading           string
	Spans             []span
	More              int // rows left out
	Groups            []cutGroup
	Columns           *columns
	ColumnsOf         string
	Things            []choice // to draw by month
}

// choice is one option of a form.
type choice struct {
	ID, Name string
	On       bool
}

// cutGroup is one month, distance or age with what was most frequent in it.
type cutGroup struct {
	Name  string
	Of    string
	Spans []span
}

var kindNames = []choice{{"part", "Parts", false}, {"cause", "Causes", false}, {"remedy", "Remedies", false}, {"symptom", "Symptoms", false}}

var cutNames = []choice{{"kit", "all together", false}, {"month", "by month", false}, {"distance", "by distance run", false}, {"age", "by age", false}}

const (
	mostSpans      = 40
	mostGroupSpans = 6
)

func chosen(list []choice, id string) ([]choice, string) {
	list = slices.Clone(list)
	at := slices.IndexFunc(list, func(c choice) bool { return c.ID == id })
	if at < 0 {
		at = 0
	}
	list[at].On = true
	return list, list[at].ID
}

func (s *Server) learnedCounts(a *asking, x *feed.Snapshot) (any, error) {
	r, q := x.Report, a.URL.Query()
	v := countsView{}
	v.list = filesOf(x, []string{"counts", "pareto"}, "pareto-")
	var kind, cut, kit string
	v.Kinds, kind = chosen(kindNames, q.Get("of"))
	v.Cuts, cut = chosen(cutNames, q.Get("by"))
	v.Kits, kit = chosen(s.kitsOf(r), q.Get("kit"))
	if kit == mining.All && cut != "kit" {
		kit = s.firstKit(r)
		v.Kits, kit = chosen(s.kitsOf(r), kit)
	}
	v.Kind = strings.ToLower(kindNames[slices.IndexFunc(kindNames, func(c choice) bool { return c.ID == kind })].Name)
	v.Heading = capital(v.Kind) + ", " + s.kitName(kit)
	if cut == "kit" {
		s.countAll(&v, r, mining.Kind(kind), kit)
	} else {
		v.Heading += ", " + cutNames[slices.IndexFunc(cutNames, func(c choice) bool { return c.ID == cut })].Name
		s.countAlong(&v, r, mining.Kind(kind), kit, cut)
	}
	if kit != mining.All {
		s.countMonths(&v, x, mining.Kind(kind), kit, q.Get("one"))
	}
	return v, nil
}

func (s *Server) kitsOf(r *mining.Report) []choice {
	list := []choice{{mining.All, "All kits", false}}
	for _, t := range r.Talks {
		if t.Kit != mining.All {
			list = append(list, choice{t.Kit, s.kitName(t.Kit), false})
		}
	}
	return list
}

// firstKit is a kit to show where all cannot be cut further.
func (s *Server) firstKit(r *mining.Report) string {
	for _, t := range r.Talks {
		if t.Kit != mining.All && t.Kit != mining.Unknown {
			return t.Kit
		}
	}
	return mining.Unknown
}

func (s *Server) countAll(v *countsView, r *mining.Report, kind mining.Kind, kit string) {
	var list []mining.Count
	for _, c := range r.Counts {
		if c.Kind == kind && c.By == "kit" && c.Kit == kit && c.N != nil {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(x, y mining.Count) int { return *y.N - *x.N })
	v.Spans, v.More = s.spans(list, kind, mostSpans)
}

func (s *Server) spans(list []mining.Count, kind mining.Kind, most int) ([]span, int) {
	var shares []mining.Share
	for _, c := range list {
		shares = append(shares, c.Share)
	}
	top := highest(shares)
	var spans []span
	for i, c := range list {
		if i < most {
			spans = append(spans, spanOf(s.nameOf(kind, c.ID), c.Share, top))
		}
	}
	return spans, max(0, len(list)-most)
}

func (s *Server) countAlong(v *countsView, r *mining.Report, kind mining.Kind, kit, cut string) {
	of := map[string]string{}
	var order []string
	for _, c := range r.Counts {
		if c.Kind == mining.Cases && c.Kit == kit && c.By == cut {
			order = append(order, c.Value)
			of[c.Value] = "too few cases to show"
			if c.N != nil {
				of[c.Value] = fmt.Sprintf("%d cases", *c.N)
			}
		}
	}
	in := map[string][]mining.Count{}
	for _, c := range r.Counts {
		if c.Kind == kind && c.Kit == kit && c.By == cut && c.N != nil {
			in[c.Value] = append(in[c.Value], c)
		}
	}
	for _, value := range order {
		list := in[value]
		slices.SortStableFunc(list, func(x, y mining.Count) int { return *y.N - *x.N })
		g := cutGroup{Name: value, Of: of[value]}
		if cut == "month" {
			g.Name = monthWords(value)
		}
		g.Spans, _ = s.spans(list, kind, mostGroupSpans)
		v.Groups = append(v.Groups, g)
	}
}

// countMonths draws one thing by month: the one asked for, or the most frequent.
func (s *Server) countMonths(v *countsView, x *feed.Snapshot, kind mining.Kind, kit, one string) {
	var list []mining.Count
	for _, c := range x.Report.Counts {
		if c.Kind == kind && c.By == "kit" && c.Kit == kit && c.N != nil {
			list = append(list, c)
		}
	}
	slices.SortStableFunc(list, func(x, y mining.Count) int { return *y.N - *x.N })
	var things []choice
	for _, c := range list {
		things = append(things, choice{c.ID, s.nameOf(kind, c.ID), false})
	}
	if len(things) == 0 {
		return
	}
	v.Things, one = chosen(things, one)
	v.ColumnsOf = s.nameOf(kind, one)
	c := columnsOf(v.ColumnsOf, history(x, kind, one, kit), 0, nil)
	v.Columns = &c
}

// riseView is one thing that has become more frequent.
type riseView struct {
	Kind, Name, Kit string
	Says            string
	Sure            string
	Signal          string
	Href            string
	Columns         *columns
}

type batchView struct{ Part, Kit, Built, Says, Sure string }

type risingView struct {
	downloads
	Found, Closest []riseView
	Batches        []batchView
	Per            string
}

func (s *Server) learnedRising(_ *asking, x *feed.Snapshot) (any, error) {
	r := x.Report
	v := risingView{Found: s.rises(x, r.Rising.Found), Closest: s.rises(x, r.Rising.Closest), Batches: s.batches(r), Per: "cases a week"}
	if r.Rising.PerCase {
		v.Per = "shares of all cases"
	}
	v.list = filesOf(x, []string{"rising", "batches"}, "rising-")
	return v, nil
}

// mostDrawn is how many rises get a picture.
const mostDrawn = 12

func (s *Server) rises(shot *feed.Snapshot, list []mining.Rise) []riseView {
	var out []riseView
	r := shot.Report
	for i, x := range list {
		v := riseView{Kind: string(x.Kind), Name: s.nameOf(x.Kind, x.ID), Kit: s.kitName(x.Kit), Sure: chance(x.Q)}
		switch {
		case x.Ratio != nil:
			v.Says = fmt.Sprintf("%d in %d weeks, after %d in the %d before: %.1f times as often (%.1f to %.1f)", x.Recent, r.Rising.Weeks, *x.Before, r.Rising.Base, *x.Ratio, *x.Low, *x.High)
		case x.Before != nil:
			v.Says = fmt.Sprintf("%d in %d weeks, after none in the %d before", x.Recent, r.Rising.Weeks, r.Rising.Base)
		default:
			v.Says = fmt.Sprintf("at least %d in %d weeks, after fewer than %d in the %d before", x.Recent, r.Rising.Weeks, r.Least, r.Rising.Base)
		}
		if x.Signal != nil {
			v.Signal = x.Signal.String()
		}
		v.Href = "/learned/counts?" + url.Values{"of": {string(x.Kind)}, "kit": {x.Kit}, "one": {x.ID}}.Encode()
		if i < mostDrawn {
			c := columnsOf(v.Name+" on "+v.Kit, history(shot, x.Kind, x.ID, x.Kit), r.Rising.Recent, x.Signal)
			v.Columns = &c
		}
		out = append(out, v)
	}
	return out
}

func (s *Server) batches(r *mining.Report) []batchView {
	var list []batchView
	for _, b := range r.Batches.Found {
		list = append(list, batchView{
			capital(b.Part), s.kitName(b.Kit), monthWords(b.Built),
			fmt.Sprintf("%d cases, where %s were to be expected from other months' bikes", b.Cases, figure(b.Expected)), chance(b.Q),
		})
	}
	return list
}

// chance writes an adjusted p for people who know what it is.
func chance(q float64) string {
	switch {
	case q < 1e-6:
		return "p below 0.000001"
	case q < 0.001:
		return fmt.Sprintf("p %.6f", q)
	}
	return fmt.Sprintf("p %.3f", q)
}
