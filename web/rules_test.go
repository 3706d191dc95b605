package web_test

import (
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/mining"
	"triagebot/web"
)

// taught is a report over cases as they are closed: the throttle's sensor was
// dead in 30, and was named and not the fault in 10.
func taught(t testing.TB) *mining.Report {
	t.Helper()
	e, err := engine()
	require.NoError(t, err)
	a := mining.NewAggregate()
	day, err := mining.ParseDay("2026-01-05")
	require.NoError(t, err)
	for i := range 40 {
		v := 0.01 * float64(i%5)
		r := mining.Record{
			V: 1, Closed: day + mining.Day(i), Kit: "sorrel-60", Symptoms: []string{"no-drive"}, Named: "throttle-stuck-low", Confirmed: "throttle-stuck-low",
			Remedy: "replace-throttle", Part: "throttle", Questions: 5, Minutes: 20,
			Checks: []mining.Asked{{Check: "throttle-rest", Value: &v, Unit: "V", Outcome: e.KB().Check("throttle-rest").Windows[0].ID}},
		}
		if i >= 30 {
			r.Confirmed, r.Remedy = "harness-signal-open", "repair-harness"
		}
		a.Add(r)
	}
	report, err := mining.NewReport(a, mining.Options{KB: e.KB()})
	require.NoError(t, err)
	return report
}

func TestRulePages(t *testing.T) {
	report := taught(t)
	h := newHouse(t, func(c *web.Config) { c.Report = func() *mining.Report { return report } })
	kim := h.person("kim", desk.Keeper)
	_, page := kim.get("/rules")
	assert.Contains(t, page, "counted over 40 closed cases")
	assert.Contains(t, page, "asked 40 times")

	_, page = kim.get("/rules/checks/throttle-rest")
	c := h.engine.KB().Check("throttle-rest")
	for _, w := range c.Windows {
		assert.Contains(t, page, w.Means)
	}
	assert.Contains(t, page, "40 readings of owners over the windows")
	assert.GreaterOrEqual(t, strings.Count(page, `class="reading"`), 5)
	assert.Contains(t, page, "100 % of the readings")
	assert.Contains(t, page, "40 times in 40 closed cases")

	_, page = kim.get("/rules/causes/throttle-stuck-low")
	assert.Contains(t, page, "30 of 40", "confirmed")
	assert.Contains(t, page, "10 of 40", "named, and it was not")
	assert.Contains(t, page, "/rules/causes/harness-signal-open")

	_, page = kim.get("/rules/symptoms/no-drive")
	assert.Contains(t, page, "40 of 40")
	for _, p := range h.engine.KB().Symptom("no-drive").Phrases[:3] {
		assert.Contains(t, page, strings.ReplaceAll(p, "'", "&#39;"))
	}
	for _, path := range []string{"/rules/checks/x", "/rules/symptoms/x", "/rules/causes/x", "/rules/causes/%3Cscript%3E"} {
		status, _ := kim.get(path)
		assert.Equal(t, 404, status, path)
	}
}

// Every rule has a page, also where nothing was counted, and every window of it
// lies on its scale.
func TestEveryRuleHasAPage(t *testing.T) {
	h := newHouse(t)
	kim := h.person("kim", desk.Keeper)
	k := h.engine.KB()
	var paths []string
	for _, c := range k.Checks {
		paths = append(paths, "/rules/checks/"+url.PathEscape(c.ID))
	}
	for _, x := range k.Symptoms {
		paths = append(paths, "/rules/symptoms/"+url.PathEscape(x.ID))
	}
	for _, c := range k.Causes {
		paths = append(paths, "/rules/causes/"+url.PathEscape(c.ID))
	}
	window := regexp.MustCompile(`class="window[^"]*" x="([0-9.e-]+)" y="64" width="([0-9.e-]+)"`)
	for _, path := range paths {
		status, page := kim.get(path)
		require.Equal(t, 200, status, path)
		for _, w := range window.FindAllStringSubmatch(page, -1) {
			x, err := strconv.ParseFloat(w[1], 64)
			require.NoError(t, err)
			wide, err := strconv.ParseFloat(w[2], 64)
			require.NoError(t, err)
			assert.True(t, x >= 0 && wide > 0 && x+wide <= 341, "%s: a window from %v, %v wide", path, x, wide)
		}
	}
	assert.Greater(t, len(paths), 150)
}
