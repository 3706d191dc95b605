package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/web/account"
)

func TestSignInAndOut(t *testing.T) {
	h := newHouse(t)
	b := h.person("anna", desk.Volunteer)
	status, page := b.get("/account")
	assert.Equal(t, 200, status)
	assert.Contains(t, page, "anna")

	other := h.browser()
	status, page = other.post("/sign-in", url.Values{"name": {"anna"}, "password": {"wrong wrong wrong"}})
	assert.Equal(t, http.StatusUnauthorized, status)
	assert.Contains(t, page, "do not go together")
	status, _ = other.post("/sign-in", url.Values{"name": {"anna"}, "password": {secret}})
	assert.Equal(t, 200, status)

	b.at = "/account"
	status, _ = b.send("/sign-out", url.Values{"everywhere": {"yes"}})
	assert.Equal(t, 200, status)
	_, page = other.get("/account")
	assert.Contains(t, page, "<h1 tabindex=\"-1\" data-focus>Sign in</h1>", "signed out on the other device, too")
}

func TestFormsOfOthersAreRefused(t *testing.T) {
	h := newHouse(t)
	b := h.person("anna", desk.Volunteer)
	status, _ := b.post("/sign-out", url.Values{"form": {"guessed"}})
	assert.Equal(t, http.StatusForbidden, status)

	r, err := http.NewRequest(http.MethodPost, h.server.URL+"/sign-out", strings.NewReader("everywhere=yes"))
	require.NoError(t, err)
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", "https://elsewhere.example")
	r.Header.Set("Sec-Fetch-Site", "cross-site")
	status, page := b.read(b.http.Do(r))
	assert.Equal(t, http.StatusForbidden, status)
	assert.Contains(t, page, "came from somewhere else")
	_, page = b.get("/account")
	assert.Contains(t, page, "Signed in", "still signed in")
}

func TestSignInIsLimited(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:anna", Roles: []desk.Role{desk.Keeper}}, secret))
	b := h.browser()
	for range 8 {
		status, _ := b.post("/sign-in", url.Values{"name": {"anna"}, "password": {"wrong wrong wrong"}})
		require.Equal(t, http.StatusUnauthorized, status)
	}
	status, _ := b.post("/sign-in", url.Values{"name": {"ANNA"}, "password": {secret}})
	assert.Equal(t, http.StatusTooManyRequests, status, "and the right password does not help the guesser")
	assert.Equal(t, "60", b.head.Get("Retry-After"))
	h.clock.add(60e9)
	status, _ = b.post("/sign-in", url.Values{"name": {"anna"}, "password": {secret}})
	assert.Equal(t, 200, status)
}

func TestWayBackStaysHere(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:anna", Roles: []desk.Role{desk.Keeper}}, secret))
	for _, to := range []string{"https://elsewhere.example/", "//elsewhere.example", `/\elsewhere.example`, "javascript:alert(1)", "/\t/elsewhere.example"} {
		b := h.browser()
		b.http.CheckRedirect = func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }
		_, _ = b.post("/sign-in", url.Values{"name": {"anna"}, "password": {secret}, "to": {to}})
		assert.NotContains(t, b.head.Get("Location"), "elsewhere", to)
		assert.NotContains(t, b.head.Get("Location"), "javascript", to)
		h.clock.add(60e9)
	}
}

func TestHeaders(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	for _, path := range []string{"/", "/sign-in", "/nothing-here", "/talk/forged"} {
		_, page := b.get(path)
		csp := b.head.Get("Content-Security-Policy")
		assert.Contains(t, csp, "default-src 'none'")
		assert.NotContains(t, csp, "unsafe")
		assert.Equal(t, "no-referrer", b.head.Get("Referrer-Policy"))
		assert.Equal(t, "nosniff", b.head.Get("X-Content-Type-Options"))
		assert.Equal(t, "no-store", b.head.Get("Cache-Control"))
		assert.NotContains(t, page, " style=", path)
		assert.NotContains(t, page, "http://", "nothing is fetched from elsewhere")
		assert.NotContains(t, page, "https://", "nothing is fetched from elsewhere")
	}
}
