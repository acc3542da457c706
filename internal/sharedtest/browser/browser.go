// Package browser opens pages in a real browser for tests. It stands apart from
// sharedtest, so that only tests which look at pages link what drives the browser.
package browser

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
)

// Tab is one tab of Chromium. What it complains of, and a request that leaves this
// machine, fail the test.
type Tab struct {
	T   *testing.T
	Ctx context.Context

	mu       sync.Mutex
	troubles []string
}

// Open starts Chromium with an empty tab; it ends with the test. Under -short the test is
// skipped.
func Open(t *testing.T, flags ...chromedp.ExecAllocatorOption) *Tab {
	t.Helper()
	opts := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(sharedtest.Tool(t, "chromium")), chromedp.NoSandbox,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("mute-audio", true),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), append(opts, flags...)...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 10*time.Minute) // far more than it takes, but on a busy machine
	t.Cleanup(cancel)
	b := &Tab{T: t, Ctx: ctx}
	b.Do()
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	for _, enable := range []func() error{
		func() error { _, err := chromedp.Call(ctx, log.Enable, cdp.Empty{}); return err },
		func() error { _, err := chromedp.Call(ctx, runtime.Enable, cdp.Empty{}); return err },
		func() error { _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); return err },
	} {
		if err := enable(); err != nil {
			t.Fatal(err)
		}
	}
	t.Cleanup(func() {
		b.mu.Lock()
		defer b.mu.Unlock()
		for _, s := range b.troubles {
			t.Errorf("the browser complains: %s", s)
		}
	})
	return b
}

// hear keeps what the browser complains of.
func (b *Tab) hear(ev any) {
	var text string
	switch ev := ev.(type) {
	case *runtime.EventExceptionThrown:
		text = "exception: " + ev.ExceptionDetails.Text
		if ev.ExceptionDetails.Exception != nil {
			text += " " + ev.ExceptionDetails.Exception.Description
		}
	case *runtime.EventConsoleAPICalled:
		if ev.Type == "error" || ev.Type == "warning" {
			text = "console: " + fmt.Sprint(ev.Args)
		}
	case *log.EventEntryAdded:
		if ev.Entry.Level == "error" || ev.Entry.Level == "warning" {
			text = "log: " + ev.Entry.Text + " " + ev.Entry.URL
		}
	case *network.EventRequestWillBeSent:
		if u := ev.Request.URL; !strings.HasPrefix(u, "file:") && !strings.HasPrefix(u, "http://127.0.0.1:") && !strings.HasPrefix(u, "data:") {
			text = "request: " + u
		}
	}
	if text != "" {
		b.mu.Lock()
		b.troubles = append(b.troubles, text)
		b.mu.Unlock()
	}
}

// Expected takes back a complaint with some words in it, which is what the test wants; without
// one it fails.
func (b *Tab) Expected(words string) {
	b.T.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	n := len(b.troubles)
	b.troubles = slices.DeleteFunc(b.troubles, func(s string) bool { return strings.Contains(s, words) })
	if len(b.troubles) == n {
		b.T.Errorf("the browser does not complain of %q", words)
	}
}

// Do runs steps one after another.
func (b *Tab) Do(steps ...chromedp.Action[chromedp.Void]) {
	b.T.Helper()
	if err := chromedp.Do(b.Ctx, steps...); err != nil {
		b.T.Fatal(err)
	}
}

// Open goes to an address, in a window so many pixels wide.
func (b *Tab) Open(url string, width int64) {
	b.T.Helper()
	b.Do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(url))
}

// Press presses keys one after another.
func (b *Tab) Press(keys string, mods ...chromedp.Modifier) {
	b.T.Helper()
	b.Do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(mods...)))
}

// Eval runs an expression, which may be a promise.
func Eval[T any](b *Tab, js string) T {
	b.T.Helper()
	v, err := chromedp.Run(b.Ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	// While one page takes the place of another there is none to ask.
	for again := 0; err != nil && strings.Contains(err.Error(), "Not attached") && again < 20; again++ {
		time.Sleep(20 * time.Millisecond)
		v, err = chromedp.Run(b.Ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	}
	if err != nil {
		b.T.Fatalf("%s: %v", js, err)
	}
	return v
}

// Wait waits until an expression is true, also over a page that is left meanwhile.
func (b *Tab) Wait(js string) {
	b.T.Helper()
	var err error
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		var ok bool
		if ok, err = chromedp.Run(b.Ctx, chromedp.Evaluate[bool]("!!("+js+")")); err == nil && ok {
			return
		}
	}
	b.T.Fatalf("not in a minute: %s (%v); the page says %q", js, err, Eval[[]string](b, `[...document.querySelectorAll("body, #trouble")].map((e) => e.innerText.slice(0, 500))`))
}

// Script tells the page whether it may run scripts.
func (b *Tab) Script(on bool) {
	b.T.Helper()
	if _, err := chromedp.Call(b.Ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.T.Fatal(err)
	}
}

// Scheme asks for "light" or "dark" colours, without motion.
func (b *Tab) Scheme(scheme string) {
	b.T.Helper()
	if _, err := chromedp.Call(b.Ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}}); err != nil {
		b.T.Fatal(err)
	}
}

// Fits looks for sideways scrolling (WCAG 2.2, 1.4.10 Reflow), but of what lies within
// elements that may be scrolled so: a CSS selector.
func (b *Tab) Fits(within, name string) {
	b.T.Helper()
	if over := Eval[[]string](b, fmt.Sprintf(`document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")]
		.filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(%q)).map((e) => e.tagName + "." + e.className + "#" + e.id).slice(0, 5).concat("wider than the window")`, within)); len(over) > 0 {
		b.T.Errorf("%s: %v", name, over)
	}
}

// Accessible runs axe-core (Deque, the npm package axe-core; rules of WCAG 2.0 to 2.2, A
// and AA) over the page.
func (b *Tab) Accessible(name string) {
	b.T.Helper()
	sharedtest.Module(b.T, "axe-core")
	axe, err := os.ReadFile(filepath.Join(sharedtest.Root(), "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		b.T.Fatal(err)
	}
	Eval[bool](b, string(axe)+"\n;true")
	for _, f := range Eval[[]string](b, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
		r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | ")))`) {
		b.T.Errorf("%s: %s", name, f)
	}
}
