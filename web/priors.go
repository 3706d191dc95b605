package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"

	"triagebot/desk"
	"triagebot/learning"
	"triagebot/mining"
)

func (s *Server) priorsPages() {
	s.page("GET /priors", desk.Keeper, s.priors)
	s.page("GET /priors/{n}", desk.Keeper, s.priorsVersion)
	s.act("POST /priors", desk.Keeper, s.proposePriors)
	s.act("POST /priors/switch", desk.Keeper, s.switchPriors)
}

func (s *Server) book() *learning.Book {
	return &learning.Book{Settings: s.c.Store, Now: s.c.Now, Demo: s.c.Demo}
}

type priorsView struct {
	Versions []versionView
	History  []learning.Switch
	Force    int // in force, from the next start on
	Running  int // with what the bot runs now
	Counted  bool
	Strength string
}

type versionView struct {
	learning.Version
	InForce, Fits bool
	Rehearsal     string
}

func (s *Server) versionView(v learning.Version, force int) versionView {
	return versionView{v, v.Number == force, v.Overlay.Rules == s.c.Written.Version, v.Rehearsed.String()}
}

func (s *Server) force() (int, error) {
	v, on, err := s.book().InForce()
	if err != nil || !on {
		return 0, err
	}
	return v.Number, nil
}

func (s *Server) priors(*asking) (view, error) {
	v := priorsView{Running: s.c.Priors, Counted: s.snapshot() != nil, Strength: "200"}
	list, err := s.book().Versions()
	if err == nil {
		v.Force, err = s.force()
	}
	if err == nil {
		v.History, err = s.book().History()
	}
	for _, x := range list {
		v.Versions = append(v.Versions, s.versionView(x, v.Force))
	}
	return view{Page: "priors", Title: "Priors", Data: v}, err
}

// versionPage is one version, before and after, kit by kit.
type versionPage struct {
	versionView
	Force, Running int
	Kits           []kitShifts
}

type kitShifts struct {
	Name   string
	Shifts []shiftView
	More   int
}

type shiftView struct {
	Cause, Before, After string
	Cases                int
	Was, Is              float64 // 0 to 100 along the line
	From, Wide           float64
}

// mostShifts is how many causes of a kit are shown: those that move most.
const mostShifts = 20

func (s *Server) priorsVersion(a *asking) (view, error) {
	n, err := strconv.Atoi(a.PathValue("n"))
	if err != nil {
		return view{}, noVersion
	}
	x, err := s.book().Version(n)
	if errors.Is(err, learning.ErrNone) {
		return view{}, noVersion
	}
	if err != nil {
		return view{}, err
	}
	force, err := s.force()
	v := versionPage{versionView: s.versionView(x, force), Force: force, Running: s.c.Priors}
	for i := 0; i < len(x.Shifts); {
		end, most := i, 0.0
		for end < len(x.Shifts) && x.Shifts[end].Kit == x.Shifts[i].Kit {
			if end-i < mostShifts {
				most = max(most, x.Shifts[end].Before, x.Shifts[end].After)
			}
			end++
		}
		k := kitShifts{Name: s.kitName(x.Shifts[i].Kit), More: max(0, end-i-mostShifts)}
		for _, y := range x.Shifts[i:min(end, i+mostShifts)] {
			was, is := part(y.Before, most), part(y.After, most)
			k.Shifts = append(k.Shifts, shiftView{
				s.nameOf(mining.Causes, y.Cause), tenth(y.Before) + " %", tenth(y.After) + " %", y.Cases, was, is, min(was, is), round(max(was, is) - min(was, is)),
			})
		}
		v.Kits = append(v.Kits, k)
		i = end
	}
	return view{Page: "priors-version", Title: fmt.Sprintf("Priors, version %d", n), Data: v, Wide: true}, err
}

var noVersion = refuse(http.StatusNotFound, "There is no such version", "See the list of versions of the priors.")

func (s *Server) proposePriors(a *asking) (string, error) {
	strength, err := strconv.ParseFloat(a.PostFormValue("strength"), 64)
	if err != nil || !(strength >= 1 && strength <= 1e6) {
		return "", refuse(http.StatusBadRequest, "That is no weight", "Give how many cases the written priors weigh, from 1 to a million; 200 is usual.")
	}
	if s.snapshot() == nil {
		return "", refuse(http.StatusConflict, "There is nothing to learn from yet", "No talk has ended, or they are still being counted.")
	}
	var v learning.Version
	_, err = s.c.Feed.With(func(g *mining.Aggregate) error {
		v, err = s.book().Propose(a.Context(), a.Person.Name, g, s.c.Written, strength)
		return err
	})
	if err != nil {
		return "", err
	}
	return fmt.Sprintf("/priors/%d", v.Number), nil
}

// switchPriors puts a version in force; 0 is the priors as written.
func (s *Server) switchPriors(a *asking) (string, error) {
	n, err := strconv.Atoi(a.PostFormValue("version"))
	if err != nil || n < 0 {
		return "", noVersion
	}
	if n == 0 {
		return "/priors", s.book().SwitchOff(a.Context(), a.Person.Name)
	}
	err = s.book().SwitchOn(a.Context(), a.Person.Name, n, s.c.Written)
	switch {
	case errors.Is(err, learning.ErrNone):
		return "", noVersion
	case err != nil:
		return "", refuse(http.StatusConflict, "This version does not fit", capital(err.Error())+".")
	}
	return "/priors", nil
}
