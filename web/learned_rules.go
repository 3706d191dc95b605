package web

import (
	"fmt"
	"math"
	"net/http"
	"slices"
	"strconv"

	"triagebot/mining"
	"triagebot/mining/feed"
)

// livesView is how long parts last.
type livesView struct {
	downloads
	Lives []lifeView
	More  int
}

type lifeView struct {
	Part, Kit, Unit                string
	Failures, Running              int
	Fleet                          bool
	Tenth, Half, Shape, Kind, Note string
	Curve                          *curve
}

const mostLives = 16

func (s *Server) learnedLives(_ *asking, x *feed.Snapshot) (any, error) {
	list := slices.Clone(x.Report.Lives)
	slices.SortStableFunc(list, func(a, b mining.PartLife) int { return b.Failures - a.Failures })
	v := livesView{More: max(0, len(list)-mostLives)}
	v.list = filesOf(x, []string{"lives"}, "life-")
	for _, l := range list[:min(len(list), mostLives)] {
		one := lifeView{
			Part: capital(l.Part), Kit: s.kitName(l.Kit), Unit: l.Unit, Failures: l.Failures, Running: l.Running, Fleet: l.Fleet,
			Tenth: thousands(l.Tenth) + " " + l.Unit, Shape: fmt.Sprintf("%.2f (%.2f to %.2f)", l.Shape, l.ShapeRange.Low, l.ShapeRange.High),
			Half: fmt.Sprintf("%s %s (%s to %s)", thousands(l.Scale), l.Unit, thousands(l.ScaleRange.Low), thousands(l.ScaleRange.High)),
		}
		switch {
		case l.ShapeRange.High < 1:
			one.Kind = "early failures: the longer it has held, the better"
		case l.ShapeRange.Low > 1:
			one.Kind = "wear: the older, the worse"
		default:
			one.Kind = "chance, as far as can be told"
		}
		if len(l.Curve) > 1 {
			c := curveOf(l)
			one.Curve = &c
		}
		v.Lives = append(v.Lives, one)
	}
	return v, nil
}

// thousands writes three digits of a distance or an age, in groups of three.
func thousands(x float64) string {
	p := 1.0
	for ; x/p >= 1000; p *= 10 {
	}
	digits := strconv.FormatFloat(math.Round(x/p)*p, 'f', 0, 64)
	for i := len(digits) - 3; i > 0; i -= 3 {
		digits = digits[:i] + "\u00a0" + digits[i:]
	}
	return digits
}

// checksView is what owners could not do.
type checksView struct {
	downloads
	Cannot   []span
	Readings []readingsEntry
}

type readingsEntry struct {
	Path, Name string
	N          int
	Kits       []string
}

func (s *Server) learnedChecks(_ *asking, x *feed.Snapshot) (any, error) {
	r := x.Report
	v := checksView{}
	v.list = filesOf(x, []string{"checks", "windows", "quantiles"}, "cannot")
	for _, c := range r.Checks {
		if c.Cannot.N == nil {
			continue
		}
		b := spanOf(s.checkName(c.Check), c.Cannot, 1)
		if c.Expected != nil {
			b.Mark = part(*c.Expected, 1)
			b.Note += "; the rules expect " + figure(round(100**c.Expected)) + " %"
		}
		v.Cannot = append(v.Cannot, b)
	}
	at := map[string]int{}
	for _, m := range r.Readings {
		i, ok := at[m.Check]
		if !ok {
			i = len(v.Readings)
			at[m.Check] = i
			v.Readings = append(v.Readings, readingsEntry{Path: "/learned/checks/" + m.Check, Name: s.checkName(m.Check)})
		}
		v.Readings[i].N += m.N
		v.Readings[i].Kits = append(v.Readings[i].Kits, s.kitName(m.Kit))
	}
	slices.SortStableFunc(v.Readings, func(a, b readingsEntry) int { return b.N - a.N })
	return v, nil
}

// readingsView is the readings at one check, kit by kit.
type readingsView struct {
	downloads
	Name   string
	Asks   string
	Scales []readScale
}

type readScale struct {
	scale
	Middle string // the spread in words
}

func (s *Server) learnedReadings(a *asking, x *feed.Snapshot) (any, error) {
	c := s.c.KB.Check(a.PathValue("id"))
	if c == nil {
		return nil, refuse(http.StatusNotFound, "There is no such check", "It may have been renamed or taken out since the page was loaded.")
	}
	v := readingsView{Name: capital(c.Name), Asks: c.Asks}
	v.list, v.named = filesOf(x, []string{"windows", "quantiles"}, "readings-"+c.ID+"-"), capital(c.Name)
	for i := range x.Report.Readings {
		m := &x.Report.Readings[i]
		kit := s.c.KB.Kit(m.Kit)
		if m.Kit == mining.Unknown {
			kit = s.c.KB.Kit(s.c.KB.About.Generic)
		}
		if m.Check != c.ID || kit == nil {
			continue
		}
		one := readScale{scale: s.scale(c, kit, m)}
		one.Kits = []string{s.kitName(m.Kit)}
		if q := m.Quantiles; len(q) == 5 {
			one.Middle = fmt.Sprintf("Half of them lie between %s and %s %s, nine in ten between %s and %s; the middle is %s.",
				figure(q[1].Value), figure(q[3].Value), m.Unit, figure(q[0].Value), figure(q[4].Value), figure(q[2].Value))
		}
		v.Scales = append(v.Scales, one)
	}
	return v, nil
}

// misledView is where the rules named something else than was confirmed.
type misledView struct {
	downloads
	Misled []span
	Cols   []string
	Rows   []confusionRow
	Unused []unusedView
}

type confusionRow struct {
	Name  string
	Cells []confusionCell
}

// confusionCell is empty where there were none, or too few to show.
type confusionCell struct {
	N           int
	Right, Same bool
}

type unusedView struct {
	What  string
	Names []string
}

const mostConfused = 14

func (s *Server) learnedRules(_ *asking, x *feed.Snapshot) (any, error) {
	r := x.Report
	v := misledView{}
	v.list = filesOf(x, []string{"misled", "confusion"}, "confusion")
	var shares []mining.Share
	for _, m := range r.Misled {
		if *m.Wrong.N > 0 {
			shares = append(shares, m.Wrong)
		}
	}
	most := highest(shares)
	var rows []string
	for _, m := range r.Misled {
		if *m.Wrong.N == 0 {
			continue
		}
		b := spanOf(s.nameOf(mining.Causes, m.Named), m.Wrong, most)
		if m.Twins > 0 {
			b.Note += fmt.Sprintf("; %d of what it was are twins by the rules", m.Twins)
		}
		v.Misled = append(v.Misled, b)
		if len(rows) < mostConfused {
			rows = append(rows, m.Named)
		}
	}
	s.confusion(&v, r, rows)
	for _, u := range []struct {
		what string
		kind mining.Kind
		ids  []string
	}{{"Symptoms that nobody told of", mining.Symptoms, r.Unused.Symptoms}, {"Causes that were never a suspect", mining.Causes, r.Unused.Causes}, {"Remedies that mended nothing", mining.Remedies, r.Unused.Remedies}} {
		one := unusedView{What: u.what}
		for _, id := range u.ids {
			one.Names = append(one.Names, s.nameOf(u.kind, id))
		}
		v.Unused = append(v.Unused, one)
	}
	one := unusedView{What: "Checks that were never asked"}
	for _, id := range r.Unused.Checks {
		one.Names = append(one.Names, s.checkName(id))
	}
	v.Unused = slices.Insert(v.Unused, 1, one)
	return v, nil
}

func (s *Server) confusion(v *misledView, r *mining.Report, rows []string) {
	var cols []string
	for _, c := range r.Confusion {
		if slices.Contains(rows, c.Named) && !slices.Contains(cols, c.Confirmed) {
			cols = append(cols, c.Confirmed)
		}
	}
	slices.Sort(cols)
	for _, c := range cols {
		v.Cols = append(v.Cols, s.nameOf(mining.Causes, c))
	}
	for _, named := range rows {
		row := confusionRow{Name: s.nameOf(mining.Causes, named), Cells: make([]confusionCell, len(cols))}
		for _, c := range r.Confusion {
			if c.Named == named {
				row.Cells[slices.Index(cols, c.Confirmed)] = confusionCell{c.N, c.Named == c.Confirmed, c.SameMend}
			}
		}
		v.Rows = append(v.Rows, row)
	}
}

// wordingView is what people said that no rule knows.
type wordingView struct {
	downloads
	Groups []wordsView
	Patch  string
}

type wordsView struct {
	mining.Words
	Meaning string
}

func (s *Server) learnedWording(_ *asking, x *feed.Snapshot) (any, error) {
	v := wordingView{Patch: string(x.Patch)}
	v.list = append(filesOf(x, []string{"wording"}), offered{demoName(x.Report, "words.yaml"), "the phrases to add, as YAML"})
	for _, g := range x.Report.Wording.Groups {
		w := wordsView{Words: g}
		if g.Symptom != "" {
			least := ""
			if g.AtLeast {
				least = "at least "
			}
			w.Meaning = fmt.Sprintf("%s, %s%.0f %% of them", s.nameOf(mining.Symptoms, g.Symptom), least, 100*g.Meant)
		}
		v.Groups = append(v.Groups, w)
	}
	return v, nil
}
