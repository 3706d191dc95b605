package web

import (
	"encoding/json"
	"errors"
	"net/http"
	"slices"
	"strings"
	"time"

	"triagebot/casefile"
	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/kb"
	"triagebot/picture"
)

// caseView is what the page of one case shows.
type caseView struct {
	caseEntry
	Doc      *casefile.Case
	Path     string
	Mine     bool
	Alt      string // of the supply line; "" when there is none
	Absent   []string
	Present  []casefile.Symptom
	Suspects []suspect
	Pending  string // the check that the owner was asked and has not answered
	Checks   []group
	Next     *kb.Check // the next check, when the bot can ask it
	Causes   []group
	Remedies []named
	People   []named // whom it can be handed on to
	Audit    []audit
	Handle   string // of the owner; for keepers, who may have them forgotten
}

type named struct{ ID, Name string }

type group struct {
	Name string
	Of   []named
}

type suspect struct {
	casefile.Suspect
	Name string
	Bar  int // of 1000
}

type audit struct {
	Time time.Time
	Who  string
	Did  string
	Text string
}

// look finds the case of an address: its life, its document, and that as it came.
func (s *Server) look(a *asking) (c store.Case, doc *casefile.Case, raw []byte, err error) {
	id, err := caseID(a)
	if err != nil {
		return c, nil, nil, err
	}
	c, raw, err = s.c.Store.Case(id)
	if errors.Is(err, store.ErrNoCase) {
		return c, nil, nil, noCase
	}
	if err == nil {
		err = json.Unmarshal(raw, &doc) // null is none
	}
	return c, doc, raw, err
}

func (s *Server) caseOne(a *asking) (view, error) {
	c, doc, raw, err := s.look(a)
	if err != nil {
		return view{}, err
	}
	e, err := s.entry(c, raw)
	if err != nil {
		return view{}, err
	}
	v := caseView{caseEntry: e, Doc: doc, Path: "/cases/" + a.PathValue("id"), Mine: c.State == store.Taken && c.Taker == a.Person.Name}
	if doc != nil {
		if err := s.readDoc(&v, doc); err != nil {
			return view{}, err
		}
	}
	if a.Person.Has(desk.Keeper) {
		v.Handle = plain(c.Owner, 200)
	}
	for _, act := range c.Audit {
		v.Audit = append(v.Audit, s.audit(act))
	}
	slices.Reverse(v.Audit)
	if v.Mine {
		if err := s.readActs(&v, a, c); err != nil {
			return view{}, err
		}
	}
	return view{Page: "case", Title: e.KitName + ": " + e.Fault, Data: v, Follow: v.Path + "/news", Wide: true}, nil
}

// readDoc takes over what the page shows of the document.
func (s *Server) readDoc(v *caseView, doc *casefile.Case) error {
	for _, x := range doc.Symptoms {
		switch {
		case x.Family == "history":
		case x.State == "present":
			v.Present = append(v.Present, x)
		default:
			v.Absent = append(v.Absent, x.Says)
		}
	}
	for _, x := range doc.Suspects {
		v.Suspects = append(v.Suspects, suspect{x, names(x.Causes), max(1, int(x.Probability*1000))})
	}
	if p, err := picture.Case(s.c.KB, doc); err == nil { // rules of another day may not fit the wiring
		v.Alt = p.Alt()
	}
	return nil
}

// readActs takes over what whoever has the case can do.
func (s *Server) readActs(v *caseView, a *asking, c store.Case) error {
	_, events, err := s.c.Store.Conversation(c.Conversation)
	if err != nil {
		return err
	}
	t := s.fold(events)
	if t.Now != nil && t.Now.Check != nil {
		v.Pending = t.Now.Check.Name
	}
	kit := s.c.KB.Kit(c.Kit)
	if kit == nil {
		kit = s.c.KB.Kit(s.c.KB.About.Generic)
	}
	v.Checks = s.checksFor(kit)
	if v.Doc != nil && v.Doc.Next.Kind == "check" || v.Doc != nil && v.Doc.Next.Kind == "repeat" {
		v.Next = s.c.KB.Check(v.Doc.Next.Check)
	}
	v.Causes = s.causesFor(kit, v.Suspects)
	for _, r := range s.c.KB.Remedies {
		v.Remedies = append(v.Remedies, named{r.ID, capital(r.Name)})
	}
	slices.SortFunc(v.Remedies, func(x, y named) int { return strings.Compare(x.Name, y.Name) })
	all, err := s.c.Accounts.All()
	if err != nil {
		return err
	}
	for _, x := range all {
		if x.Name != a.Person.Name && (x.Has(desk.Volunteer) || x.Has(desk.Keeper)) {
			v.People = append(v.People, named{x.Name, plain(x.Display(), 40)})
		}
	}
	return nil
}

// checksFor lists the checks of a kit by how they are done.
func (s *Server) checksFor(kit *kb.Kit) []group {
	of := map[string][]named{}
	for _, c := range s.c.KB.Checks {
		if kit == nil || kit.Has(c.Parts) {
			of[c.Kind] = append(of[c.Kind], named{c.ID, capital(c.Name)})
		}
	}
	var all []group
	for _, kind := range []struct{ id, name string }{{"look", "Look"}, {"try", "Try"}, {"measure", "Measure"}} {
		if list := of[kind.id]; len(list) > 0 {
			slices.SortFunc(list, func(x, y named) int { return strings.Compare(x.Name, y.Name) })
			all = append(all, group{kind.name, list})
		}
	}
	return all
}

// causesFor lists what a case may be closed with: the suspects, then the rest by
// part.
func (s *Server) causesFor(kit *kb.Kit, suspects []suspect) []group {
	var all []group
	first := group{Name: "Suspects"}
	for _, x := range suspects {
		for _, c := range x.Causes {
			if !slices.ContainsFunc(first.Of, func(n named) bool { return n.ID == c.ID }) {
				first.Of = append(first.Of, named{c.ID, capital(c.Name)})
			}
		}
	}
	if len(first.Of) > 0 {
		all = append(all, first)
	}
	at := map[string]int{}
	for _, c := range s.c.KB.Causes {
		if kit != nil && !kit.Has(c.Parts) {
			continue
		}
		i, known := at[c.Part]
		if !known {
			i = len(all)
			at[c.Part] = i
			all = append(all, group{Name: capital(c.Part)})
		}
		all[i].Of = append(all[i].Of, named{c.ID, capital(c.Name)})
	}
	return append(all, group{"Something else", []named{{desk.Unlisted, "None of these: say it in the note"}}})
}

func (s *Server) causeName(id string) string {
	if c := s.c.KB.Cause(id); c != nil {
		return c.Name
	}
	return unlisted(id)
}

func (s *Server) remedyName(id string) string {
	if r := s.c.KB.Remedy(id); r != nil {
		return r.Name
	}
	return unlisted(id)
}

// unlisted is the name of what the rules do not have.
func unlisted(id string) string {
	if id == desk.Unlisted {
		return "something that the rules do not have"
	}
	return id
}

// audit says one line of a case's audit.
func (s *Server) audit(x store.Act) audit {
	y := audit{Time: x.Time, Who: s.called(x.Who), Text: plain(x.Text, 4000)}
	switch x.Deed {
	case store.DeedOpen:
		y.Did, y.Text = "opened it", ""
	case store.DeedRenew:
		y.Did, y.Text = "handed it over again", ""
	case store.DeedTake:
		y.Did = "took it"
	case store.DeedNote:
		y.Did = "noted"
	case store.DeedSay:
		y.Did = "wrote to the owner"
	case store.DeedAsk:
		y.Did = "asked a check"
		if c := s.c.KB.Check(x.Text); c != nil {
			y.Text = capital(c.Name)
		}
	case store.DeedHandOn:
		y.Did = "gave it back"
		if x.To != "" {
			y.Did = "handed it on to " + s.called(x.To)
		}
	case store.DeedClose:
		y.Did = "closed it, not found"
		if !x.NotFound {
			y.Did = "closed it: " + s.causeName(x.Cause) + "; " + s.remedyName(x.Remedy)
		}
	case store.DeedReopen:
		y.Did = "reopened it"
	default:
		y.Did = strings.ReplaceAll(string(x.Deed), "-", " ")
	}
	return y
}

// caseLine is the supply line of a case.
func (s *Server) caseLine(a *asking, w http.ResponseWriter) error {
	_, doc, _, err := s.look(a)
	if err != nil {
		return err
	}
	if doc == nil {
		return noPicture
	}
	p, err := picture.Case(s.c.KB, doc)
	if err != nil {
		return noPicture
	}
	return sendSVG(w, p)
}
