package pack_test

import (
	"net/http"
	"net/http/httptest"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest/browser"
)

// mouse moves or presses the mouse at a point of the window.
func mouse(b *browser.Tab, kind input.DispatchMouseEventType, x, y float64) {
	b.T.Helper()
	p := input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, ClickCount: 1}
	if kind == input.DispatchMouseEventTypeMouseMoved {
		p.Buttons = 1
	}
	if _, err := chromedp.Call(b.Ctx, input.DispatchMouseEvent, p); err != nil {
		b.T.Fatal(err)
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
