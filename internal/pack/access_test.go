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
	for _, want := range []string{"Learn", "Chords", "Drills", "Practice", "Downloads"} {
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
		for _, page := range []string{"index.html", "glossary.html", "teacher.html", "level-3-homework.html", "level-1.html", "level-3.html", "level-3-learn.html", "level-3-chords.html", "level-3-drills.html", "level-3-practice.html"} {
			for _, look := range []struct {
				width  int64
				scheme string
			}{{1200, "light"}, {320, "dark"}} {
				b.Scheme(look.scheme)
				b.Open(srv.URL+"/"+page, look.width)
				browser.Eval[bool](b, `(document.querySelectorAll("details").forEach((d) => { d.open = true; }), document.getElementById("more")?.click(), true)`)
				name := fmt.Sprintf("%s at %d, %s", page, look.width, look.scheme)
				b.Fits(".scroll, .keys-box, .sheets, svg", name)
				b.Accessible(name)
			}
		}
	})
}

// On a phone the first screen has the score, the controls, and every key that its first
// line uses, wide enough to be read; they stay there while the score moves, also when bars
// are chosen by two taps. No table of words must be pushed sideways to be read.
func TestPhone(t *testing.T) {
	inBoth(t, func(t *testing.T, dir string) {
		b := browser.Open(t)
		for _, size := range []struct{ w, h int64 }{{390, 665}, {320, 568}} {
			for _, page := range []string{"level-1.html", "level-3.html"} {
				where := fmt.Sprintf("%s at %d by %d", page, size.w, size.h)
				b.Do(chromedp.EmulateViewport(size.w, size.h), chromedp.Navigate(fileURL(dir)+"/"+page))
				b.Wait(`window.lesson`)
				browser.Eval[bool](b, `(document.body.offsetHeight, document.fonts.ready.then(() => true))`)
				type state struct {
					Line, Dock, Head, Play, Tempo, Keys float64
					Cut, Wide                           int
					Key, Letter                         float64
				}
				look := func() state {
					return browser.Eval[state](b, `(() => {
						const at = (id) => document.getElementById(id).getBoundingClientRect();
						const line = lesson.data.bars.filter((x) => lesson.data.boxes.n[x.id][0] === 0), board = at("keyboard");
						const used = lesson.data.notes.filter((n) => n.at < line[line.length - 1].end).map((n) => at("key-" + n.k));
						return {Line: document.querySelector(".narrow .music").getBoundingClientRect().top, Dock: at("dock").top, Head: document.querySelector(".top").offsetHeight,
							Letter: Math.min(...[...document.querySelectorAll(".keylabel, .octave")].map((e) => parseFloat(getComputedStyle(e).fontSize) * e.getScreenCTM().a)), Play: at("play").bottom, Tempo: at("tempo").bottom, Keys: board.bottom,
							Cut: used.filter((r) => r.left < board.left - 1 || r.right > board.right + 1).length, Wide: document.documentElement.scrollWidth,
							Key: document.querySelector("#keyboard .white").getBoundingClientRect().width};
					})()`)
				}
				s := look()
				h := float64(size.h)
				// WCAG 2.2, 2.5.8, asks 24 pixels of what is pressed; a key is only looked at: as
				// wide as a finger number in small print, by eye.
				if s.Line > s.Dock-40 || s.Play > h || s.Tempo > h || s.Keys > h || s.Cut > 0 || s.Wide > int(size.w) || s.Key < 9 || s.Letter < 10.9 {
					t.Errorf("%s: %+v", where, s)
				}
				// By eye, no source: what is read has two thirds of a common phone's window.
				if size.w == 390 && h-s.Dock+s.Head > h/3 {
					t.Errorf("%s: head and foot take %.0f of %.0f pixels", where, h-s.Dock+s.Head, h)
				}
				browser.Eval[bool](b, `(scrollTo({top: 600, behavior: "instant"}), true)`)
				if moved := look(); moved.Line >= s.Line || moved.Play != s.Play || moved.Keys != s.Keys {
					t.Errorf("%s: with the score the controls move from %+v to %+v", where, s, moved)
				}
				browser.Eval[bool](b, `(document.getElementById("pick").click(), [2, 3].forEach((k) => { const z = document.querySelectorAll(".sheets.narrow .barzone")[k];
					z.scrollIntoView({block: "start", behavior: "instant"}); const r = z.getBoundingClientRect(), e = {bubbles: true, button: 0, pointerId: 1, clientX: r.left + r.width / 2, clientY: r.top + 3};
					z.dispatchEvent(new PointerEvent("pointerdown", e)); z.dispatchEvent(new PointerEvent("pointerup", e)); }), true)`)
				if got := browser.Eval[string](b, `lesson.state.from + "-" + lesson.state.to + document.getElementById("pick").getAttribute("aria-pressed")`); got != "2-3false" {
					t.Errorf("%s: two taps choose %s", where, got)
				}
			}
			// The keyboard folds away, which is remembered.
			unfolded := browser.Eval[float64](b, `(scrollTo({top: 0, behavior: "instant"}), document.getElementById("dock").offsetHeight)`)
			b.Do(chromedp.Click("#fold"), chromedp.Navigate(fileURL(dir)+"/level-1.html"))
			b.Wait(`window.lesson`)
			if folded := browser.Eval[float64](b, `document.getElementById("dock").offsetHeight`); folded > unfolded-40 {
				t.Errorf("at %d: folded, the foot is %.0f pixels high, and was %.0f", size.w, folded, unfolded)
			}
			b.Do(chromedp.Click("#fold"), chromedp.Navigate(fileURL(dir)+"/level-3-practice.html"))
			type table struct{ Rows, Cut int }
			browser.Eval[bool](b, `(document.body.offsetHeight, document.fonts.ready.then(() => true))`)
			s := browser.Eval[table](b, `(() => {
				const cells = [...document.querySelectorAll("table.stack tbody > tr > *")].filter((e) => e.textContent.trim());
				return {Rows: cells.length, Cut: cells.filter((e) => e.scrollWidth > e.clientWidth + 1 || e.getBoundingClientRect().right > innerWidth).length};
			})()`)
			if s.Rows == 0 || s.Cut > 0 {
				t.Errorf("at %d: %d of %d cells are cut", size.w, s.Cut, s.Rows)
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
		for _, page := range []string{"index.html", "glossary.html", "level-3.html", "level-3-learn.html", "level-3-chords.html"} {
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
