package pack_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/css"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

func TestWithoutScript(t *testing.T) {
	dir, in := sounding(t)
	b := browser.Open(t)
	b.Script(false)
	b.Open(fileURL(dir)+"/level-3.html", 1200)
	type state struct {
		Player, Dock                bool
		Audio, Music, Rows, Visible int
		Text                        string
	}
	s := browser.Eval[state](b, `({Player: document.getElementById("player").hidden, Dock: document.getElementById("dock").hidden,
		Audio: [...document.querySelectorAll("audio[controls]")].filter((a) => a.offsetHeight > 0).length,
		Music: document.querySelectorAll(".sheets.wide svg.music").length, Rows: document.querySelectorAll("details.table tbody").length,
		Visible: [...document.querySelectorAll(".with-script")].filter((e) => e.offsetParent).length,
		Text: document.body.innerText})`)
	bars := len(in.Editions[0].Pages[1].Score.Bars)
	if !s.Player || !s.Dock || s.Audio != 4 || s.Music < 2 || s.Rows != bars || s.Visible != 0 {
		t.Errorf("%+v, for %d bars", s, bars)
	}
	for _, want := range []string{"Bring with you", "New here", "Practice", "Downloads"} {
		if !strings.Contains(s.Text, want) {
			t.Errorf("no %q", want)
		}
	}
}

// TestAccessible runs axe-core (Deque, the npm package axe-core; rules of WCAG
// 2.0 to 2.2, A and AA) over every page, at the width of a desk and of a phone,
// in light and dark, and looks for sideways scrolling at 320 pixels (WCAG 2.2,
// 1.4.10 Reflow).
func TestAccessible(t *testing.T) {
	sharedtest.Module(t, "axe-core")
	inBoth(t, func(t *testing.T, dir string) {
		srv := httptest.NewServer(http.FileServer(http.Dir(dir))) // axe reads the style sheet again, which a folder forbids
		defer srv.Close()
		b := browser.Open(t)
		for _, page := range []string{"index.html", "glossary.html", "teacher.html", "homework.html", "level-1.html", "level-3.html"} {
			for _, look := range []struct {
				width  int64
				scheme string
			}{{1200, "light"}, {320, "dark"}} {
				b.Scheme(look.scheme)
				b.Open(srv.URL+"/"+page, look.width)
				browser.Eval[bool](b, `(document.querySelectorAll("details").forEach((d) => { d.open = true; }), true)`)
				name := fmt.Sprintf("%s at %d, %s", page, look.width, look.scheme)
				b.Fits(".scroll, .keys-scroll, svg", name)
				b.Accessible(name)
			}
		}
	})
}

// On a phone Play stands in the first screen, before what else there is to set,
// and no table of words must be pushed sideways to be read.
func TestPhone(t *testing.T) {
	inBoth(t, func(t *testing.T, dir string) {
		b := browser.Open(t)
		for _, size := range []struct{ w, h int64 }{{390, 844}, {320, 568}} {
			for _, page := range []string{"level-1.html", "level-3.html"} {
				b.Do(chromedp.EmulateViewport(size.w, size.h), chromedp.Navigate(fileURL(dir)+"/"+page))
				b.Wait(`window.lesson`)
				browser.Eval[bool](b, `(document.body.offsetHeight, document.fonts.ready.then(() => true))`)
				type state struct {
					Play, Tempo, Take, Rest float64
					Open                    bool
					Rows, Cut               int
				}
				s := browser.Eval[state](b, `(() => {
					const at = (id) => document.getElementById(id).getBoundingClientRect().bottom;
					const cells = [...document.querySelectorAll("table.stack tbody > tr > *")].filter((e) => e.textContent.trim());
					return {Play: at("play"), Tempo: at("tempo"), Take: at("take"), Rest: at("more"), Open: document.getElementById("more").open, Rows: cells.length,
						Cut: cells.filter((e) => e.scrollWidth > e.clientWidth + 1 || e.getBoundingClientRect().right > innerWidth).length};
				})()`)
				if s.Play > float64(size.h) || !(s.Play < s.Tempo && s.Tempo < s.Take && s.Take < s.Rest) || s.Open {
					t.Errorf("%s at %d by %d: the controls end at %+v", page, size.w, size.h, s)
				}
				if s.Rows == 0 || s.Cut > 0 {
					t.Errorf("%s at %d: %d of %d cells are cut", page, size.w, s.Cut, s.Rows)
				}
			}
		}
	})
}

// TestLetters: every letter of every page is drawn with a font of the lesson's
// own, whatever the machine has. Chromium tells which fonts it took.
func TestLetters(t *testing.T) {
	dir, _ := sounding(t)
	places(t, dir, func(t *testing.T, base string) {
		b := browser.Open(t)
		for _, enable := range []func() error{
			func() error { _, err := chromedp.Call(b.Ctx, dom.Enable, dom.EnableParams{}); return err },
			func() error { _, err := chromedp.Call(b.Ctx, css.Enable, cdp.Empty{}); return err },
		} {
			if err := enable(); err != nil {
				t.Fatal(err)
			}
		}
		for _, page := range []string{"index.html", "glossary.html", "level-3.html"} {
			b.Open(base+"/"+page, 1200)
			browser.Eval[bool](b, `(document.querySelectorAll("details").forEach((d) => { d.open = true; }), document.body.offsetHeight, document.fonts.ready.then(() => true))`)
			own, other, err := letters(b)
			// The browser hands out a new document when a page has come to its end,
			// and forgets the nodes of the one before.
			for again := 0; err != nil && strings.Contains(err.Error(), "Could not find node") && again < 20; again++ {
				own, other, err = letters(b)
			}
			if err != nil {
				t.Fatal(err)
			}
			if own == 0 || len(other) > 0 {
				t.Errorf("%s: %.0f letters in the lesson's own fonts, and in others: %v", page, own, other)
			}
		}
	})
}

// letters counts those of the page that are drawn with its own fonts, and those
// with others, by family.
func letters(b *browser.Tab) (own float64, other map[string]float64, err error) {
	doc, err := chromedp.Call(b.Ctx, dom.GetDocument, dom.GetDocumentParams{})
	if err != nil {
		return 0, nil, err
	}
	found, err := chromedp.Call(b.Ctx, dom.QuerySelectorAll, dom.QuerySelectorAllParams{NodeID: doc.Root.NodeID, Selector: "body :not(svg, svg *, script)"})
	if err != nil {
		return 0, nil, err
	}
	other = map[string]float64{}
	for _, id := range found.NodeIDs {
		used, err := chromedp.Call(b.Ctx, css.GetPlatformFontsForNode, css.GetPlatformFontsForNodeParams{NodeID: id})
		if err != nil {
			return 0, nil, err
		}
		for _, f := range used.Fonts {
			if f.IsCustomFont {
				own += f.GlyphCount
			} else {
				other[f.FamilyName] += f.GlyphCount
			}
		}
	}
	return own, other, nil
}

// TestValidHTML has every page read by html-validate (npm).
func TestValidHTML(t *testing.T) {
	sharedtest.Module(t, "html-validate")
	node := sharedtest.Tool(t, "node")
	inBoth(t, func(t *testing.T, dir string) {
		config := filepath.Join(t.TempDir(), "rules.json")
		// Off are two matters of taste: inline style carries the measured width of a
		// picture, and SVG is written with its own closing of empty elements.
		rules := `{"root": true, "extends": ["html-validate:recommended"], "rules": {"no-inline-style": "off", "void-style": "off", "long-title": "off"}}`
		if err := os.WriteFile(config, []byte(rules), 0o644); err != nil {
			t.Fatal(err)
		}
		pages, err := filepath.Glob(filepath.Join(dir, "*.html"))
		if err != nil || len(pages) < 4 {
			t.Fatal(pages, err)
		}
		args := append([]string{filepath.Join(sharedtest.Root(), "node_modules", "html-validate", "bin", "html-validate.mjs"), "--config", config, "--formatter", "text"}, pages...)
		out, err := exec.Command(node, args...).CombinedOutput()
		if err != nil || len(out) > 0 {
			if len(out) > 4000 {
				out = out[:4000]
			}
			t.Errorf("%v\n%s", err, out)
		}
	})
}
