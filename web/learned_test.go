package web_test

import (
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/casefile/store"
	"triagebot/conversation"
	"triagebot/desk"
	"triagebot/mining"
	"triagebot/mining/demo"
	"triagebot/mining/feed"
	"triagebot/web"
)

// invented is a year that has a rise, a bad batch and odd wording in it.
func invented(t testing.TB) demo.Settings {
	day, err := mining.ParseDay("2025-03-03")
	require.NoError(t, err)
	return demo.Year(day)
}

// keepRecords puts ended talks with their gists into a store, many at a time.
func keepRecords(t testing.TB, s *store.Store, records iter.Seq[mining.Record]) {
	t.Helper()
	var all sync.WaitGroup
	next, failed := make(chan func() error), make(chan error, 256)
	for range 256 {
		all.Go(func() {
			for work := range next {
				if err := work(); err != nil {
					failed <- err
				}
			}
		})
	}
	i := 0
	for r := range records {
		id := fmt.Sprintf("web:told-%d", i)
		i++
		next <- func() error {
			at := time.Unix(int64(r.Closed)*86400, 0).UTC()
			_, err := s.Commit(context.Background(), store.Turn{
				Conversation: id, Owner: id, Time: at, Phase: conversation.Done, Events: []conversation.Event{{Kind: conversation.OwnerSaid, Time: at, Text: "x"}},
			})
			if err != nil {
				return err
			}
			words, _ := json.Marshal(map[string]any{"bike": r.Bike, "unmatched": r.Unmatched})
			r.Bike, r.Unmatched = "", nil
			counted, err := json.Marshal(r)
			if err != nil {
				return err
			}
			return s.KeepGist(context.Background(), id, store.Gist{Counted: counted, Words: words})
		}
	}
	close(next)
	all.Wait()
	close(failed)
	require.NoError(t, <-failed)
}

// learnedHouse has counted a year of ended talks.
func learnedHouse(t testing.TB, set demo.Settings, records iter.Seq[mining.Record]) (*house, *feed.Feed) {
	t.Helper()
	var f *feed.Feed
	h := newHouse(t, func(c *web.Config) {
		keepRecords(t, c.Store, records)
		var fleet strings.Builder
		for _, b := range demo.Fleet(c.KB, set) {
			require.NoError(t, json.NewEncoder(&fleet).Encode(b))
		}
		require.NoError(t, c.Store.Set(context.Background(), feed.SettingFleet, fleet.String()))
		require.NoError(t, c.Store.Set(context.Background(), feed.SettingDemo, "{}"))
		var err error
		f, err = feed.New(feed.Config{Store: c.Store, Engine: c.Engine, Log: slog.New(slog.NewTextHandler(io.Discard, nil))})
		require.NoError(t, err)
		require.NoError(t, f.CatchUp(context.Background()))
		_, err = f.Refresh(mining.Options{KB: c.KB}, c.Now())
		require.NoError(t, err)
		c.Feed, c.Demo = f, f.Demo()
	})
	return h, f
}

func year(t testing.TB) (*house, *feed.Feed) {
	e, err := engine()
	require.NoError(t, err)
	set := invented(t)
	return learnedHouse(t, set, demo.Records(e.KB(), set))
}

var vendorPaths = []string{"/learned", "/learned/counts", "/learned/counts?of=cause&kit=sorrel-60&by=month&one=hall-sensor-dead", "/learned/counts?of=symptom&by=age",
	"/learned/rising", "/learned/lives", "/learned/checks", "/learned/checks/throttle-5v", "/learned/rules", "/learned/wording"}

// The vendor sees what was planted, and no small group; nobody else sees it.
func TestVendorPages(t *testing.T) {
	h, f := year(t)
	vera := h.person("vera", desk.Vendor)
	small := regexp.MustCompile(`\b[1-4] of \d|>[1-4] cases`)
	pages := map[string]string{}
	for _, path := range vendorPaths {
		status, page := vera.get(path)
		require.Equal(t, http.StatusOK, status, path)
		assert.Contains(t, page, "every bike, owner and figure here is invented", path)
		assert.Empty(t, small.FindString(page), path)
		assert.NotContains(t, page, "NaN", path)
		assert.NotContains(t, page, "ZgotmplZ", path)
		pages[path] = page
	}
	k, err := engine()
	require.NoError(t, err)
	set := invented(t)
	name := func(id string) string { return k.KB().Cause(id).Name[1:] } // its first letter is written large
	assert.Contains(t, pages["/learned/rising"], strings.ReplaceAll(name(set.Rise.Cause), "'", "&#39;"))
	assert.Contains(t, pages["/learned/rising"], "Converter of bikes built in Aug 2024")
	assert.Contains(t, pages["/learned"], "cases, where")
	assert.Contains(t, pages["/learned/lives"], "wear: the older, the worse")
	assert.Contains(t, pages["/learned/checks"], "the rules expect")
	assert.Contains(t, pages["/learned/rules"], "never a suspect")
	assert.Contains(t, pages["/learned/wording"], demo.Wordings()[0].Text)
	assert.Contains(t, pages["/learned/wording"], "told:")

	status, _ := h.person("vic", desk.Volunteer).get("/learned")
	assert.Equal(t, http.StatusForbidden, status)
	nobody := h.browser()
	nobody.get("/learned/rising")
	assert.True(t, strings.HasPrefix(nobody.at, "/sign-in"), nobody.at)
	for _, path := range []string{"/learned/checks/none", "/learned/files/none.csv", "/learned/files/none.svg", "/learned/files/x", "/learned/files/..%2freport.json"} {
		status, _ := vera.get(path)
		assert.Equal(t, http.StatusNotFound, status, path)
	}
	status, _ = vera.get(`/learned/counts?of=%3Cscript%3E&kit=%22x&by=never&one=%00`)
	assert.Equal(t, http.StatusOK, status)

	shot := f.Snapshot()
	found := regexp.MustCompile(`href="(/learned/files/[^"]+)"`)
	files := map[string]bool{}
	for _, page := range pages {
		for _, m := range found.FindAllStringSubmatch(page, -1) {
			files[m[1]] = true
		}
	}
	kinds := map[string]int{}
	for path := range files {
		status, data := vera.get(path)
		require.Equal(t, http.StatusOK, status, path)
		kind := vera.head.Get("Content-Type")
		kinds[kind]++
		assert.Contains(t, vera.head.Get("Content-Disposition"), "attachment")
		switch kind {
		case "text/csv; charset=utf-8":
			assert.Contains(t, path, "demo-")
			rows, err := csv.NewReader(strings.NewReader(data)).ReadAll()
			require.NoError(t, err, path)
			assert.NotEmpty(t, rows)
		case "application/json":
			var r mining.Report
			require.NoError(t, json.Unmarshal([]byte(data), &r))
			assert.True(t, r.Demo)
			assert.Equal(t, shot.Report.Cases, r.Cases)
		case "image/svg+xml":
			assert.Contains(t, data, "demo: invented cases")
		}
	}
	for _, kind := range []string{"text/csv; charset=utf-8", "application/json", "application/yaml; charset=utf-8", "image/svg+xml", "image/png"} {
		assert.NotZero(t, kinds[kind], kind)
	}
}

func TestNothingLearnedYet(t *testing.T) {
	h := newHouse(t)
	vera := h.person("vera", desk.Vendor, desk.Keeper)
	for _, path := range vendorPaths {
		status, page := vera.get(path)
		assert.Equal(t, http.StatusOK, status, path)
		assert.Contains(t, page, "Nothing yet", path)
	}
	status, page := vera.get("/priors")
	assert.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, "None yet")
	vera.get("/account") // where the proof is that a form is ours
	status, _ = vera.send("/priors", url.Values{"strength": {"200"}})
	assert.Equal(t, http.StatusConflict, status)
}

// A keeper has priors learned, sees them before and after, switches them on and
// takes them back; the rules in use stay as they are all the while.
func TestPriorsPages(t *testing.T) {
	h, _ := year(t)
	e, err := engine()
	require.NoError(t, err)
	before := fmt.Sprint(e.KB().Kit("sorrel-60").Priors)
	kim := h.person("kim", desk.Keeper)
	kim.get("/priors")
	for _, bad := range []string{"", "x", "0", "-1", "NaN", "1e9"} {
		status, _ := kim.send("/priors", url.Values{"strength": {bad}})
		assert.Equal(t, http.StatusBadRequest, status, bad)
		kim.get("/priors")
	}
	status, page := kim.send("/priors", url.Values{"strength": {"150"}})
	require.Equal(t, http.StatusOK, status)
	assert.Equal(t, "/priors/1", kim.at)
	assert.Contains(t, page, "weigh as much as 150 cases")
	assert.Contains(t, page, "before, <b>")
	assert.Contains(t, page, "learn rehearse 1")
	status, page = kim.send("/priors/switch", url.Values{"version": {"1"}})
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, `In force: <a href="/priors/1">version 1</a>`)
	assert.Contains(t, page, "still runs with the priors as written")
	status, page = kim.send("/priors/switch", url.Values{"version": {"0"}})
	require.Equal(t, http.StatusOK, status)
	assert.Contains(t, page, "In force: the priors as written")
	assert.Equal(t, 2, strings.Count(page, "by local:kim</span></dd>"), "both switches are told of")
	for _, bad := range []string{"7", "x", "-1"} {
		status, _ := kim.send("/priors/switch", url.Values{"version": {bad}})
		assert.Equal(t, http.StatusNotFound, status, bad)
		kim.get("/priors")
	}
	for _, path := range []string{"/priors/9", "/priors/x"} {
		status, _ := kim.get(path)
		assert.Equal(t, http.StatusNotFound, status, path)
	}
	status, _ = kim.post("/priors/switch", url.Values{"version": {"1"}})
	assert.Equal(t, http.StatusForbidden, status, "a form that is not ours")
	status, _ = h.person("vera", desk.Vendor).get("/priors")
	assert.Equal(t, http.StatusForbidden, status)
	assert.Equal(t, before, fmt.Sprint(e.KB().Kit("sorrel-60").Priors))
}

// Hostile wording and ids are shown as text.
func TestHostileWording(t *testing.T) {
	day, err := mining.ParseDay("2026-01-05")
	require.NoError(t, err)
	records := func(yield func(mining.Record) bool) {
		for i := range 60 {
			r := mining.Record{
				V: 1, Closed: day + mining.Day(i), Kit: `<img src=x onerror=alert(1)>`, Confirmed: `"><script>alert(2)</script>`, Part: "'><b>part", Named: "</svg><script>",
				Symptoms: []string{"<i>odd</i>"}, Distance: 100 + float64(i), Replaced: true, Unmatched: []string{`<script>zonk</script> whoosh "kaput"`},
			}
			if !yield(r) {
				return
			}
		}
	}
	h, _ := learnedHouse(t, demo.Settings{Weeks: 1}, records)
	vera := h.person("vera", desk.Vendor)
	for _, path := range vendorPaths {
		status, page := vera.get(path)
		require.Equal(t, http.StatusOK, status, path)
		for _, bad := range []string{"<script>alert", "<img src=x", "<i>odd", "<b>part", "</svg><script"} {
			assert.NotContains(t, page, bad, path)
		}
	}
}

// Every page of the vendor, in every size and colour.
func TestVendorInABrowser(t *testing.T) {
	h, _ := year(t)
	h.person("anna", desk.Vendor, desk.Keeper)
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) {
			p := h.tab(t, size.wide, size.high, size.dark)
			p.open("/sign-in")
			p.do(chromedp.SetValue("#name", "anna"), chromedp.SetValue("#password", secret))
			p.press("Sign in")
			p.at("In your hands")
			for _, path := range append(slices.Clone(vendorPaths), "/priors") {
				p.open(path)
				p.until(`!!document.querySelector("h1")`)
				p.accessible(path)
				p.shoot(size.name + "-" + regexp.MustCompile(`[^a-z0-9]+`).ReplaceAllString(strings.TrimPrefix(path, "/"), "-"))
			}
			p.press("Learn from all closed cases")
			p.at("weigh as much as 200 cases")
			p.accessible("a version of priors")
			p.shoot(size.name + "-priors-version")
			p.quiet()
		})
	}
}

// Every page about ended talks over many of them:
// TRIAGEBOT_PAGES=100000 go test ./web -run xxx -bench Learned -benchtime 20x
func BenchmarkLearned(b *testing.B) {
	n := 2000
	if v := os.Getenv("TRIAGEBOT_PAGES"); v != "" {
		var err error
		n, err = strconv.Atoi(v)
		require.NoError(b, err)
	}
	e, err := engine()
	require.NoError(b, err)
	set := invented(b)
	set.Bikes, set.Rate = n, 1.0/52
	records := func(yield func(mining.Record) bool) {
		i := 0
		for r := range demo.Records(e.KB(), set) {
			if i++; i > n || !yield(r) {
				return
			}
		}
	}
	began := time.Now()
	h, f := learnedHouse(b, set, records)
	b.Logf("filled in %v", time.Since(began))
	began = time.Now()
	require.NoError(b, f.CatchUp(context.Background()))
	caught := time.Since(began)
	began = time.Now()
	f.Forgotten()
	_, err = f.Refresh(mining.Options{KB: e.KB()}, time.Now())
	require.NoError(b, err)
	b.Logf("%d records read in %v, the report made anew in %v", f.Snapshot().Report.Cases, caught, time.Since(began))
	vera := h.person("vera", desk.Vendor, desk.Keeper)
	vera.get("/priors")
	vera.send("/priors", url.Values{"strength": {"200"}})
	at, err := url.Parse(h.server.URL)
	require.NoError(b, err)
	paths := append(slices.Clone(vendorPaths), "/priors", "/priors/1", "/learned/files/demo-counts.csv", "/learned/files/demo-report.json", "/learned/files/pareto-cause.svg", "/learned/files/pareto-cause.png")
	for _, path := range paths {
		b.Run(strings.TrimPrefix(path, "/"), func(b *testing.B) {
			var took []time.Duration
			for b.Loop() {
				r := httptest.NewRequest(http.MethodGet, h.server.URL+path, nil)
				for _, c := range vera.http.Jar.Cookies(at) {
					r.AddCookie(c)
				}
				w := httptest.NewRecorder()
				began := time.Now()
				h.server.Config.Handler.ServeHTTP(w, r)
				took = append(took, time.Since(began))
				require.Equal(b, http.StatusOK, w.Code)
			}
			slices.Sort(took)
			b.ReportMetric(float64(took[len(took)/2].Microseconds())/1000, "ms-median")
			b.ReportMetric(float64(took[len(took)-1].Microseconds())/1000, "ms-most")
			b.ReportMetric(0, "ns/op")
		})
	}
}
