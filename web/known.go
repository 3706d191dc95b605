package web

import (
	"strings"

	"triagebot/conversation"
)

// known is what was understood so far, so that the owner can put it right.
type known struct {
	Kit      string
	Symptoms []string
	Found    []found
}

// found is one thing measured, looked at or tried.
type found struct{ What, Value string }

func (s *Server) known(st *conversation.State) known {
	k := known{}
	if kit := s.c.KB.Kit(st.Kit); kit != nil {
		k.Kit = kit.Name
	}
	for _, id := range st.SymptomIDs() {
		x := s.c.KB.Symptom(id)
		switch {
		case x == nil:
		case st.Symptoms[id].Present:
			k.Symptoms = append(k.Symptoms, x.Say)
		case x.Denied != "" && !s.followed(st, id):
			k.Symptoms = append(k.Symptoms, x.Denied)
		}
	}
	for _, a := range st.Answers {
		c := s.c.KB.Check(a.Check)
		if c == nil {
			continue
		}
		value := ""
		if a.Reading != nil {
			value = conversation.FormatValue(*a.Reading)
		} else if o := c.Option(a.Option); o != nil {
			value = o.Label
		}
		if value != "" {
			k.Found = append(k.Found, found{c.Name, value})
		}
	}
	return k
}

// followed says whether a symptom's absence follows from one that is there.
func (s *Server) followed(st *conversation.State, id string) bool {
	for other, x := range st.Symptoms {
		y := s.c.KB.Symptom(other)
		if x.Present && y != nil && strings.Contains(" "+strings.Join(y.Excludes, " ")+" ", " "+id+" ") {
			return true
		}
	}
	return false
}
