package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/desk"
)

// onePage is how many cases a list shows at once.
const onePage = 30

func (s *Server) volunteerPages() {
	s.page("GET /cases", desk.Volunteer, s.cases)
	s.page("GET /cases/closed", desk.Volunteer, s.closed)
	s.page("GET /cases/{id}", desk.Volunteer, s.caseOne)
	s.file("GET /cases/{id}/line", desk.Volunteer, s.caseLine)
	s.file("GET /cases/news", desk.Volunteer, func(a *asking, w http.ResponseWriter) error {
		return s.news(a, w, func(c desk.Change) bool { return c.Case != 0 }, s.signedIn(a))
	})
	s.file("GET /cases/{id}/news", desk.Volunteer, func(a *asking, w http.ResponseWriter) error {
		id, err := caseID(a)
		if err != nil {
			return err
		}
		return s.news(a, w, func(c desk.Change) bool { return c.Case == id }, s.signedIn(a))
	})
	s.actPages()
}

// caseEntry is a case in a list.
type caseEntry struct {
	store.Case
	Fault   string // what is wrong, in a few words
	KitName string
	Why     string // why it was handed over
	Danger  bool
	Lead    string // the leading suspect
	Chance  float64
	Held    string // who has it
	Closed  string // what it was, once it is closed
}

// brief is what a list says of a case's document; the rest of it is not decoded.
type brief struct {
	Complaint []string                               `json:"complaint"`
	Ended     struct{ Why string }                   `json:"ended"`
	Dangers   []struct{}                             `json:"dangers"`
	Symptoms  []struct{ State, Family, Says string } `json:"symptoms"`
	Suspects  []struct {
		Causes      []casefile.Cause
		Probability float64
	} `json:"suspects"`
}

func (s *Server) entry(c store.Case, document []byte) (caseEntry, error) {
	e := caseEntry{Case: c, Held: s.called(c.Taker), KitName: "Kit not known", Fault: "The owner's words could not be read"}
	if k := s.c.KB.Kit(c.Kit); k != nil {
		e.KitName = capital(k.Name)
	}
	switch {
	case c.State != store.Closed:
	case c.NotFound:
		e.Closed = "not found"
	default:
		e.Closed = s.causeName(c.Cause) + "; " + s.remedyName(c.Remedy)
	}
	var doc *brief
	if err := json.Unmarshal(document, &doc); err != nil {
		return e, fmt.Errorf("reading the document of case %d: %w", c.ID, err)
	}
	if doc == nil {
		return e, nil
	}
	e.Fault, e.Why, e.Danger = doc.fault(), doc.Ended.Why, len(doc.Dangers) > 0
	if len(doc.Suspects) > 0 {
		e.Lead, e.Chance = names(doc.Suspects[0].Causes), doc.Suspects[0].Probability
	}
	return e, nil
}

// fault says what is wrong in a few words: what is there, or the owner's own
// words.
func (d *brief) fault() string {
	var says []string
	for _, x := range d.Symptoms {
		if x.State == "present" && x.Family != "history" {
			says = append(says, x.Says)
		}
	}
	switch {
	case len(says) > 2:
		says = says[:2]
	case len(says) == 0 && len(d.Complaint) > 0:
		return plain(d.Complaint[0], 80)
	case len(says) == 0:
		return "No fault described yet"
	}
	return capital(strings.Join(says, "; "))
}

func names(causes []casefile.Cause) string {
	var list []string
	for _, c := range causes {
		list = append(list, c.Name)
	}
	return strings.Join(list, " and ")
}

func (s *Server) entries(list []store.Case) ([]caseEntry, error) {
	all := make([]caseEntry, 0, len(list))
	for _, c := range list {
		c, document, err := s.c.Store.Case(c.ID)
		if errors.Is(err, store.ErrNoCase) { // erased since the list was read
			continue
		}
		if err != nil {
			return nil, err
		}
		e, err := s.entry(c, document)
		if err != nil {
			return nil, err
		}
		all = append(all, e)
	}
	return all, nil
}

type casesView struct {
	Mine, Waiting []caseEntry
	Next          uint64 // after which the list of those waiting goes on; 0: it does not
	First         bool
}

func (s *Server) cases(a *asking) (view, error) {
	after, _ := strconv.ParseUint(a.FormValue("after"), 10, 64) // what is no number begins at the beginning
	v := casesView{First: after == 0}
	mine, err := s.c.Desk.Mine(a.Person.Acts())
	if err != nil {
		return view{}, err
	}
	if len(mine) > onePage {
		mine = mine[len(mine)-onePage:]
	}
	waiting, err := s.c.Desk.Cases(store.Waiting, after, onePage+1)
	if err != nil {
		return view{}, err
	}
	if len(waiting) > onePage {
		waiting = waiting[:onePage]
		v.Next = waiting[onePage-1].ID
	}
	if v.First {
		if v.Mine, err = s.entries(mine); err != nil {
			return view{}, err
		}
	}
	if v.Waiting, err = s.entries(waiting); err != nil {
		return view{}, err
	}
	return view{Page: "cases", Title: "Cases", Data: v, Follow: "/cases/news"}, nil
}

// closed lists closed cases, the latest first.
func (s *Server) closed(a *asking) (view, error) {
	before, _ := strconv.ParseUint(a.FormValue("before"), 10, 64)
	list, err := s.c.Store.CasesBefore(store.Closed, before, onePage+1)
	if err != nil {
		return view{}, err
	}
	next := uint64(0)
	if len(list) > onePage {
		list = list[:onePage]
		next = list[onePage-1].ID
	}
	all, err := s.entries(list)
	return view{Page: "closed", Title: "Closed cases", Data: map[string]any{"Cases": all, "Next": next}}, err
}

func caseID(a *asking) (uint64, error) {
	id, err := strconv.ParseUint(a.PathValue("id"), 10, 64)
	if err != nil || id == 0 {
		return 0, noCase
	}
	return id, nil
}

var noCase = refuse(http.StatusNotFound, "There is no such case", "It may have been erased at its owner's wish.")

// called is how people see somebody who acts.
func (s *Server) called(name string) string {
	if name == "" {
		return ""
	}
	if name == store.Bot {
		return "the bot"
	}
	if a, err := s.c.Accounts.Account(name); err == nil {
		return plain(a.Display(), 40)
	}
	if _, bare, ok := strings.Cut(name, ":"); ok {
		return plain(bare, 40)
	}
	return plain(name, 40)
}
