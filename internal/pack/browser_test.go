package pack_test

import (
	"context"
	"fmt"
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
)

// tab is a page of the site in a real browser, with all that it complains of.
type tab struct {
	t   *testing.T
	ctx context.Context

	mu       sync.Mutex
	troubles []string
}

// browser starts Chromium without a network.
func browser(t *testing.T) *tab {
	t.Helper()
	opts := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(sharedtest.Tool(t, "chromium")), chromedp.NoSandbox,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("mute-audio", true),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 10*time.Minute) // far more than it takes, but on a busy machine
	t.Cleanup(cancel)
	b := &tab{t: t, ctx: ctx}
	b.do()
	err := chromedp.Listen(ctx, func(ev any) {
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
				text = "log: " + ev.Entry.Text
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
	})
	if err != nil {
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

func (b *tab) do(steps ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, steps...); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) open(url string, width int64) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(url))
}

// eval runs an expression, which may be a promise.
func eval[T any](b *tab, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// wait waits until an expression is true.
func (b *tab) wait(js string) {
	b.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if eval[bool](b, "!!("+js+")") {
			return
		}
	}
	b.t.Fatalf("not in a minute: %s; the page says %q", js, eval[string](b, `document.getElementById("trouble").textContent`))
}

func (b *tab) press(keys string, mods ...chromedp.Modifier) {
	b.t.Helper()
	b.do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(mods...)))
}

func (b *tab) mouse(kind input.DispatchMouseEventType, x, y float64) {
	b.t.Helper()
	p := input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1}
	if kind == input.DispatchMouseEventTypeMouseMoved {
		p.Buttons = 1
	}
	if _, err := chromedp.Call(b.ctx, input.DispatchMouseEvent, p); err != nil {
		b.t.Fatal(err)
	}
}

func fileURL(path string) string { return "file://" + filepath.ToSlash(path) }

// places are the two ways in which a lesson is opened.
func places(t *testing.T, dir string, f func(t *testing.T, base string)) {
	t.Run("folder", func(t *testing.T) { f(t, fileURL(dir)) })
	t.Run("http", func(t *testing.T) {
		srv := httptest.NewServer(http.FileServer(http.Dir(dir)))
		t.Cleanup(srv.Close)
		f(t, srv.URL)
	})
}
