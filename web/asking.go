package web

import (
	"crypto/subtle"
	"errors"
	"net/http"
	"net/url"
	"strings"
	"time"

	"triagebot/desk"
	"triagebot/web/account"
)

// nobody as a role means that everyone may. A keeper may what the others may.
const nobody desk.Role = ""

// asking is a request with who it is from.
type asking struct {
	*http.Request
	w       http.ResponseWriter
	Person  *account.Account // nil: not signed in
	session account.Session
	token   string
	now     time.Time
}

// view is what a page shows.
type view struct {
	Page   string // name of its template
	Title  string
	Data   any
	Follow string // address of its news; "" when nothing changes by itself
	Wide   bool
	Status int // 200 when 0
}

// refusal is an error that is said to people as it is.
type refusal struct {
	status      int
	title, says string
}

func (r *refusal) Error() string { return r.title }

// refuse is an answer that says why something was not done.
func refuse(status int, title, says string) error { return &refusal{status, title, says} }

var errForm = refuse(http.StatusForbidden, "This form has run out",
	"The page was open for too long, or you signed in anew meanwhile. Go back, load the page again and send it once more.")

func (s *Server) page(pattern string, who desk.Role, show func(*asking) (view, error)) {
	s.handle(pattern, who, func(w http.ResponseWriter, a *asking) error {
		v, err := show(a)
		if err != nil {
			return err
		}
		return s.show(w, a, v)
	})
}

// act does what a form asks for; the browser then loads the address returned.
func (s *Server) act(pattern string, who desk.Role, do func(*asking) (string, error)) {
	s.handle(pattern, who, func(w http.ResponseWriter, a *asking) error {
		if err := a.ParseForm(); err != nil {
			return refuse(http.StatusBadRequest, "This form could not be read", "It is too long, or was cut off on the way.")
		}
		if who != nobody && subtle.ConstantTimeCompare([]byte(a.PostFormValue("form")), []byte(a.session.Form)) != 1 {
			return errForm
		}
		to, err := do(a)
		if err != nil {
			return err
		}
		http.Redirect(w, a.Request, to, http.StatusSeeOther)
		return nil
	})
}

func (s *Server) file(pattern string, who desk.Role, write func(*asking, http.ResponseWriter) error) {
	s.handle(pattern, who, func(w http.ResponseWriter, a *asking) error { return write(a, w) })
}

func (s *Server) handle(pattern string, who desk.Role, do func(http.ResponseWriter, *asking) error) {
	s.mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		a := s.ask(r)
		a.w = w
		if who != nobody && a.Person == nil {
			if r.Method != http.MethodGet {
				s.fail(w, a, errForm)
				return
			}
			http.Redirect(w, r, "/sign-in?to="+url.QueryEscape(r.URL.RequestURI()), http.StatusSeeOther)
			return
		}
		if who != nobody && !a.Person.Has(who) && !a.Person.Has(desk.Keeper) {
			s.fail(w, a, refuse(http.StatusForbidden, "This page is not for you",
				"Your account does not have the role "+string(who)+". Who keeps the accounts can give it to you."))
			return
		}
		if err := do(w, a); err != nil {
			s.fail(w, a, err)
		}
	})
}

// ask finds who a request is from. A session that cannot be read is none.
func (s *Server) ask(r *http.Request) *asking {
	a := &asking{Request: r, now: s.c.Now()}
	c, err := r.Cookie(s.cookieName())
	if err != nil {
		return a
	}
	person, session, err := s.c.Accounts.Signed(c.Value)
	if err != nil {
		if !errors.Is(err, account.ErrSignedOut) {
			s.c.Log.Error("a session cannot be read", "error", err)
		}
		return a
	}
	a.Person, a.session, a.token = &person, session, c.Value
	return a
}

// fail shows a refusal as it is, and everything else as a fixed sentence.
func (s *Server) fail(w http.ResponseWriter, a *asking, err error) {
	var r *refusal
	if !errors.As(err, &r) {
		s.c.Log.Error("a page failed", "page", a.Pattern, "error", err)
		r = &refusal{http.StatusInternalServerError, "Something went wrong here",
			"It is our fault and not yours. What you sent may not have been kept. Try again; if it stays, tell the workshop."}
	}
	err = s.show(w, a, view{Page: "refusal", Title: r.title, Status: r.status, Data: map[string]string{"Title": r.title, "Says": r.says}})
	if err != nil {
		s.c.Log.Error("a refusal could not be shown", "error", err)
	}
}

// cookieName ties the cookie to this host and to TLS where there is TLS.
func (s *Server) cookieName() string {
	if s.secure {
		return "__Host-session"
	}
	return "session"
}

// setCookie keeps a value in the browser for so long; 0 takes it away.
func (s *Server) setCookie(w http.ResponseWriter, name, value string, lasts time.Duration) {
	seconds := int(lasts / time.Second)
	if seconds == 0 {
		seconds = -1
	}
	http.SetCookie(w, &http.Cookie{
		Name: name, Value: value, Path: "/", MaxAge: seconds, HttpOnly: true, Secure: s.secure, SameSite: http.SameSiteLaxMode,
	})
}

// inside keeps a way back on this site: only a path, and no address of another
// host however it is written.
func inside(to string) string {
	u, err := url.Parse(to)
	if err != nil || u.Scheme != "" || u.Host != "" || u.User != nil || !strings.HasPrefix(to, "/") ||
		strings.HasPrefix(to, "//") || strings.ContainsAny(to, "\\\r\n\t") {
		return "/"
	}
	return to
}
