package web

import (
	"net/http"
	"slices"
	"strings"

	"triagebot/desk"
	"triagebot/kb"
	"triagebot/mining"
)

func (s *Server) keeperPages() {
	s.page("GET /rules", desk.Keeper, s.rules)
	s.page("GET /rules/checks/{id}", desk.Keeper, s.checkRule)
	s.page("GET /rules/symptoms/{id}", desk.Keeper, s.symptomRule)
	s.page("GET /rules/causes/{id}", desk.Keeper, s.causeRule)
}

var noRule = refuse(http.StatusNotFound, "There is no such rule", "It may have been renamed or taken out since the page was loaded.")

// ruleEntry is a rule in the list of all, with how often it was used.
type ruleEntry struct {
	Path, Name, Used string
}

type rulesView struct {
	Checks, Symptoms, Causes []ruleEntry
	Counted                  int
	Version                  string
}

func (s *Server) rules(*asking) (view, error) {
	r := s.c.Report()
	v := rulesView{Version: s.c.KB.Version}
	if r != nil {
		v.Counted = r.Cases
	}
	for _, c := range s.c.KB.Checks {
		v.Checks = append(v.Checks, ruleEntry{"/rules/checks/" + c.ID, capital(c.Name), asked(r, c.ID)})
	}
	for _, x := range s.c.KB.Symptoms {
		v.Symptoms = append(v.Symptoms, ruleEntry{"/rules/symptoms/" + x.ID, capital(x.Name), counted(r, mining.Symptoms, x.ID)})
	}
	for _, c := range s.c.KB.Causes {
		v.Causes = append(v.Causes, ruleEntry{"/rules/causes/" + c.ID, capital(c.Name), counted(r, mining.Causes, c.ID)})
	}
	for _, list := range [][]ruleEntry{v.Checks, v.Symptoms, v.Causes} {
		slices.SortStableFunc(list, func(x, y ruleEntry) int { return strings.Compare(x.Name, y.Name) })
	}
	return view{Page: "rules", Title: "Rules", Data: v}, nil
}

func asked(r *mining.Report, check string) string {
	if u := useOf(r, check); u != nil && u.Asked != nil {
		return "asked " + times(*u.Asked)
	}
	return ""
}

func useOf(r *mining.Report, check string) *mining.CheckUse {
	if r == nil {
		return nil
	}
	for i := range r.Checks {
		if r.Checks[i].Check == check {
			return &r.Checks[i]
		}
	}
	return nil
}

// countOf finds how many of all cases were about one thing.
func countOf(r *mining.Report, kind mining.Kind, id string) *mining.Share {
	if r == nil {
		return nil
	}
	for i := range r.Counts {
		c := &r.Counts[i]
		if c.Kind == kind && c.ID == id && c.Kit == mining.All && c.By == "kit" && c.N != nil {
			return &c.Share
		}
	}
	return nil
}

func counted(r *mining.Report, kind mining.Kind, id string) string {
	if c := countOf(r, kind, id); c != nil {
		return times(*c.N)
	}
	return ""
}

// checkView is a check's page.
type checkView struct {
	*kb.Check
	Use      *mining.CheckUse
	Scales   []scale
	Options  []optionUse
	Access   []string
	Speaks   []named // causes whose rules speak of it
	Counted  int
	Expected string
}

type optionUse struct {
	kb.Option
	Used string
}

func (s *Server) checkRule(a *asking) (view, error) {
	c := s.c.KB.Check(a.PathValue("id"))
	if c == nil {
		return view{}, noRule
	}
	r := s.c.Report()
	v := checkView{Check: c, Use: useOf(r, c.ID), Speaks: s.speaking(c.ID), Expected: percent(c.Cannot)}
	if r != nil {
		v.Counted = r.Cases
	}
	for _, id := range c.Access {
		if o := s.c.KB.Opening(id); o != nil {
			v.Access = append(v.Access, o.Name)
		}
	}
	for _, o := range c.Options {
		v.Options = append(v.Options, optionUse{Option: o})
	}
	for _, kit := range s.c.KB.Kits {
		if len(c.Windows) > 0 && kit.Has(c.Parts) {
			v.Scales = append(v.Scales, s.scale(c, kit, readingsOf(r, c.ID, kit.ID)))
		}
	}
	v.Scales = joined(v.Scales)
	return view{Page: "rule-check", Title: capital(c.Name), Data: v}, nil
}

func readingsOf(r *mining.Report, check, kit string) *mining.Readings {
	if r == nil {
		return nil
	}
	for i := range r.Readings {
		if x := &r.Readings[i]; x.Check == check && x.Kit == kit {
			return x
		}
	}
	return nil
}

// speaking lists the causes that make a symptom or a check show something.
func (s *Server) speaking(id string) []named {
	var list []named
	for _, c := range s.c.KB.Causes {
		of := func(x kb.Show) bool { return x.Of == id }
		if slices.ContainsFunc(c.Shows, of) || slices.ContainsFunc(c.Forms, func(f kb.Form) bool { return slices.ContainsFunc(f.Shows, of) }) {
			list = append(list, named{c.ID, capital(c.Name)})
		}
	}
	return list
}

type symptomView struct {
	*kb.Symptom
	Used    *mining.Share
	Told    []string // patterns
	Speaks  []named
	Counted int
}

func (s *Server) symptomRule(a *asking) (view, error) {
	x := s.c.KB.Symptom(a.PathValue("id"))
	if x == nil {
		return view{}, noRule
	}
	r := s.c.Report()
	v := symptomView{Symptom: x, Used: countOf(r, mining.Symptoms, x.ID), Told: s.c.KB.Words.Told[x.ID], Speaks: s.speaking(x.ID)}
	if r != nil {
		v.Counted = r.Cases
	}
	return view{Page: "rule-symptom", Title: capital(x.Name), Data: v}, nil
}

type causeView struct {
	*kb.Cause
	Remedies  string
	Confirmed *mining.Share
	Misled    *mining.Misled
	Instead   []confused // what it was when this was named
	Named     []confused // what was named when it was this
	Shows     []effect
	Counted   int
}

type confused struct {
	ID, Name string
	N        int
	SameMend bool
}

type effect struct {
	Path, Name, Says string
}

func (s *Server) causeRule(a *asking) (view, error) {
	c := s.c.KB.Cause(a.PathValue("id"))
	if c == nil {
		return view{}, noRule
	}
	r := s.c.Report()
	v := causeView{Cause: c, Remedies: s.remedyName(c.Remedy), Confirmed: countOf(r, mining.Causes, c.ID)}
	for _, x := range c.Shows {
		v.Shows = append(v.Shows, s.showWords(x))
	}
	if r != nil {
		v.Counted = r.Cases
		for i := range r.Misled {
			if r.Misled[i].Named == c.ID && r.Misled[i].Wrong.N != nil {
				v.Misled = &r.Misled[i]
			}
		}
		for _, x := range r.Confusion {
			switch {
			case x.Named == x.Confirmed:
			case x.Named == c.ID:
				v.Instead = append(v.Instead, confused{x.Confirmed, s.causeName(x.Confirmed), x.N, x.SameMend})
			case x.Confirmed == c.ID:
				v.Named = append(v.Named, confused{x.Named, s.causeName(x.Named), x.N, x.SameMend})
			}
		}
	}
	return view{Page: "rule-cause", Title: capital(c.Name), Data: v}, nil
}

// showWords says what a cause makes a symptom or a check show.
func (s *Server) showWords(x kb.Show) effect {
	if y := s.c.KB.Symptom(x.Of); y != nil {
		return effect{"/rules/symptoms/" + y.ID, capital(y.Name), percent(x.Present)}
	}
	c := s.c.KB.Check(x.Of)
	if c == nil {
		return effect{Name: x.Of}
	}
	var says []string
	for _, id := range c.Outcomes() {
		if p, ok := x.Outcomes[id]; ok {
			name := id
			if w := c.Window(id); w != nil {
				name = w.Name
			} else if o := c.Option(id); o != nil {
				name = o.Label
			}
			says = append(says, name+" "+percent(p))
		}
	}
	return effect{"/rules/checks/" + c.ID, capital(c.Name), strings.Join(says, ", ")}
}
