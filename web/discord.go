package web

import (
	"context"
	"crypto/subtle"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"regexp"
	"slices"
	"strings"
	"time"

	"golang.org/x/oauth2"

	"triagebot/desk"
	"triagebot/web/account"
)

// Discord is how people sign in by way of Discord. Who has an account of the
// name discord:ID signs in with it; with Guild and Roles, so does every member
// who has one of those roles there.
type Discord struct {
	ClientID, Secret string
	// Site and API are where Discord is; "" is the real one.
	Site, API string
	Guild     string
	Roles     map[string]desk.Role // from the id of a role of the guild
	Client    *http.Client         // nil: one with a timeout
}

func (d *Discord) check() error {
	switch {
	case d == nil:
		return nil
	case d.ClientID == "" || d.Secret == "":
		return errors.New("signing in by way of Discord needs a client id and a secret")
	case (d.Guild == "") != (len(d.Roles) == 0):
		return errors.New("signing in by the roles of a Discord server needs both the server and its roles")
	}
	return nil
}

func (d *Discord) site() string {
	if d.Site != "" {
		return strings.TrimSuffix(d.Site, "/")
	}
	return "https://discord.com"
}

func (d *Discord) api() string {
	if d.API != "" {
		return strings.TrimSuffix(d.API, "/")
	}
	return "https://discord.com/api/v10"
}

func (d *Discord) client() *http.Client {
	if d.Client != nil {
		return d.Client
	}
	return &http.Client{Timeout: 10 * time.Second}
}

func (s *Server) discordConfig(r *http.Request) *oauth2.Config {
	d := s.c.Discord
	c := &oauth2.Config{
		ClientID: d.ClientID, ClientSecret: d.Secret, RedirectURL: s.base(r) + "/sign-in/discord/back", Scopes: []string{"identify"},
		Endpoint: oauth2.Endpoint{AuthURL: d.site() + "/oauth2/authorize", TokenURL: d.api() + "/oauth2/token", AuthStyle: oauth2.AuthStyleInParams},
	}
	if d.Guild != "" {
		c.Scopes = append(c.Scopes, "guilds.members.read")
	}
	return c
}

// base is the address browsers use.
func (s *Server) base(r *http.Request) string {
	if s.c.Base != "" {
		return strings.TrimSuffix(s.c.Base, "/")
	}
	return "http://" + r.Host
}

// begun is what the browser keeps between leaving for Discord and coming back.
type begun struct {
	State, Verifier, To string
}

const beginLasts = 10 * time.Minute

func (s *Server) begunCookie() string {
	if s.secure {
		return "__Host-sign-in"
	}
	return "sign-in"
}

func (s *Server) toDiscord(w http.ResponseWriter, a *asking) error {
	b := begun{account.Token(), oauth2.GenerateVerifier(), inside(a.FormValue("to"))}
	v := url.Values{"state": {b.State}, "verifier": {b.Verifier}, "to": {b.To}}
	s.setCookie(w, s.begunCookie(), url.QueryEscape(v.Encode()), beginLasts)
	http.Redirect(w, a.Request, s.discordConfig(a.Request).AuthCodeURL(b.State, oauth2.S256ChallengeOption(b.Verifier)), http.StatusSeeOther)
	return nil
}

var errDiscord = refuse(http.StatusBadGateway, "Discord did not let you in", "Begin anew. If it stays so, tell who keeps this page.")

func (s *Server) fromDiscord(w http.ResponseWriter, a *asking) error {
	if !s.limits.signInFrom.allow(s.from(a.Request)) {
		return refuse(http.StatusTooManyRequests, "Too many tries", "Wait a minute, then sign in once more.")
	}
	b, ok := s.begun(a.Request)
	s.setCookie(w, s.begunCookie(), "", 0)
	if !ok || subtle.ConstantTimeCompare([]byte(b.State), []byte(a.FormValue("state"))) != 1 {
		return refuse(http.StatusForbidden, "This sign-in was not begun here", "Go to the page for signing in and begin anew.")
	}
	if a.FormValue("error") != "" || a.FormValue("code") == "" {
		return refuse(http.StatusForbidden, "Not signed in", "You did not agree at Discord. Nothing has happened.")
	}
	ctx := context.WithValue(a.Context(), oauth2.HTTPClient, s.c.Discord.client())
	c := s.discordConfig(a.Request)
	token, err := c.Exchange(ctx, a.FormValue("code"), oauth2.VerifierOption(b.Verifier))
	if err != nil {
		s.c.Log.Warn("Discord refused a sign-in", "error", kindOf(err))
		return errDiscord
	}
	who, err := s.member(ctx, c.Client(ctx, token))
	if err != nil {
		return err
	}
	return s.enter(w, a, who, b.To)
}

func (s *Server) begun(r *http.Request) (begun, bool) {
	c, err := r.Cookie(s.begunCookie())
	if err != nil {
		return begun{}, false
	}
	raw, err := url.QueryUnescape(c.Value)
	if err != nil {
		return begun{}, false
	}
	v, err := url.ParseQuery(raw)
	b := begun{v.Get("state"), v.Get("verifier"), inside(v.Get("to"))}
	return b, err == nil && b.State != "" && b.Verifier != ""
}

// kindOf says what went wrong without what was sent.
func kindOf(err error) string {
	var refused *oauth2.RetrieveError
	if errors.As(err, &refused) {
		return fmt.Sprintf("status %d, %s", refused.Response.StatusCode, refused.ErrorCode)
	}
	return fmt.Sprintf("%T", err)
}

var snowflake = regexp.MustCompile(`^[0-9]{1,20}$`)

// member finds the account of who signed in at Discord.
func (s *Server) member(ctx context.Context, client *http.Client) (account.Account, error) {
	d := s.c.Discord
	var user struct {
		ID         string `json:"id"`
		Username   string `json:"username"`
		GlobalName string `json:"global_name"`
	}
	if status, err := fetch(ctx, client, d.api()+"/users/@me", &user); err != nil || status != http.StatusOK || !snowflake.MatchString(user.ID) {
		s.c.Log.Warn("Discord does not say who signed in", "status", status)
		return account.Account{}, errDiscord
	}
	name := account.Discord + user.ID
	known, err := s.c.Accounts.Account(name)
	if err == nil && !known.Member {
		return known, nil
	}
	if err != nil && !errors.Is(err, account.ErrNone) {
		return account.Account{}, err
	}
	roles, failed := s.rolesThere(ctx, client)
	if failed != nil {
		return account.Account{}, failed
	}
	if len(roles) == 0 {
		if err == nil { // had a role at the last time
			if err := s.c.Accounts.Remove(ctx, name); err != nil {
				return account.Account{}, err
			}
		}
		return account.Account{}, refuse(http.StatusForbidden, "You have no part here yet",
			"Discord says who you are, but nobody has given you a role. Ask who keeps this page. Owners need no account.")
	}
	shown := user.GlobalName
	if shown == "" {
		shown = user.Username
	}
	a := account.Account{Name: name, Shown: plain(shown, 40), Roles: roles, Member: true}
	if err := s.c.Accounts.Keep(ctx, a); err != nil {
		return account.Account{}, err
	}
	return s.c.Accounts.Account(name)
}

// rolesThere are those that a member of the guild has here.
func (s *Server) rolesThere(ctx context.Context, client *http.Client) ([]desk.Role, error) {
	d := s.c.Discord
	if d.Guild == "" {
		return nil, nil
	}
	var m struct {
		Roles []string `json:"roles"`
	}
	status, err := fetch(ctx, client, d.api()+"/users/@me/guilds/"+url.PathEscape(d.Guild)+"/member", &m)
	switch {
	case err == nil && status == http.StatusNotFound: // no member
		return nil, nil
	case err != nil || status != http.StatusOK:
		s.c.Log.Warn("Discord does not say what roles somebody has", "status", status)
		return nil, errDiscord
	}
	var roles []desk.Role
	for _, r := range desk.Roles() {
		for id, gives := range d.Roles {
			if gives == r && slices.Contains(m.Roles, id) && !slices.Contains(roles, r) {
				roles = append(roles, r)
			}
		}
	}
	return roles, nil
}

func fetch(ctx context.Context, client *http.Client, address string, into any) (int, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		return 0, err
	}
	resp, err := client.Do(r)
	if err != nil {
		return 0, err
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusOK {
		return resp.StatusCode, nil
	}
	return resp.StatusCode, json.NewDecoder(io.LimitReader(resp.Body, 1<<20)).Decode(into)
}
