package pack_test

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/css"
	"github.com/chromedp/cdproto/dom"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gradatim/internal/pack"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest"
	"gradatim/score"
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

// soundingAt is what ought to be lit at a time of a recording: reckoned from the
// score and the performance's timing, not from what the page says of itself.
func soundingAt(s score.Score, timing perform.Timing, seconds float64) []string {
	at, _, ok := timing.Position(seconds)
	if !ok {
		return nil
	}
	var ids []string
	for _, n := range s.Notes {
		if n.Grace == 0 && n.At <= at && at < n.End() {
			ids = append(ids, n.ID)
		}
	}
	slices.Sort(ids)
	return ids
}

type sample struct {
	Time float64  `json:"t"`
	IDs  []string `json:"ids"`
	Keys []string `json:"keys"`
}

// shown reads off the page what is lit, and when.
const shown = `(() => {
	const now = document.getElementById("sound").currentTime;
	const at = [...document.querySelectorAll(".sheets.wide [data-note]")].map((e) => e.dataset.note);
	return {t: now, ids: [...new Set(at)].sort(), keys: [...document.querySelectorAll("#key-marks [data-key]")].map((e) => e.dataset.key).sort()};
})()`

func TestPlay(t *testing.T) {
	dir, in := sounding(t)
	page := in.Editions[0].Pages[1]
	played, err := perform.Perform(page.Score, perform.Options{CountIn: pack.CountIn})
	if err != nil {
		t.Fatal(err)
	}
	graces := map[string]bool{}
	key := map[string]string{}
	for _, n := range page.Score.Notes {
		graces[n.ID] = n.Grace > 0
		key[n.ID] = fmt.Sprint(n.Pitch.MIDI())
	}
	places(t, dir, func(t *testing.T, base string) {
		b := browser(t)
		b.open(base+"/level-3.html", 1200)
		if eval[bool](b, `document.getElementById("player").hidden`) {
			t.Fatal("the script did not run")
		}
		// Without a count-in, from the first note.
		b.do(chromedp.Click(`#count-in`), chromedp.Click("#play"))
		b.wait(`document.getElementById("sound").currentTime > ` + fmt.Sprint(played.Timing.Start+0.2))
		checked := 0
		for checked < 12 {
			s := eval[sample](b, shown)
			s.IDs = slices.DeleteFunc(s.IDs, func(id string) bool { return graces[id] })
			// A frame or two may lie between the sound and what is drawn of it.
			ok := false
			for back := 0.0; back <= 0.12 && !ok; back += 0.01 {
				ok = slices.Equal(s.IDs, soundingAt(page.Score, played.Timing, s.Time-back))
			}
			if !ok {
				t.Errorf("at %.2f s are lit %v, not %v", s.Time, s.IDs, soundingAt(page.Score, played.Timing, s.Time))
			}
			for _, id := range s.IDs {
				if !slices.Contains(s.Keys, key[id]) {
					t.Errorf("at %.2f s the key of %s is not shown: %v", s.Time, id, s.Keys)
				}
			}
			checked++
			time.Sleep(130 * time.Millisecond)
		}
		b.do(chromedp.Click("#play"))
		if !eval[bool](b, `document.getElementById("sound").paused`) {
			t.Error("pause does not pause")
		}
		// The count-in sounds first, and nothing is lit.
		b.do(chromedp.Click("#count-in"), chromedp.Click("#to-start"), chromedp.Click("#play"))
		b.wait(`document.getElementById("sound").currentTime > 0.15 && document.getElementById("where").textContent === "Count-in"`)
		if s := eval[sample](b, shown); s.Time < played.Timing.Start && len(s.IDs) > 0 {
			t.Errorf("lit during the count-in: %v", s.IDs)
		}
	})
}

// TestPlaces checks the page's own arithmetic at many times, without waiting for
// the sound: the ring is where the timing map says.
func TestPlaces(t *testing.T) {
	dir, in := sounding(t)
	b := browser(t)
	for i, page := range in.Editions[0].Pages {
		b.open(fileURL(filepath.Join(dir, fmt.Sprintf("level-%d.html", page.Level.Number))), 1200)
		played, err := perform.Perform(page.Score, perform.Options{CountIn: pack.CountIn})
		if err != nil {
			t.Fatal(err)
		}
		var times []float64
		for s := played.Timing.Start + 0.013; s < played.Timing.End-0.05; s += 0.23 {
			times = append(times, math.Round(s*1000)/1000)
		}
		list, _ := json.Marshal(times)
		got := eval[[][]string](b, `(`+string(list)+`).map((s) => {
			lesson.go(lesson.position(lesson.data.timings[0], s));
			return [...new Set([...document.querySelectorAll(".sheets.wide [data-note]")].map((e) => e.dataset.note))].sort();
		})`)
		graces := map[string]bool{}
		for _, n := range page.Score.Notes {
			graces[n.ID] = n.Grace > 0
		}
		for k, s := range times {
			ids := slices.DeleteFunc(got[k], func(id string) bool { return graces[id] })
			near := false // a time that falls on a note's very edge may go either way
			for _, e := range []float64{0, -0.003, 0.003} {
				near = near || slices.Equal(ids, soundingAt(page.Score, played.Timing, s+e))
			}
			if !near {
				t.Errorf("page %d, %.3f s: lit %v, not %v", i, s, ids, soundingAt(page.Score, played.Timing, s))
			}
		}
		// Each ring lies on the head of its note.
		off := eval[[]string](b, `[...document.querySelectorAll(".sheets.wide [data-note]")].filter((e) => {
			const head = document.getElementById("w-" + e.dataset.note);
			if (!head) return true;
			const r = e.getBoundingClientRect(), h = head.getBoundingClientRect();
			const x = (r.left + r.right) / 2, y = (r.top + r.bottom) / 2;
			return x < h.left - 3 || x > h.right + 3 || y < h.top - 3 || y > h.bottom + 3;
		}).map((e) => e.dataset.note)`)
		if len(off) > 0 {
			t.Errorf("rings beside their notes: %v", off)
		}
		// Hands by shape: circles for the right, squares for the left.
		if wrong := eval[int](b, `document.querySelectorAll("circle.ring.L, rect.ring.R, circle.keymark.L, rect.keymark.R").length`); wrong > 0 {
			t.Errorf("%d marks have the other hand's shape", wrong)
		}
	}
}

func TestTempoAndHands(t *testing.T) {
	dir, _ := sounding(t)
	b := browser(t)
	b.open(fileURL(dir)+"/level-1.html", 1200)
	// By keyboard: ten steps of five per cent down.
	b.do(chromedp.Focus("#tempo"))
	for range 10 {
		b.press(arrowLeft)
	}
	if got := eval[string](b, `document.getElementById("tempo-out").textContent`); got != "50 %, quarter = "+fmt.Sprint(eval[int](b, `Math.round(lesson.data.perMinute / 2)`)) {
		t.Errorf("the tempo reads %q", got)
	}
	b.do(chromedp.Click("#count-in"), chromedp.Click("#play"))
	b.wait(`document.getElementById("sound").currentTime > lesson.data.timings[0].start + 0.1`)
	if !eval[bool](b, `(() => { const a = document.getElementById("sound"); return Math.abs(a.playbackRate - 0.5) < 1e-6 && a.preservesPitch; })()`) {
		t.Error("half the tempo is not half the rate, or does not keep the pitch")
	}
	rate := eval[float64](b, `new Promise((done) => {
		const a = document.getElementById("sound"), t0 = performance.now(), s0 = a.currentTime;
		setTimeout(() => done((a.currentTime - s0) / (performance.now() - t0) * 1000), 1500);
	})`)
	if rate < 0.4 || rate > 0.6 {
		t.Errorf("at half the tempo the sound runs at %.2f", rate)
	}
	// Another recording goes on from the same place.
	before := eval[float64](b, `lesson.now()`)
	b.do(chromedp.SetValue("#take", "left"))
	eval[bool](b, `document.getElementById("take").dispatchEvent(new Event("change"))`)
	b.wait(`document.getElementById("sound").src.endsWith("level-1.left.mp3") && document.getElementById("sound").readyState >= 2`)
	after := eval[float64](b, `lesson.now()`)
	if after < before-200 || after > before+5040*4 {
		t.Errorf("from %.0f the change of hands went to %.0f", before, after)
	}
	if n := eval[int](b, `document.querySelectorAll(".ring.R").length`); n > 0 {
		t.Errorf("the left hand alone lights %d notes of the right", n)
	}
}

const (
	arrowLeft  = "\u0302"
	arrowRight = "\u0303"
)

func TestLoop(t *testing.T) {
	dir, _ := sounding(t)
	places(t, dir, func(t *testing.T, base string) {
		b := browser(t)
		b.open(base+"/level-1.html", 1200)
		// Drag from bar 2 to bar 3.
		type point struct{ X, Y float64 }
		at := func(bar int) point {
			return eval[point](b, fmt.Sprintf(`(() => { const z = document.querySelectorAll(".sheets.wide .barzone")[%d]; z.scrollIntoView({block: "center", behavior: "instant"});
				const r = z.getBoundingClientRect(); return {X: r.left + r.width / 2, Y: r.top + r.height / 2}; })()`, bar))
		}
		to := at(3)
		from := at(2)
		to = at(3)
		b.mouse(input.DispatchMouseEventTypeMousePressed, from.X, from.Y)
		b.mouse(input.DispatchMouseEventTypeMouseMoved, (from.X+to.X)/2, (from.Y+to.Y)/2)
		b.mouse(input.DispatchMouseEventTypeMouseMoved, to.X, to.Y)
		b.mouse(input.DispatchMouseEventTypeMouseReleased, to.X, to.Y)
		if got := eval[string](b, `document.getElementById("from").value + "-" + document.getElementById("to").value`); got != "2-3" {
			t.Errorf("dragged over bars %s", got)
		}
		if n := eval[int](b, `document.querySelectorAll(".sheets.wide .barzone.chosen").length`); n != 2 {
			t.Errorf("%d bars are marked", n)
		}
		// One bar, faster: it comes back.
		eval[bool](b, `(document.getElementById("to").value = 2, document.getElementById("to").dispatchEvent(new Event("change")))`)
		b.do(chromedp.Click("#count-in"))
		b.do(chromedp.Click("#play"))
		b.wait(`lesson.loops() >= 2`)
		for range 8 {
			if bar := eval[float64](b, `lesson.now()`); bar < eval[float64](b, `lesson.data.bars[2].at`)-900 || bar > eval[float64](b, `lesson.data.bars[2].end`)+900 {
				t.Errorf("the repeat of bar 2 is at %.0f", bar)
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
}

// TestKeyboardAlone walks through a page with keys only.
func TestKeyboardAlone(t *testing.T) {
	dir, _ := sounding(t)
	b := browser(t)
	b.open(fileURL(dir)+"/index.html", 1200)
	focus := func() string {
		return eval[string](b, `(() => { const e = document.activeElement; return e.id || e.getAttribute("href") || e.getAttribute("data-layout") || e.className || e.tagName; })()`)
	}
	walk := func(to string, most int) {
		t.Helper()
		for range most {
			b.press("\t")
			if focus() == to {
				return
			}
		}
		t.Fatalf("no way to %s by the tab key; at %s", to, focus())
	}
	walk("#main", 1) // the skip link comes first
	walk("level-1.html", 12)
	b.press("\r")
	b.wait(`location.href.endsWith("level-1.html") && window.lesson`)
	walk("play", 40)
	b.press("\r")
	b.wait(`!document.getElementById("sound").paused`)
	b.press("p")
	b.wait(`document.getElementById("sound").paused`)
	bar := func() int {
		return eval[int](b, `lesson.data.bars.findIndex((x) => x.at <= lesson.now() && lesson.now() < x.end)`)
	}
	was := bar()
	b.press("]")
	if got := bar(); got != was+1 {
		t.Errorf("] goes from bar %d to %d", was, got)
	}
	b.press("[")
	if got := bar(); got != was {
		t.Errorf("[ goes back to bar %d, not %d", got, was)
	}
	walk("tempo", 3)
	b.press(arrowLeft)
	walk("take", 1)
	walk("count-in", 8)
	b.press(" ")
	walk("w", 8)
	b.press(arrowRight)
	b.press(arrowRight)
	b.press(arrowRight, chromedp.ModifierShift)
	if got := eval[string](b, `document.getElementById("from").value + "-" + document.getElementById("to").value`); got != "2-3" {
		t.Errorf("chosen by keys: bars %s", got)
	}
	if got := eval[string](b, `document.querySelector("#player [role=status]").textContent`); !strings.Contains(got, "bar 3") || !strings.Contains(got, "repeat") {
		t.Errorf("said: %q", got)
	}
	b.press("\u001b")
	if eval[bool](b, `lesson.state.looped`) {
		t.Error("Escape does not end the repeat")
	}
	// Commands are silent in fields, and can be turned off.
	b.do(chromedp.Focus("#from"))
	b.press("p")
	if !eval[bool](b, `document.getElementById("sound").paused`) {
		t.Error("a letter in a field plays")
	}
	b.do(chromedp.Focus("#keys-on"))
	b.press(" ")
	b.do(chromedp.Focus("#play"))
	b.press("p")
	if !eval[bool](b, `document.getElementById("sound").paused`) {
		t.Error("a letter plays though the commands are off")
	}
}

func TestWithoutScript(t *testing.T) {
	dir, in := sounding(t)
	b := browser(t)
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: true}); err != nil {
		t.Fatal(err)
	}
	b.open(fileURL(dir)+"/level-3.html", 1200)
	type state struct {
		Player, Dock                bool
		Audio, Music, Rows, Visible int
		Text                        string
	}
	s := eval[state](b, `({Player: document.getElementById("player").hidden, Dock: document.getElementById("dock").hidden,
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
	axe, err := os.ReadFile(filepath.Join(sharedtest.Root(), "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	dir, _ := sounding(t)
	srv := httptest.NewServer(http.FileServer(http.Dir(dir))) // axe reads the style sheet again, which a folder forbids
	defer srv.Close()
	b := browser(t)
	for _, page := range []string{"index.html", "glossary.html", "level-1.html", "level-3.html"} {
		for _, look := range []struct {
			width  int64
			scheme string
		}{{1200, "light"}, {320, "dark"}} {
			if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: look.scheme}}}); err != nil {
				t.Fatal(err)
			}
			b.open(srv.URL+"/"+page, look.width)
			eval[bool](b, `(document.querySelectorAll("details").forEach((d) => { d.open = true; }), true)`)
			if over := eval[[]string](b, `document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")]
				.filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".scroll, .keys-scroll, svg")).map((e) => e.tagName + "." + e.className + "#" + e.id).slice(0, 5).concat("wider than the window")`); len(over) > 0 {
				t.Errorf("%s at %d: %v", page, look.width, over)
			}
			eval[bool](b, string(axe)+"\n;true")
			found := eval[[]string](b, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
				r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | ")))`)
			for _, f := range found {
				t.Errorf("%s at %d, %s: %s", page, look.width, look.scheme, f)
			}
		}
	}
}

// On a phone Play stands in the first screen, before what else there is to set,
// and no table of words must be pushed sideways to be read.
func TestPhone(t *testing.T) {
	dir, _ := sounding(t)
	b := browser(t)
	for _, size := range []struct{ w, h int64 }{{390, 844}, {320, 568}} {
		for _, page := range []string{"level-1.html", "level-3.html"} {
			b.do(chromedp.EmulateViewport(size.w, size.h), chromedp.Navigate(fileURL(dir)+"/"+page))
			b.wait(`window.lesson`)
			eval[bool](b, `(document.body.offsetHeight, document.fonts.ready.then(() => true))`)
			type state struct {
				Play, Tempo, Take, Rest float64
				Open                    bool
				Rows, Cut               int
			}
			s := eval[state](b, `(() => {
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
}

// TestLetters: every letter of every page is drawn with a font of the lesson's
// own, whatever the machine has. Chromium tells which fonts it took.
func TestLetters(t *testing.T) {
	dir, _ := sounding(t)
	places(t, dir, func(t *testing.T, base string) {
		b := browser(t)
		for _, enable := range []func() error{
			func() error { _, err := chromedp.Call(b.ctx, dom.Enable, dom.EnableParams{}); return err },
			func() error { _, err := chromedp.Call(b.ctx, css.Enable, cdp.Empty{}); return err },
		} {
			if err := enable(); err != nil {
				t.Fatal(err)
			}
		}
		for _, page := range []string{"index.html", "glossary.html", "level-3.html"} {
			b.open(base+"/"+page, 1200)
			eval[bool](b, `(document.querySelectorAll("details").forEach((d) => { d.open = true; }), document.body.offsetHeight, document.fonts.ready.then(() => true))`)
			doc, err := chromedp.Call(b.ctx, dom.GetDocument, dom.GetDocumentParams{})
			if err != nil {
				t.Fatal(err)
			}
			found, err := chromedp.Call(b.ctx, dom.QuerySelectorAll, dom.QuerySelectorAllParams{NodeID: doc.Root.NodeID, Selector: "body :not(svg, svg *, script)"})
			if err != nil {
				t.Fatal(err)
			}
			own, other := 0.0, map[string]float64{}
			for _, id := range found.NodeIDs {
				used, err := chromedp.Call(b.ctx, css.GetPlatformFontsForNode, css.GetPlatformFontsForNodeParams{NodeID: id})
				if err != nil {
					t.Fatal(err)
				}
				for _, f := range used.Fonts {
					if f.IsCustomFont {
						own += f.GlyphCount
					} else {
						other[f.FamilyName] += f.GlyphCount
					}
				}
			}
			if own == 0 || len(other) > 0 {
				t.Errorf("%s: %.0f letters in the lesson's own fonts, and in others: %v", page, own, other)
			}
		}
	})
}

// TestValidHTML has every page read by html-validate (npm).
func TestValidHTML(t *testing.T) {
	sharedtest.Module(t, "html-validate")
	node := sharedtest.Tool(t, "node")
	dir, _ := sounding(t)
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
}
