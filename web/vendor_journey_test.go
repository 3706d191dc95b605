package web_test

import (
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/mining"
)

// A talk that a volunteer closes is among those that the vendor learns from.
func TestVendorSeesTheClosedTalk(t *testing.T) {
	h, learned := year(t)
	h.person("vera", desk.Volunteer)
	h.person("vic", desk.Vendor)
	owner, volunteer, vendor := h.tab(t, 360, 740, false), h.tab(t, 1200, 900, false), h.tab(t, 1200, 900, true)
	vendor.open("/sign-in")
	vendor.do(chromedp.SetValue("#name", "vic"), chromedp.SetValue("#password", secret))
	vendor.press("Sign in")
	vendor.at("talks that ended")
	ended := func() int {
		vendor.open("/learned")
		text := strings.ReplaceAll(js[string](vendor, `document.querySelector("main").textContent`), ",", "")
		found := regexp.MustCompile(`(\d+) talks that ended`).FindStringSubmatch(text)
		require.NotNil(t, found, text)
		n, err := strconv.Atoi(found[1])
		require.NoError(t, err)
		return n
	}
	before := ended()

	owner.open("/")
	owner.do(chromedp.SetValue("#say", "my sorrel's display lights up fine but twisting does nothing"))
	owner.press("Find the fault")
	owner.press("A person, please")
	owner.at("A volunteer takes over")
	volunteer.open("/cases")
	volunteer.do(chromedp.SetValue("#name", "vera"), chromedp.SetValue("#password", secret))
	volunteer.press("Sign in")
	volunteer.at("The throttle does nothing")
	volunteer.press("The throttle does nothing; the display is on and looks normal")
	volunteer.at("What to do next")
	volunteer.press("Take this case")
	volunteer.at("Close it")
	volunteer.press("Close it")
	volunteer.do(chromedp.SetValue("#cause", "harness-ground-open"))
	volunteer.press("Close with this cause")
	owner.at("Your case is closed")

	require.NoError(t, learned.CatchUp(t.Context()))
	_, err := learned.Refresh(mining.Options{KB: h.engine.KB()}, h.clock.now())
	require.NoError(t, err)
	assert.Equal(t, before+1, ended())
	vendor.quiet()
}
