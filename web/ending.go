package web

import (
	"errors"
	"slices"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/kb"
)

// dangers is what to do about the dangers that were told, while they stop the
// talk: it must be seen first, however much is said after it.
func (s *Server) dangers(st *conversation.State) []string {
	var do []string
	add := func(c *kb.Caution) {
		for _, text := range c.Text {
			if !slices.Contains(do, text) {
				do = append(do, text)
			}
		}
	}
	for _, id := range st.Dangers {
		if x := s.c.KB.Symptom(id); x != nil {
			if c := s.c.KB.Caution(x.Danger); c != nil {
				add(c)
			}
		}
	}
	for _, c := range s.c.KB.Cautions { // a danger that no rule names
		if len(do) == 0 && c.Danger {
			add(c)
		}
	}
	return do
}

// end says how a talk ended. Where its case stands is read off the case, so that
// it is right however often the page is loaded.
func (s *Server) end(st *conversation.State, id uint64) (title, says string, err error) {
	person := s.c.KB.About.Person
	switch {
	case st.Phase == conversation.Over || st.Phase == conversation.Stopped:
		const stays = "All you said is kept, and what comes next appears here. You need not stay: the address of this page leads back to it."
		c, _, err := s.c.Store.Case(id)
		switch {
		case errors.Is(err, store.ErrNoCase):
		case err != nil:
			return "", "", err
		case c.State == store.Taken:
			return capital(person) + " has your case", stays, nil
		}
		return capital(person) + " takes over", stays, nil
	case st.Reason == conversation.ReasonCured:
		return "The fault is gone", "", nil
	case st.Phase.Ended():
		return "That is all", "Say so if the trouble comes back.", nil
	}
	return "", "", nil
}
