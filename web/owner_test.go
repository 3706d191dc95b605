package web_test

import (
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// begin starts a talk and returns its path.
func (b *browser) begin(say string) (path, page string) {
	b.t.Helper()
	status, page := b.post("/", url.Values{"say": {say}})
	require.Equal(b.t, 200, status)
	require.True(b.t, strings.HasPrefix(b.at, "/talk/"), b.at)
	return b.at, page
}

// answer sends what the owner says to the question that is on the page.
func (b *browser) answer(field, value string, more ...string) string {
	b.t.Helper()
	form := url.Values{field: {value}}
	for i := 0; i+1 < len(more); i += 2 {
		form.Set(more[i], more[i+1])
	}
	status, page := b.send(strings.Split(b.at, "#")[0], form)
	require.Equal(b.t, 200, status, page)
	return page
}

func TestTalkToANamedPart(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	path, page := b.begin("my sorrel's display lights up fine but twisting does nothing")
	assert.Contains(t, page, "Understood: the throttle does nothing")
	assert.Contains(t, page, `value="none of these, all clear"`, "answers are buttons")
	assert.NotContains(t, page, "<p>1. none", "and not numbers as well")
	b.answer("choice", "none of these, all clear")
	page = b.answer("choice", "all clicked home, dry and clean")
	wheelUp := false
	for i := 0; i < 12 && strings.Contains(page, `name="number"`); i++ {
		asks := regexp.MustCompile(`id="asks">([^<]*)</h2>`).FindStringSubmatch(page)
		require.NotNil(t, asks)
		wheelUp = wheelUp || strings.Contains(page, "Driven wheel off the ground")
		switch {
		case strings.Contains(asks[1], "household cell"), strings.Contains(asks[1], "fresh cell"), strings.Contains(page, "meter-check"):
			page = b.answer("number", "1,56", "unit", "V")
		case strings.Contains(asks[1], "throttle closed"), strings.Contains(asks[1], "signal pin"):
			page = b.answer("number", "20", "unit", "mV")
		default:
			page = b.answer("number", "5.01", "unit", "V")
		}
	}
	assert.True(t, wheelUp, "its caution was shown")
	assert.Contains(t, page, "throttle", page)
	assert.Contains(t, page, `<h2 class="remedy">Replace the throttle</h2>`)
	status, svg := b.get(path + "/picture/throttle-rest")
	assert.Equal(t, 200, status)
	assert.Equal(t, "image/svg+xml", b.head.Get("Content-Type"))
	assert.Contains(t, svg, "<svg")
}

func TestFormSentTwiceIsOneMessage(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	path, page := b.begin("my sorrel's display lights up fine but twisting does nothing")
	turn := hidden(page, "turn")
	require.Equal(t, "1", turn)
	form := url.Values{"choice": {"none of these, all clear"}, "turn": {turn}}
	_, once := b.post(path, form)
	status, twice := b.post(path, form)
	assert.Equal(t, 200, status)
	assert.Equal(t, once, twice)
	assert.Equal(t, "2", hidden(twice, "turn"))

	form.Set("choice", "all clicked home, dry and clean") // from a window that still shows the first question
	status, page = b.post(path, form)
	assert.Equal(t, http.StatusConflict, status)
	assert.Contains(t, page, "The talk had gone on")
	assert.Contains(t, page, ">all clicked home, dry and clean</textarea>", "what was typed is not lost")
	_, page = b.get(path)
	assert.Equal(t, "2", hidden(page, "turn"), "and not taken for an answer to another question")
	for _, forged := range []string{"9", "-1", "x", ""} {
		form.Set("turn", forged)
		status, _ := b.post(path, form)
		assert.Equal(t, http.StatusBadRequest, status, forged)
	}
}

func TestLinkIsUnguessableAndCanBeClosed(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	path, _ := b.begin("twisting does nothing")
	token := strings.TrimPrefix(path, "/talk/")
	assert.Len(t, token, 43, "256 bits")
	kept, err := h.store.Settings("")
	require.NoError(t, err)
	for name, value := range kept {
		assert.NotContains(t, name+value, token, "who reads the store cannot open a talk")
	}
	talks, _, err := h.store.Talks("", 10)
	require.NoError(t, err)
	for _, other := range []string{token[:42], token + "A", strings.ToLower(token), talks[0], "..%2f" + token, "x"} {
		status, page := h.browser().get("/talk/" + other)
		assert.Equal(t, http.StatusNotFound, status, other)
		assert.NotContains(t, page, "twisting")
	}
	status, _ := h.browser().get(path)
	assert.Equal(t, 200, status, "the link alone is enough")

	status, page := b.post(path+"/new-link", nil)
	assert.Equal(t, 200, status)
	fresh := b.at
	assert.NotEqual(t, path, fresh)
	assert.Contains(t, page, "twisting does nothing")
	status, _ = b.get(path)
	assert.Equal(t, http.StatusNotFound, status, "the old link is dead")
	status, _ = b.post(path, url.Values{"turn": {"1"}, "say": {"hello"}})
	assert.Equal(t, http.StatusNotFound, status)

	status, page = b.post(fresh+"/close-link", nil)
	assert.Equal(t, http.StatusNotFound, status)
	assert.Contains(t, page, "leads nowhere")
	status, _ = b.get(fresh)
	assert.Equal(t, http.StatusNotFound, status)
}

func TestForgottenOwnersLinkIsDead(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	path, _ := b.begin("twisting does nothing")
	_, talks, err := h.store.Talks("", 10)
	require.NoError(t, err)
	_, err = h.store.Forget(t.Context(), talks[0].Owner)
	require.NoError(t, err)
	status, _ := b.get(path)
	assert.Equal(t, http.StatusNotFound, status)
}

func TestHostileWords(t *testing.T) {
	h := newHouse(t)
	for _, words := range []string{
		`<script>alert(1)</script> twisting does nothing`,
		`"><img src=x onerror=alert(1)> twisting does nothing`,
		`</textarea><svg onload=alert(1)>`, `{{.Form}} {{template "form"}}`, "javascript:alert(1)",
		strings.Repeat("W", 3900), "\u202e\u2066gnihton seod gnitsiwt\u2069 twisting does nothing", "a\x00b\xff\xfe twisting", "' OR 1=1 --",
	} {
		b := h.browser()
		path, page := b.begin(words)
		_, again := b.get(path)
		for _, p := range []string{page, again} {
			assert.NotContains(t, p, "<script>alert")
			assert.NotContains(t, p, "<img src=x")
			assert.NotContains(t, p, "<svg onload")
			assert.NotContains(t, p, "\u202e", "marks of direction turn no line around")
			assert.NotContains(t, p, "\x00")
		}
		h.clock.add(10 * 60e9)
	}
	b := h.browser()
	status, _ := b.post("/", url.Values{"say": {strings.Repeat("x", 70<<10)}})
	assert.Equal(t, http.StatusBadRequest, status, "what is too long is refused as a whole")
}

func TestTalksAreLimited(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	for range 12 {
		b.begin("twisting does nothing")
	}
	status, page := b.post("/", url.Values{"say": {"twisting does nothing"}})
	assert.Equal(t, http.StatusTooManyRequests, status)
	assert.Contains(t, page, "Wait a minute")
}

func TestDangerIsSeenFirst(t *testing.T) {
	h := newHouse(t)
	b := h.browser()
	_, page := b.begin("my sorrel's battery is smoking and hissing!")
	status, now, ok := strings.Cut(page, `id="do-now"`)
	require.True(t, ok, page)
	assert.NotContains(t, status, `class="sheet question"`)
	for _, text := range h.engine.KB().Caution(h.engine.KB().Symptom("smoke").Danger).Text {
		assert.Contains(t, now, strings.ReplaceAll(text, "'", "&#39;"))
	}
	assert.Contains(t, page, "A volunteer takes over")
	assert.NotContains(t, page, `name="choice"`, "nothing is measured now")
	page = b.answer("say", "what shall I do with it?")
	assert.Contains(t, page, `id="do-now"`, "and stays to be seen")
}
