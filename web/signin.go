package web

import (
	"errors"
	"net/http"
	"strings"

	"triagebot/desk"
	"triagebot/web/account"
)

type signInView struct {
	To      string
	Name    string
	Wrong   string
	Discord bool
}

func (s *Server) signInPages() {
	s.page("GET /sign-in", nobody, func(a *asking) (view, error) {
		return s.signInForm(a, ""), nil
	})
	s.handle("POST /sign-in", nobody, s.signIn)
	s.handle("POST /sign-out", nobody, s.signOut)
	s.page("GET /account", nobody, s.account)
	if s.c.Discord != nil {
		s.handle("GET /sign-in/discord", nobody, s.toDiscord)
		s.handle("GET /sign-in/discord/back", nobody, s.fromDiscord)
	}
}

func (s *Server) signInForm(a *asking, wrong string) view {
	v := view{Page: "sign-in", Title: "Sign in", Data: signInView{
		To: inside(a.FormValue("to")), Name: a.PostFormValue("name"), Wrong: wrong, Discord: s.c.Discord != nil,
	}}
	if wrong != "" {
		v.Title, v.Status = "Not signed in", http.StatusUnauthorized
	}
	return v
}

func (s *Server) signIn(w http.ResponseWriter, a *asking) error {
	if err := a.ParseForm(); err != nil {
		return refuse(http.StatusBadRequest, "This form could not be read", "It is too long, or was cut off on the way.")
	}
	name := strings.TrimSpace(a.PostFormValue("name"))
	if !s.limits.signInFrom.allow(s.from(a.Request)) || !s.limits.signInTo.allow(strings.ToLower(name)) {
		w.Header().Set("Retry-After", "60")
		return refuse(http.StatusTooManyRequests, "Too many tries", "Wait a minute, then sign in once more.")
	}
	who, err := s.c.Accounts.SignIn(name, a.PostFormValue("password"))
	if errors.Is(err, account.ErrUnknown) {
		return s.show(w, a, s.signInForm(a, "That name and password do not go together."))
	}
	if err != nil {
		return err
	}
	return s.enter(w, a, who, inside(a.PostFormValue("to")))
}

// enter begins a session; the one of before ends, so that a cookie planted
// beforehand is worth nothing.
func (s *Server) enter(w http.ResponseWriter, a *asking, who account.Account, to string) error {
	if a.token != "" {
		if err := s.c.Accounts.Close(a.Context(), a.token); err != nil {
			return err
		}
	}
	token, session, err := s.c.Accounts.Open(a.Context(), who.Name)
	if err != nil {
		return err
	}
	s.setCookie(w, s.cookieName(), token, session.Ends.Sub(a.now))
	if to == "/" {
		to = home(who)
	}
	http.Redirect(w, a.Request, to, http.StatusSeeOther)
	return nil
}

// home is where somebody's work is.
func home(who account.Account) string {
	for _, e := range navigation {
		if who.Has(e.Role) || who.Has(desk.Keeper) {
			return e.Path
		}
	}
	return "/account"
}

// signOut ends this session, or all of the account.
func (s *Server) signOut(w http.ResponseWriter, a *asking) error {
	if a.Person == nil {
		http.Redirect(w, a.Request, "/", http.StatusSeeOther)
		return nil
	}
	if a.PostFormValue("form") != a.session.Form {
		return errForm
	}
	var err error
	if a.PostFormValue("everywhere") != "" {
		err = s.c.Accounts.CloseAll(a.Context(), a.Person.Name)
	} else {
		err = s.c.Accounts.Close(a.Context(), a.token)
	}
	if err != nil {
		return err
	}
	s.setCookie(w, s.cookieName(), "", 0)
	http.Redirect(w, a.Request, "/sign-in", http.StatusSeeOther)
	return nil
}

func (s *Server) account(a *asking) (view, error) {
	if a.Person == nil {
		return s.signInForm(a, ""), nil
	}
	list, err := s.c.Accounts.Sessions(a.Person.Name)
	return view{Page: "account", Title: "Your account", Data: map[string]any{"Sessions": list, "This": a.session}}, err
}
