package web_test

import (
	"bufio"
	"context"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/desk"
	"triagebot/web"
)

// handedOver makes a case by an owner who wants a person.
func (h *house) handedOver(words string) (owner *browser, path string) {
	h.t.Helper()
	owner = h.browser()
	path, _ = owner.begin(words)
	page := owner.answer("choice", "I want to talk to a person")
	require.Contains(h.t, page, "A volunteer takes over")
	return owner, path
}

func TestVolunteerWorksACase(t *testing.T) {
	h := newHouse(t)
	anna, ben := h.person("anna", desk.Volunteer), h.person("ben", desk.Volunteer)
	owner, path := h.handedOver("my sorrel's display lights up fine but twisting does nothing")

	_, page := anna.get("/cases")
	assert.Contains(t, page, "The throttle does nothing; the display is on and looks normal")
	_, page = anna.get("/cases/1")
	assert.NotContains(t, page, "/cases/1/close", "what is not hers she cannot close")
	assert.Contains(t, page, "my sorrel&#39;s display lights up fine", "the complaint in the owner's words")
	assert.Contains(t, page, "Suspect", "the line picture's words")

	status, page := anna.send("/cases/1/take", url.Values{})
	require.Equal(t, 200, status)
	assert.Contains(t, page, `<span class="tag">yours</span>`)
	_, page = owner.get(path)
	assert.Contains(t, page, "A volunteer has your case")

	ben.at = "/cases/1"
	status, page = ben.send("/cases/1/take", url.Values{})
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, page, "Anna has it")

	owner.answer("say", "it also squeaks a bit on Tuesdays")
	page = owner.answer("say", "and the bell is loose")
	assert.Contains(t, page, "on Tuesdays", "what the bot says nothing to stands there all the same")
	assert.Contains(t, page, "the bell is loose")

	anna.at = "/cases/1"
	status, page = anna.send("/cases/1/ask", url.Values{"check": {"look-inhibits"}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "The owner is asked for this now")
	_, page = owner.get(path)
	assert.Contains(t, page, `value="none of these, all clear"`)
	page = owner.answer("choice", "none of these, all clear")
	assert.Contains(t, page, "That goes to a volunteer")
	_, page = anna.get("/cases/1")
	assert.Contains(t, page, "Nothing tells the controller to hold the drive back")

	status, page = anna.send("/cases/1/note", url.Values{"text": {"rang them; <i>moves</i> in the plug"}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "&lt;i&gt;moves&lt;/i&gt;")
	_, page = owner.get(path)
	assert.NotContains(t, page, "moves", "notes are not for owners")

	status, page = anna.send("/cases/1/say", url.Values{"text": {"Is the <b>green</b> wire loose?\u202e"}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "wrote to the owner")
	_, page = owner.get(path)
	assert.Contains(t, page, "A volunteer writes:")
	assert.Contains(t, page, "Is the &lt;b&gt;green&lt;/b&gt; wire loose?</p>")

	status, page = anna.send("/cases/1/hand-on", url.Values{"to": {"local:ben"}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "with ben")
	_, page = ben.get("/cases")
	mine, _, _ := strings.Cut(page, `id="waiting"`)
	assert.Contains(t, mine, "/cases/1")

	ben.at = "/cases/1"
	status, page = ben.send("/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}})
	require.Equal(t, 200, status)
	assert.Contains(t, page, "replace the throttle", "the remedy follows from the cause")
	c, _, err := h.store.Case(1)
	require.NoError(t, err)
	assert.Equal(t, store.Closed, c.State)
	assert.Equal(t, "throttle-stuck-low", c.Cause)
	assert.Equal(t, "replace-throttle", c.Remedy)
	_, page = owner.get(path)
	assert.Contains(t, page, "Your case is closed")
	_, page = ben.get("/cases/closed")
	assert.Contains(t, page, "/cases/1")

	ben.at = "/cases/1"
	status, page = ben.send("/cases/1/reopen", url.Values{})
	require.Equal(t, 200, status)
	assert.Contains(t, page, `<span class="tag">waiting</span>`)
}

func TestActsThatAreRefused(t *testing.T) {
	h := newHouse(t)
	anna := h.person("anna", desk.Volunteer)
	h.handedOver("my sorrel's display lights up fine but twisting does nothing")
	anna.at = "/cases/1"
	for _, x := range []struct {
		path string
		form url.Values
		want int
		says string
	}{
		{"/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}}, 409, "Take the case first"},
		{"/cases/1/reopen", nil, 409, "The case is not closed"},
		{"/cases/7/take", nil, 404, "There is no such case"},
		{"/cases/0/take", nil, 404, "There is no such case"},
		{"/cases/x/take", nil, 404, "There is no such case"},
		{"/cases/99999999999999999999/take", nil, 404, "There is no such case"},
		{"/cases/1/take", nil, 200, "yours"},
		{"/cases/1/close", nil, 400, "Say what it was"},
		{"/cases/1/close", url.Values{"cause": {"gremlins"}}, 400, "The rules do not have that"},
		{"/cases/1/close", url.Values{"cause": {"unlisted"}}, 400, "Say what it was"},
		{"/cases/1/ask", url.Values{"check": {"gremlins"}}, 400, "The rules do not have that"},
		{"/cases/1/ask", url.Values{"check": {"pedal-toggle"}}, 409, "none of the owner&#39;s kit"},
		{"/cases/1/hand-on", url.Values{"to": {"local:nobody"}}, 400, "nobody of that name"},
		{"/cases/1/note", url.Values{"text": {strings.Repeat("x", 70<<10)}}, 400, "could not be read"},
		{"/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}, "distance": {"far"}}, 400, "That is no distance"},
		{"/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}, "distance": {"-5"}}, 400, "no distance that a bike has run"},
		{"/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}, "built": {"2031-01"}}, 400, "no month in which a bike was built"},
		{"/cases/1/close", url.Values{"cause": {"throttle-stuck-low"}, "kit": {"<b>"}}, 400, "no kit"},
		{"/cases/1/close", url.Values{"found": {"no"}}, 200, "not found"},
		{"/cases/1/take", nil, 409, "The case is closed"},
	} {
		form := url.Values{}
		for k, v := range x.form {
			form[k] = v
		}
		anna.at = "/cases/1"
		status, page := anna.send(x.path, form)
		assert.Equal(t, x.want, status, "%s %v", x.path, x.form)
		assert.Contains(t, page, x.says, "%s %v", x.path, x.form)
	}
}

func TestFormsSentTwice(t *testing.T) {
	h := newHouse(t)
	anna := h.person("anna", desk.Volunteer)
	h.handedOver("my sorrel's display lights up fine but twisting does nothing")
	anna.at = "/cases/1"
	for range 2 {
		status, _ := anna.send("/cases/1/take", url.Values{})
		assert.Equal(t, 200, status, "taking what one has is no mistake")
	}
	_, page := anna.get("/cases/1")
	form := url.Values{"form": {hidden(page, "form")}, "found": {"no"}}
	status, _ := anna.post("/cases/1/close", form)
	assert.Equal(t, 200, status)
	status, page = anna.post("/cases/1/close", form)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, page, "The case is closed")
}

func TestRolesAreHeld(t *testing.T) {
	h := newHouse(t)
	h.handedOver("my sorrel's display lights up fine but twisting does nothing")
	nobody, vendor, volunteer, keeper := h.browser(), h.person("vera", desk.Vendor), h.person("anna", desk.Volunteer), h.person("kim", desk.Keeper)
	for _, path := range []string{"/cases", "/cases/closed", "/cases/1", "/cases/1/line", "/rules", "/rules/checks/throttle-rest"} {
		rules := strings.HasPrefix(path, "/rules")
		_, page := nobody.get(path)
		assert.Contains(t, page, `action="/sign-in"`, path)
		assert.NotContains(t, page, "twisting")
		status, page := vendor.get(path)
		assert.Equal(t, http.StatusForbidden, status, path)
		assert.NotContains(t, page, "twisting")
		status, _ = volunteer.get(path)
		assert.Equal(t, rules, status == http.StatusForbidden, path)
		status, _ = keeper.get(path)
		assert.Equal(t, 200, status, path)
	}
	for _, act := range []string{"take", "ask", "note", "say", "hand-on", "close", "reopen"} {
		status, _ := nobody.post("/cases/1/"+act, url.Values{"form": {""}})
		assert.Equal(t, http.StatusForbidden, status, act)
		vendor.at = "/account"
		status, _ = vendor.send("/cases/1/"+act, url.Values{})
		assert.Equal(t, http.StatusForbidden, status, act)
		status, _ = volunteer.post("/cases/1/"+act, url.Values{})
		assert.Equal(t, http.StatusForbidden, status, "%s without the form's proof", act)
	}
	c, _, err := h.store.Case(1)
	require.NoError(t, err)
	assert.Equal(t, store.Waiting, c.State)
}

func TestHostileWordsInACase(t *testing.T) {
	h := newHouse(t)
	anna := h.person("anna", desk.Volunteer)
	evil := `<script>alert(1)</script>"><img src=x onerror=alert(1)> ` + "\u202etwisting does nothing\u2066 " + strings.Repeat("W", 900)
	h.handedOver(evil)
	anna.at = "/cases/1"
	anna.send("/cases/1/take", url.Values{})
	anna.send("/cases/1/note", url.Values{"text": {evil}})
	for _, path := range []string{"/cases", "/cases/1", "/cases/1/line"} {
		status, page := anna.get(path)
		assert.Equal(t, 200, status)
		for _, bad := range []string{"<script>alert", "<img src=x", "\u202e", "\u2066"} {
			assert.NotContains(t, page, bad, path)
		}
	}
}

// Lists of many cases are paged, both ways.
func TestManyCases(t *testing.T) {
	h := newHouse(t)
	anna := h.person("anna", desk.Volunteer)
	for n := range 35 {
		h.clock.add(time.Hour)
		h.handedOver(fmt.Sprintf("my sorrel's throttle does nothing, bike %d", n))
	}
	_, page := anna.get("/cases")
	assert.Equal(t, 30, strings.Count(page, `class="entry"`))
	assert.Contains(t, page, "/cases?after=30")
	_, page = anna.get("/cases?after=30")
	assert.Equal(t, 5, strings.Count(page, `class="entry"`))
	for id := range 35 {
		path := fmt.Sprintf("/cases/%d", id+1)
		anna.at = path
		anna.send(path+"/take", url.Values{})
		status, _ := anna.send(path+"/close", url.Values{"found": {"no"}})
		require.Equal(t, 200, status)
	}
	_, page = anna.get("/cases/closed")
	assert.Equal(t, 30, strings.Count(page, `class="entry"`))
	first, last := strings.Index(page, "Case 35,"), strings.Index(page, "Case 6,")
	assert.True(t, first >= 0 && first < last, "the newest first")
	_, page = anna.get("/cases/closed?before=6")
	assert.Equal(t, 5, strings.Count(page, `class="entry"`))
	for _, odd := range []string{"-1", "x", "99999999999999999999", "%00"} {
		status, _ := anna.get("/cases?after=" + odd)
		assert.Equal(t, 200, status)
	}
}

// news opens what a page follows, and gives its lines.
func (b *browser) news(ctx context.Context, path string) (status int, lines <-chan string) {
	b.t.Helper()
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, b.base+path, nil)
	require.NoError(b.t, err)
	resp, err := b.http.Do(r)
	require.NoError(b.t, err)
	out := make(chan string, 10_000)
	go func() {
		defer resp.Body.Close()
		defer close(out)
		for in := bufio.NewScanner(resp.Body); in.Scan(); {
			if text := strings.TrimSpace(in.Text()); text != "" {
				out <- text
			}
		}
	}()
	return resp.StatusCode, out
}

func next(t *testing.T, lines <-chan string, want string) {
	t.Helper()
	for {
		select {
		case l, ok := <-lines:
			require.True(t, ok, "it ended before %q", want)
			if l == want {
				return
			}
		case <-time.After(10 * time.Second):
			require.Fail(t, "it never came", want)
		}
	}
}

func ended(t *testing.T, lines <-chan string) {
	t.Helper()
	for {
		select {
		case _, ok := <-lines:
			if !ok {
				return
			}
		case <-time.After(10 * time.Second):
			require.Fail(t, "it never ended")
		}
	}
}

func TestNews(t *testing.T) {
	h := newHouse(t)
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	anna := h.person("anna", desk.Volunteer)
	owner, path := h.handedOver("my sorrel's display lights up fine but twisting does nothing")
	other, otherPath := h.handedOver("my yarrow is dead")
	_, list := anna.news(ctx, "/cases/news")
	_, one := anna.news(ctx, "/cases/1/news")
	_, his := owner.news(ctx, path+"/news")
	_, hers := other.news(ctx, otherPath+"/news")
	for _, lines := range []<-chan string{list, one, his, hers} {
		next(t, lines, "event: changed") // the first look
		next(t, lines, "data: -")
	}
	anna.at = "/cases/1"
	anna.send("/cases/1/take", url.Values{})
	for _, lines := range []<-chan string{list, one, his} {
		next(t, lines, "event: changed")
	}
	assert.Empty(t, hers, "of another's case she hears nothing")

	// A link that was closed tells nothing more, nor does a session that ended.
	owner.post(path+"/close-link", nil)
	require.NoError(t, h.accounts.CloseAll(t.Context(), "local:anna"))
	_, err := h.desk.Note(t.Context(), desk.Person{Name: "local:ben", Roles: []desk.Role{desk.Volunteer}}, 1, "a note")
	require.NoError(t, err)
	for _, lines := range []<-chan string{list, one, his} {
		ended(t, lines)
	}
	status, _ := h.browser().news(ctx, "/talk/forged/news")
	assert.Equal(t, http.StatusNotFound, status)
}

// A page is followed for longer than a request may take, and by a household but
// not by a flood.
func TestNewsLast(t *testing.T) {
	h := newHouse(t, func(c *web.Config) {
		c.After = func(time.Duration) <-chan time.Time { return time.After(40 * time.Millisecond) }
	})
	srv := h.pages.HTTP()
	srv.ReadTimeout, srv.WriteTimeout = 150*time.Millisecond, 150*time.Millisecond
	l, err := net.Listen("tcp", "127.0.0.1:0")
	require.NoError(t, err)
	go func() { _ = srv.Serve(l) }()
	defer srv.Close()
	owner := h.browser()
	path, _ := owner.begin("my sorrel's display lights up fine but twisting does nothing")
	ctx, stop := context.WithCancel(t.Context())
	defer stop()
	owner.base = "http://" + l.Addr().String()
	_, lines := owner.news(ctx, path+"/news")
	for range 12 { // breaths, some half a second of them
		next(t, lines, ":")
	}
	owner.base = h.server.URL
	owner.answer("say", "and it squeaks")
	next(t, lines, "event: changed")

	for range 39 {
		status, _ := owner.news(ctx, path+"/news")
		require.Equal(t, http.StatusOK, status)
	}
	status, _ := owner.news(ctx, path+"/news")
	assert.Equal(t, http.StatusServiceUnavailable, status)
}
