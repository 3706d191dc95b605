package web_test

import (
	"crypto/sha256"
	"encoding/base64"
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/web"
	"triagebot/web/account"
)

// fakeDiscord lets one person in and says what roles they have.
type fakeDiscord struct {
	t         *testing.T
	id        string
	roles     []string
	member    bool
	challenge string
	broken    bool
	asked     url.Values // at the page where people agree
	*httptest.Server
}

func newFakeDiscord(t *testing.T) *fakeDiscord {
	d := &fakeDiscord{t: t, id: "42", member: true}
	m := http.NewServeMux()
	m.HandleFunc("GET /oauth2/authorize", func(w http.ResponseWriter, r *http.Request) {
		d.asked = r.URL.Query()
		d.challenge = d.asked.Get("code_challenge")
		http.Redirect(w, r, d.asked.Get("redirect_uri")+"?code=the-code&state="+url.QueryEscape(d.asked.Get("state")), http.StatusFound)
	})
	m.HandleFunc("POST /api/oauth2/token", func(w http.ResponseWriter, r *http.Request) {
		sum := sha256.Sum256([]byte(r.PostFormValue("code_verifier")))
		if d.broken || r.PostFormValue("code") != "the-code" || r.PostFormValue("client_secret") != "hush" || base64.RawURLEncoding.EncodeToString(sum[:]) != d.challenge {
			w.WriteHeader(http.StatusBadRequest)
			return
		}
		w.Header().Set("Content-Type", "application/json")
		_, _ = w.Write([]byte(`{"access_token":"token-of-` + d.id + `","token_type":"Bearer","expires_in":604800}`))
	})
	m.HandleFunc("GET /api/users/@me", func(w http.ResponseWriter, r *http.Request) {
		assert.Equal(t, "Bearer token-of-"+d.id, r.Header.Get("Authorization"))
		_ = json.NewEncoder(w).Encode(map[string]string{"id": d.id, "username": "ann", "global_name": "Ann <b>\u202e"})
	})
	m.HandleFunc("GET /api/users/@me/guilds/7/member", func(w http.ResponseWriter, r *http.Request) {
		if !d.member {
			w.WriteHeader(http.StatusNotFound)
			return
		}
		_ = json.NewEncoder(w).Encode(map[string]any{"roles": d.roles})
	})
	d.Server = httptest.NewServer(m)
	t.Cleanup(d.Close)
	return d
}

func (d *fakeDiscord) config(guild string) func(*web.Config) {
	return func(c *web.Config) {
		c.Discord = &web.Discord{ClientID: "app", Secret: "hush", Site: d.URL, API: d.URL + "/api", Guild: guild}
		if guild != "" {
			c.Discord.Roles = map[string]desk.Role{"900": desk.Volunteer, "901": desk.Keeper}
		}
	}
}

func TestDiscordSignIn(t *testing.T) {
	d := newFakeDiscord(t)
	h := newHouse(t, d.config(""))
	b := h.browser()
	_, page := b.get("/sign-in?to=/cases")
	assert.Contains(t, page, "/sign-in/discord?to=%2fcases")
	status, page := b.get("/sign-in/discord?to=/cases")
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, page, "You have no part here yet", "known at Discord is not known here")
	assert.Equal(t, "identify", d.asked.Get("scope"))
	assert.Equal(t, "S256", d.asked.Get("code_challenge_method"))

	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "discord:42", Shown: "Ann", Roles: []desk.Role{desk.Volunteer}}, ""))
	status, page = b.get("/sign-in/discord?to=/cases")
	assert.Equal(t, 200, status)
	assert.Equal(t, "/cases", b.at)
	assert.Contains(t, page, "Ann</a>")
}

func TestDiscordRoles(t *testing.T) {
	d := newFakeDiscord(t)
	h := newHouse(t, d.config("7"))
	b := h.browser()
	status, _ := b.get("/sign-in/discord")
	assert.Equal(t, http.StatusForbidden, status, "a member without a role of ours")
	d.roles = []string{"1", "900"}
	status, page := b.get("/sign-in/discord?to=/account")
	assert.Equal(t, 200, status)
	assert.Contains(t, page, "Ann &lt;b&gt;</h1>")
	assert.Equal(t, "identify guilds.members.read", d.asked.Get("scope"))
	a, err := h.accounts.Account("discord:42")
	require.NoError(t, err)
	assert.Equal(t, []desk.Role{desk.Volunteer}, a.Roles)

	d.roles = []string{"901"}
	b.get("/sign-in/discord")
	a, err = h.accounts.Account("discord:42")
	require.NoError(t, err)
	assert.Equal(t, []desk.Role{desk.Keeper}, a.Roles, "roles are asked for at every sign-in")
	d.member = false
	status, _ = b.get("/sign-in/discord")
	assert.Equal(t, http.StatusForbidden, status)
	_, err = h.accounts.Account("discord:42")
	assert.ErrorIs(t, err, account.ErrNone)
	_, page = b.get("/account")
	assert.Contains(t, page, `action="/sign-in"`, "and who lost them is signed out")
}

func TestDiscordForged(t *testing.T) {
	d := newFakeDiscord(t)
	h := newHouse(t, d.config(""))
	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "discord:42", Roles: []desk.Role{desk.Volunteer}}, ""))
	status, page := h.browser().get("/sign-in/discord/back?code=the-code&state=forged")
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, page, "not begun here")

	// Begun in one browser, finished in another: the way to sign somebody in as
	// somebody else.
	mallory, victim := h.browser(), h.browser()
	mallory.http.CheckRedirect = func(r *http.Request, _ []*http.Request) error {
		if strings.Contains(r.URL.Path, "/back") {
			return http.ErrUseLastResponse
		}
		return nil
	}
	mallory.get("/sign-in/discord")
	back, err := url.Parse(mallory.head.Get("Location"))
	require.NoError(t, err)
	status, _ = victim.get(back.RequestURI())
	assert.Equal(t, http.StatusForbidden, status)
	_, page = victim.get("/account")
	assert.Contains(t, page, `action="/sign-in"`)

	h.clock.add(10 * 60e9)
	d.broken = true
	status, page = h.browser().get("/sign-in/discord")
	assert.Equal(t, http.StatusBadGateway, status)
	assert.NotContains(t, page, "hush")
	h.clock.add(10 * 60e9)
	d.broken, d.id = false, "not a number"
	status, _ = h.browser().get("/sign-in/discord")
	assert.Equal(t, http.StatusBadGateway, status)
}

func TestDiscordHalfConfigured(t *testing.T) {
	for _, d := range []*web.Discord{{}, {ClientID: "app"}, {ClientID: "app", Secret: "x", Guild: "7"}, {ClientID: "app", Secret: "x", Roles: map[string]desk.Role{"1": desk.Keeper}}} {
		h := newHouse(t)
		_, err := web.New(web.Config{KB: h.engine.KB(), Engine: h.engine, Store: h.store, Turns: h.turns, Desk: h.desk, Accounts: h.accounts, Now: h.clock.now, After: h.after, Log: h.log, Discord: d})
		assert.Error(t, err)
	}
}
