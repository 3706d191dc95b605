package web_test

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// lacking skips a test that needs a program the machine may lack; where all of
// them must be there, it fails.
func lacking(t testing.TB, what string) {
	t.Helper()
	if os.Getenv("TRIAGEBOT_TEST_REQUIRE") == "1" {
		t.Fatalf("%s, and TRIAGEBOT_TEST_REQUIRE wants it", what)
	}
	t.Skip(what)
}

// chrome is one browser for all tests.
var chrome = sync.OnceValues(func() (context.Context, error) {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		path, err := exec.LookPath(name)
		if err != nil {
			continue
		}
		opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.Flag("disable-dev-shm-usage", true))
		alloc, stop := chromedp.NewExecAllocator(context.Background(), opts...)
		ctx, _ := chromedp.NewContext(alloc)
		if err := chromedp.Do(ctx); err != nil {
			stop()
			return nil, err
		}
		closeChrome = func() { _ = chromedp.Cancel(ctx); stop() }
		return ctx, nil
	}
	return nil, exec.ErrNotFound
})

var closeChrome = func() {}

func TestMain(m *testing.M) {
	code := m.Run()
	closeChrome()
	os.Exit(code)
}

// tab is a page in a real browser, with cookies of its own.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string
	said []string // by the page's console, and what broke in it
	mu   sync.Mutex
}

func (h *house) tab(t *testing.T, width, height int64, dark bool) *tab {
	t.Helper()
	browser, err := chrome()
	if err != nil {
		lacking(t, "there is no Chromium: "+err.Error())
	}
	ctx, stop := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	ctx, late := context.WithTimeout(ctx, 3*time.Minute)
	t.Cleanup(late)
	p := &tab{t: t, ctx: ctx, base: h.server.URL}
	require.NoError(t, chromedp.Listen(ctx, p.hear))
	scheme := "light"
	if dark {
		scheme = "dark"
	}
	media := emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{
		{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"},
	}}
	p.do(chromedp.EmulateViewport(width, height, chromedp.EmulateScale(1)), chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, media)
		return err
	}))
	return p
}

// hear keeps what the page's console says and what breaks in it. What the policy
// refuses is told there, too.
func (p *tab) hear(ev any) {
	p.mu.Lock()
	defer p.mu.Unlock()
	switch e := ev.(type) {
	case *runtime.EventExceptionThrown:
		p.said = append(p.said, e.ExceptionDetails.Text)
	case *runtime.EventConsoleAPICalled:
		p.said = append(p.said, string(e.Type))
	case *log.EventEntryAdded:
		if e.Entry.Source == "security" || e.Entry.Source == "javascript" {
			p.said = append(p.said, e.Entry.Text)
		}
	}
}

func (p *tab) do(actions ...chromedp.Action[chromedp.Void]) {
	p.t.Helper()
	require.NoError(p.t, chromedp.Do(p.ctx, actions...))
}

func (p *tab) open(path string) { p.t.Helper(); p.do(chromedp.Navigate(p.base + path)) }

// js evaluates an expression, or what it promises.
func js[T any](p *tab, expression string) T {
	p.t.Helper()
	v, err := chromedp.Run(p.ctx, chromedp.Evaluate[T](expression, chromedp.EvalAwaitPromise))
	require.NoError(p.t, err, expression)
	return v
}

// holds waits in the page for a change after which an expression is true, for
// two seconds at most.
const holds = `new Promise(done => {
	const ok = () => { try { return !!(%s) } catch { return false } };
	if (ok()) return done(true);
	const o = new MutationObserver(() => { if (ok()) { o.disconnect(); done(true) } });
	o.observe(document, {subtree: true, childList: true, attributes: true, characterData: true});
	setTimeout(() => { o.disconnect(); done(ok()) }, 2000);
})`

// until waits for an expression to hold, over loads of pages, which end what was
// being evaluated.
func (p *tab) until(expression string) {
	p.t.Helper()
	ctx, stop := context.WithTimeout(p.ctx, 20*time.Second)
	defer stop()
	for ctx.Err() == nil {
		ok, err := chromedp.Run(ctx, chromedp.Evaluate[bool](fmt.Sprintf(holds, expression), chromedp.EvalAwaitPromise))
		if err == nil && ok {
			return
		}
	}
	require.Fail(p.t, "it never came true", "%s\nthe page says: %s", expression, js[string](p, "document.body.innerText.slice(0, 2000)"))
}

// at waits until the page says a text.
func (p *tab) at(text string) {
	p.t.Helper()
	p.until(fmt.Sprintf("document.body.textContent.includes(%s)", quote(text)))
}

func quote(s string) string {
	b, _ := json.Marshal(s)
	return string(b)
}

// press clicks the button, link or summary of this text.
func (p *tab) press(text string) {
	p.t.Helper()
	find := fmt.Sprintf(`[...document.querySelectorAll("button, summary, a")].find(b => b.textContent.trim() === %s)`, quote(text))
	p.until("!!" + find)
	js[bool](p, find+".click(), true")
}

func (p *tab) where() string { p.t.Helper(); return js[string](p, "location.pathname") }

// shoot keeps a picture of the page where TRIAGEBOT_SHOTS says, to be looked at.
func (p *tab) shoot(name string) {
	dir := os.Getenv("TRIAGEBOT_SHOTS")
	if dir == "" {
		return
	}
	p.t.Helper()
	png, err := chromedp.Run(p.ctx, chromedp.FullScreenshot(100))
	require.NoError(p.t, err)
	require.NoError(p.t, os.MkdirAll(dir, 0o755))
	require.NoError(p.t, os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644))
}

// axe is the script that finds what shuts people out; .ci/run gets it from npm.
var axe = sync.OnceValues(func() (string, error) {
	for _, path := range []string{os.Getenv("TRIAGEBOT_AXE"), filepath.Join("..", ".ci", "node_modules", "axe-core", "axe.min.js")} {
		if path == "" {
			continue
		}
		if data, err := os.ReadFile(path); err == nil {
			return string(data), nil
		}
	}
	return "", os.ErrNotExist
})

// accessible holds a page to WCAG 2.2 AA as far as a program can see, and to its
// width.
func (p *tab) accessible(what string) {
	p.t.Helper()
	script, err := axe()
	if err != nil {
		lacking(p.t, "there is no axe-core: npm install --prefix .ci --no-save axe-core@4.14.1")
	}
	js[bool](p, script+"; true")
	type violation struct {
		ID, Help string
		Nodes    []struct{ HTML, FailureSummary string }
	}
	found := js[[]violation](p, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then(r => r.violations)`)
	for _, v := range found {
		for _, n := range v.Nodes {
			assert.Fail(p.t, what+": "+v.ID, "%s\n%s\n%s", v.Help, n.HTML, n.FailureSummary)
		}
	}
	type box struct{ Wide, Inner float64 }
	b := js[box](p, `({Wide: document.documentElement.scrollWidth, Inner: innerWidth})`)
	assert.LessOrEqual(p.t, b.Wide, b.Inner, "%s: wider than the screen", what)
	small := js[[]string](p, `[...document.querySelectorAll("button, input:not([type=hidden]), select, textarea, summary, nav a, h3 a")].filter(e => {
		const r = e.getBoundingClientRect();
		return r.width && (r.width < 24 || r.height < 24);
	}).map(e => e.outerHTML)`)
	assert.Empty(p.t, small, "%s: too small for a finger", what)
}

// quiet: nothing broke in the page, and nothing was refused by the policy.
func (p *tab) quiet() {
	p.t.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	assert.Empty(p.t, p.said)
}

// asks is the question on the page.
func (p *tab) asks() string {
	p.t.Helper()
	return js[string](p, `(document.getElementById("asks") || {}).textContent || ""`)
}

// figures are what this bike, whose throttle's sensor is dead, reads.
func figureFor(asks string) string {
	switch {
	case strings.Contains(asks, "cell"):
		return "1.56"
	case strings.Contains(asks, "signal"):
		return "0.02"
	}
	return "5.01"
}
