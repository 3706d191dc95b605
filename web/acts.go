package web

import (
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
)

// actPages are what a volunteer does to a case.
func (s *Server) actPages() {
	for name, do := range map[string]func(*asking, uint64) error{
		"take": func(a *asking, id uint64) error {
			_, err := s.c.Desk.Take(a.Context(), a.Person.Acts(), id)
			return err
		},
		"ask": func(a *asking, id uint64) error {
			return s.c.Desk.AskCheck(a.Context(), a.Person.Acts(), id, a.PostFormValue("check"))
		},
		"note": func(a *asking, id uint64) error {
			text := a.PostFormValue("text")
			if plain(text, mostWords) == "" {
				return nil
			}
			_, err := s.c.Desk.Note(a.Context(), a.Person.Acts(), id, text)
			return err
		},
		"say": func(a *asking, id uint64) error {
			text := a.PostFormValue("text")
			if plain(text, mostWords) == "" {
				return nil
			}
			_, err := s.c.Desk.Say(a.Context(), a.Person.Acts(), id, text)
			return err
		},
		"hand-on": s.handOn,
		"close":   s.closeCase,
		"reopen": func(a *asking, id uint64) error {
			_, err := s.c.Desk.Reopen(a.Context(), a.Person.Acts(), id)
			return err
		},
	} {
		s.act("POST /cases/{id}/"+name, desk.Volunteer, func(a *asking) (string, error) {
			id, err := caseID(a)
			if err != nil {
				return "", err
			}
			return fmt.Sprintf("/cases/%d", id), s.told(do(a, id))
		})
	}
}

func (s *Server) handOn(a *asking, id uint64) error {
	to := a.PostFormValue("to")
	if to != "" {
		if _, err := s.c.Accounts.Account(to); err != nil {
			return refuse(http.StatusBadRequest, "There is nobody of that name", "Load the page again and choose from the list.")
		}
	}
	_, err := s.c.Desk.HandOn(a.Context(), a.Person.Acts(), id, to)
	return err
}

// closeCase closes with the cause chosen and the remedy that mends it, unless
// another is given.
func (s *Server) closeCase(a *asking, id uint64) error {
	o := desk.Outcome{Cause: a.PostFormValue("cause"), Remedy: a.PostFormValue("remedy"), Text: a.PostFormValue("text")}
	switch {
	case a.PostFormValue("found") == "no":
		o = desk.Outcome{NotFound: true, Text: o.Text}
	case o.Cause == "":
		return store.ErrHalfFound
	case o.Remedy == "":
		o.Remedy = desk.Unlisted
		if c := s.c.KB.Cause(o.Cause); c != nil {
			o.Remedy = c.Remedy
		}
	}
	if o.Cause == desk.Unlisted && plain(o.Text, mostWords) == "" {
		return refuse(http.StatusBadRequest, "Say what it was", "The rules do not know this cause. Write into the note what it was and what mended it; it is how they learn.")
	}
	bike, err := bikeOf(a)
	if err != nil {
		return err
	}
	o.Bike, o.Replaced = bike, a.PostFormValue("replaced") != "" && !o.NotFound
	_, err = s.c.Desk.Close(a.Context(), a.Person.Acts(), id, o)
	return err
}

// bikeOf is what is known of the bike; nil when nothing was filled in.
func bikeOf(a *asking) (*store.Bike, error) {
	b := store.Bike{Kit: a.PostFormValue("kit"), Mark: plain(a.PostFormValue("mark"), mostWords), Built: strings.TrimSpace(a.PostFormValue("built"))}
	if km := strings.NewReplacer(" ", "", "\u00a0", "", ",", "", ".", "").Replace(a.PostFormValue("distance")); km != "" {
		n, err := strconv.Atoi(km)
		if err != nil {
			return nil, refuse(http.StatusBadRequest, "That is no distance", "Give the whole kilometres that the bike has run, or leave it empty.")
		}
		b.Distance = float64(n)
	}
	if b == (store.Bike{}) {
		return nil, nil
	}
	return &b, nil
}

// told turns the desk's refusals into what is said to people.
func (s *Server) told(err error) error {
	var (
		taken  *store.TakenError
		notNow *conversation.NotNowError
		input  *desk.InputError
	)
	conflict := func(title, says string) error { return refuse(http.StatusConflict, title, says) }
	switch {
	case err == nil:
		return nil
	case errors.As(err, &taken):
		return conflict("This case is in other hands", capital(s.called(taken.By))+" has it.")
	case errors.As(err, &notNow):
		return conflict("This cannot be asked now", s.notNow(notNow))
	case errors.As(err, &input):
		return refuse(http.StatusBadRequest, "That cannot be so", capital(plain(input.Text, 300))+".")
	case errors.Is(err, store.ErrNoCase):
		return noCase
	case errors.Is(err, store.ErrNotYours):
		return conflict("Take the case first", "Only who has a case works on it, so that two do not ask the owner at once.")
	case errors.Is(err, store.ErrCaseClosed):
		return conflict("The case is closed", "Reopen it first, if there is more to it.")
	case errors.Is(err, store.ErrNotClosed):
		return conflict("The case is not closed", "Somebody may have reopened it already.")
	case errors.Is(err, store.ErrHalfFound):
		return refuse(http.StatusBadRequest, "Say what it was", "Choose the cause that was confirmed, or say that it was not found.")
	case errors.Is(err, desk.ErrRole):
		return refuse(http.StatusForbidden, "This is not yours to do", "Your account does not have the role for it.")
	case errors.Is(err, desk.ErrUnknown):
		return refuse(http.StatusBadRequest, "The rules do not have that", "They may have changed since the page was loaded. Load it again.")
	}
	return err
}

func (s *Server) notNow(e *conversation.NotNowError) string {
	switch e.Why {
	case "kit":
		return "It is none of the owner's kit."
	case "danger":
		return "The owner told of a danger. Nothing is measured before it is seen to."
	case "tool":
		return "The owner has not the tool that it takes: " + e.Tool + "."
	}
	if c := s.c.KB.Check(e.Before); c != nil {
		return "Ask this first: " + c.Name + "."
	}
	return "Something else has to be known first."
}
