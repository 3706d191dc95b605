package web_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"triagebot/desk"
	"triagebot/mining"
	"triagebot/web"
	"triagebot/web/account"
)

var sizes = []struct {
	name       string
	wide, high int64
	dark       bool
}{{"360-light", 360, 740, false}, {"360-dark", 360, 740, true}, {"1200-light", 1200, 800, false}, {"1200-dark", 1200, 800, true}}

// An owner whose throttle is dead talks to the named part, in every size and
// colour.
func TestOwnersTalkInABrowser(t *testing.T) {
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) {
			h := newHouse(t)
			p := h.tab(t, size.wide, size.high, size.dark)
			p.open("/")
			p.accessible("start")
			p.shoot(size.name + "-start")
			p.do(chromedp.SetValue("#say", "my sorrel's display lights up fine but twisting does nothing"))
			p.press("Find the fault")
			p.at("Understood: the throttle does nothing")
			assert.True(t, strings.HasPrefix(p.where(), "/talk/"))
			p.accessible("look")
			p.shoot(size.name + "-look")
			p.press("None of these, all clear")
			p.at("nothing tells the controller to hold the drive back")
			p.press("All clicked home, dry and clean")
			p.until(`!!document.getElementById("number")`)
			for i := 0; js[bool](p, `!!document.getElementById("number")`); i++ {
				require.Less(t, i, 12, "it never ends")
				asks := p.asks()
				if i < 2 {
					p.accessible("measure")
					p.shoot(fmt.Sprintf("%s-measure-%d", size.name, i))
				}
				p.do(chromedp.SetValue("#number", figureFor(asks)))
				p.press("That is what it reads")
				p.until(fmt.Sprintf(`document.getElementById("asks").textContent !== %s`, quote(asks)))
				assert.True(t, js[bool](p, `document.activeElement.matches(".question") && document.activeElement.getBoundingClientRect().top >= 0`), "the keyboard is where the new question is")
				p.until(fmt.Sprintf(`document.getElementById("live").textContent.includes(%s)`, quote(p.asks()))) // and it is read out
			}
			p.at("Replace the throttle")
			p.accessible("named")
			p.shoot(size.name + "-named")
			p.press("The fault is gone")
			p.until(`!document.querySelector(".question")`)
			p.at("The fault is gone")
			p.shoot(size.name + "-cured")
			p.open("/")
			p.do(chromedp.SetValue("#say", "my sorrel's battery is smoking!"))
			p.press("Find the fault")
			p.at("Do this now")
			p.accessible("danger")
			p.shoot(size.name + "-danger")
			p.quiet()
		})
	}
}

// From an owner's wish for a person to the closed case, with two browsers; what
// one does appears in the other without loading it again.
func TestHandOverInABrowser(t *testing.T) {
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) {
			h := newHouse(t)
			require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}, secret))
			owner, volunteer := h.tab(t, size.wide, size.high, size.dark), h.tab(t, size.wide, size.high, size.dark)

			volunteer.open("/cases")
			volunteer.accessible("sign-in")
			volunteer.shoot(size.name + "-sign-in")
			volunteer.do(chromedp.SetValue("#name", "anna"), chromedp.SetValue("#password", secret))
			volunteer.press("Sign in")
			volunteer.at("Nobody waits.")
			assert.Equal(t, "/cases", volunteer.where())
			volunteer.accessible("no cases")

			owner.open("/")
			owner.do(chromedp.SetValue("#say", "my sorrel's display lights up fine but twisting does nothing"))
			owner.press("Find the fault")
			for _, choice := range []string{"None of these, all clear", "All clicked home, dry and clean"} {
				owner.press(choice)
			}
			for _, figure := range []string{"1.56", "0.03"} {
				owner.until(`!!document.getElementById("number")`)
				asks := owner.asks()
				owner.do(chromedp.SetValue("#number", figure))
				owner.press("That is what it reads")
				owner.until(fmt.Sprintf(`document.getElementById("asks").textContent !== %s`, quote(asks)))
			}
			owner.press("A person, please")
			owner.at("A volunteer takes over")
			owner.accessible("handed over")
			owner.shoot(size.name + "-handed-over")

			volunteer.at("The throttle does nothing; the display is on")
			volunteer.accessible("cases")
			volunteer.shoot(size.name + "-cases")
			volunteer.press("The throttle does nothing; the display is on and looks normal")
			volunteer.at("What to do next")
			volunteer.accessible("case waiting")
			volunteer.press("Take this case")
			volunteer.at("Close it")
			owner.at("A volunteer has your case")
			volunteer.accessible("case taken")
			volunteer.shoot(size.name + "-case")

			volunteer.press("Have the bot ask this")
			volunteer.at("The owner is asked for this now")
			owner.at("would like to know")
			owner.until(`!!document.getElementById("number")`)
			owner.do(chromedp.SetValue("#number", "5.01"))
			owner.press("That is what it reads")
			owner.at("That goes to a volunteer")
			volunteer.at("5.01 V")
			volunteer.until(`!document.body.textContent.includes("The owner is asked for this now")`)

			volunteer.do(chromedp.SetValue("#text", "Rang the owner. <b>Wire</b> moves in the plug."))
			volunteer.press("Keep the note")
			volunteer.at("<b>Wire</b> moves in the plug")
			volunteer.press("Close it")
			volunteer.do(chromedp.SetValue("#cause", "harness-ground-open"))
			volunteer.accessible("closing")
			volunteer.press("Close with this cause")
			volunteer.at("closed")
			volunteer.until(`[...document.querySelectorAll(".tag")].some(e => e.textContent === "closed")`)
			owner.at("Your case is closed")
			volunteer.shoot(size.name + "-case-closed")
			volunteer.press("Reopen it")
			volunteer.until(`[...document.querySelectorAll(".tag")].some(e => e.textContent === "waiting")`)
			owner.at("A volunteer takes over")
			owner.quiet()
			volunteer.quiet()
		})
	}
}

// The whole way with the keyboard alone.
func TestKeyboardOnly(t *testing.T) {
	h := newHouse(t)
	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}, secret))
	p := h.tab(t, 360, 740, false)
	p.open("/")
	p.do(chromedp.KeyEvent(kb.Tab))
	assert.Equal(t, "To the content", js[string](p, `document.activeElement.textContent`))
	p.tabTo(`document.activeElement.id === "say"`)
	p.do(chromedp.KeyEvent("my sorrel's display lights up fine but twisting does nothing"))
	p.tabTo(`document.activeElement.textContent === "Find the fault"`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.at("Understood: the throttle does nothing")
	p.tabTo(`document.activeElement.textContent === "None of these, all clear"`)
	assert.NotEqual(t, "none", js[string](p, `getComputedStyle(document.activeElement).outlineStyle`), "where one is can be seen")
	p.do(chromedp.KeyEvent(" "))
	p.at("nothing tells the controller to hold the drive back")
	p.tabTo(`document.activeElement.textContent === "A person, please"`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.at("A volunteer takes over")

	p.open("/sign-in")
	p.tabTo(`document.activeElement.id === "name"`)
	p.do(chromedp.KeyEvent("anna"), chromedp.KeyEvent(kb.Tab), chromedp.KeyEvent(secret), chromedp.KeyEvent(kb.Enter))
	p.at("In your hands")
	p.tabTo(`document.activeElement.matches("h3 a")`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.at("Take this case")
	p.tabTo(`document.activeElement.textContent === "Take this case"`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.at("Close it")
	p.tabTo(`document.activeElement.textContent === "Close it"`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.tabTo(`document.activeElement.id === "cause"`)
	p.do(chromedp.KeyEvent("t"))
	p.tabTo(`document.activeElement.textContent === "It was not found"`)
	p.do(chromedp.KeyEvent(kb.Enter))
	p.at("not found")
	p.quiet()
}

// tabTo presses Tab until something holds.
func (p *tab) tabTo(expression string) {
	p.t.Helper()
	for range 60 {
		p.do(chromedp.KeyEvent(kb.Tab))
		if js[bool](p, expression) {
			return
		}
	}
	require.Fail(p.t, "the keyboard does not get there", "%s; it is at %s", expression, js[string](p, `document.activeElement.outerHTML`))
}

// Without script the same forms do the same work.
func TestWithoutScript(t *testing.T) {
	h := newHouse(t)
	p := h.tab(t, 360, 740, false)
	p.do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true})
		return err
	}))
	p.open("/")
	p.do(chromedp.SendKeys("#say", "my sorrel's display lights up fine but twisting does nothing"), chromedp.Click("#now button"))
	p.do(chromedp.WaitVisible(".choices"), chromedp.Click(".choices button"))
	p.do(chromedp.WaitVisible(`.choices button[value="all clicked home, dry and clean"]`))
	p.do(chromedp.SendKeys("#say", "I want to talk to a person"), chromedp.Click(".own-words button"))
	p.do(chromedp.WaitVisible(".ended"))
	ended, err := chromedp.Run(p.ctx, chromedp.Text(".ended"))
	require.NoError(t, err)
	assert.Contains(t, ended, "A volunteer takes over")
}

// What owners write stays words in a real browser: nothing runs, nothing turns
// around, and no line is wider than the phone.
func TestHostileWordsInABrowser(t *testing.T) {
	evil := `<script>window.hit = 1</script><img src=x onerror="window.hit = 1"> ` + "\u202etwisting\u2066 " + strings.Repeat("W", 800) +
		` https://` + strings.Repeat("w", 300) + ` my sorrel's throttle does nothing "><svg onload="window.hit = 1">`
	h := newHouse(t)
	require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:anna", Roles: []desk.Role{desk.Volunteer}}, secret))
	_, path := h.handedOver(evil)
	owner, volunteer := h.tab(t, 360, 740, false), h.tab(t, 360, 740, true)
	owner.open(path)
	owner.at("A volunteer takes over")
	volunteer.open("/sign-in")
	volunteer.do(chromedp.SetValue("#name", "anna"), chromedp.SetValue("#password", secret))
	volunteer.press("Sign in")
	volunteer.at("In your hands")
	volunteer.accessible("cases")
	volunteer.open("/cases/1")
	volunteer.at("Take this case")
	for name, p := range map[string]*tab{"owner": owner, "volunteer": volunteer} {
		js[bool](p, `document.querySelectorAll("details").forEach(d => d.open = true), true`)
		p.accessible(name)
		p.shoot("hostile-" + name)
		assert.True(t, js[bool](p, `window.hit === undefined`), name)
		p.quiet()
	}
}

// The keeper's pages, in every size and colour.
func TestRulesInABrowser(t *testing.T) {
	report := taught(t)
	for _, size := range sizes {
		t.Run(size.name, func(t *testing.T) {
			h := newHouse(t, func(c *web.Config) { c.Report = func() *mining.Report { return report } })
			require.NoError(t, h.accounts.Add(t.Context(), account.Account{Name: "local:kim", Roles: []desk.Role{desk.Keeper}}, secret))
			p := h.tab(t, size.wide, size.high, size.dark)
			p.open("/sign-in?to=/rules")
			p.do(chromedp.SetValue("#name", "kim"), chromedp.SetValue("#password", secret))
			p.press("Sign in")
			p.at("How often each was used")
			p.accessible("rules")
			p.shoot(size.name + "-rules")
			for _, rule := range []string{"checks/throttle-rest", "checks/look-plugs", "symptoms/no-drive", "causes/throttle-stuck-low", "checks/phase-to-case"} {
				p.open("/rules/" + rule)
				p.until(`document.querySelector("h1")`)
				p.accessible(rule)
				p.shoot(size.name + "-" + strings.ReplaceAll(rule, "/", "-"))
			}
			p.open("/account")
			p.accessible("account")
			p.shoot(size.name + "-account")
			p.open("/nothing")
			p.accessible("refusal")
			p.quiet()
		})
	}
}
