package web

import (
	"context"
	"encoding/json"
	"net/http"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/web/account"
)

// A conversation of the pages is its own owner: nobody is asked for a name.
const (
	talks  = Place + ":"
	links  = "link/"
	leaked = "Whoever has it can read the talk and answer."
)

// link is what is kept of an owner's link, under the hash of its token.
type link struct {
	Conversation string `json:"conversation"`
}

func (s *Server) setLink(ctx context.Context, token, conversation string) error {
	data, err := json.Marshal(link{conversation})
	if err != nil {
		return err
	}
	return s.c.Store.Set(ctx, links+account.Digest(token), string(data))
}

var noTalk = refuse(http.StatusNotFound, "This link leads nowhere",
	"It was closed, or the talk was erased, or a letter is missing. If you still need help, begin a new talk.")

// open finds the conversation of a link, and what was said in it.
func (s *Server) open(a *asking) (id string, known store.Talk, events []conversation.Event, err error) {
	if id, err = s.linked(a); err != nil {
		return "", store.Talk{}, nil, err
	}
	known, events, err = s.c.Store.Conversation(id)
	if err == nil && known.Turns == 0 { // erased
		err = noTalk
	}
	return id, known, events, err
}

func (s *Server) linked(a *asking) (string, error) {
	v, err := s.c.Store.Setting(links + account.Digest(a.PathValue("token")))
	if err != nil {
		return "", err
	}
	var l link
	if v == "" || json.Unmarshal([]byte(v), &l) != nil {
		return "", noTalk
	}
	return l.Conversation, nil
}

// newLink gives the talk another link; the old one is dead.
func (s *Server) newLink(a *asking) (string, error) {
	id, err := s.linked(a)
	if err != nil {
		return "", err
	}
	token := account.Token()
	if err := s.setLink(a.Context(), token, id); err != nil {
		return "", err
	}
	return "/talk/" + token + "#link", s.c.Store.Unset(a.Context(), links+account.Digest(a.PathValue("token")))
}

// closeLink leaves the talk without a link.
func (s *Server) closeLink(a *asking) (string, error) {
	if _, err := s.linked(a); err != nil {
		return "", err
	}
	return "/talk/" + a.PathValue("token"), s.c.Store.Unset(a.Context(), links+account.Digest(a.PathValue("token")))
}
