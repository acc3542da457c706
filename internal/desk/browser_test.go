package desk

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
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
)

// tab is the desk in a real browser, with all that the browser complains of.
type tab struct {
	t    *testing.T
	ctx  context.Context
	base string

	mu       sync.Mutex
	troubles []string
}

// browser starts Chromium.
func browser(t *testing.T, base string) *tab {
	t.Helper()
	opts := append(slices.Clone(chromedp.DefaultExecAllocatorOptions[:]), chromedp.ExecPath(sharedtest.Tool(t, "chromium")), chromedp.NoSandbox,
		chromedp.Flag("disable-gpu", true), chromedp.Flag("disable-quic", true), chromedp.Flag("disable-background-networking", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("disable-sync", true), chromedp.Flag("mute-audio", true), chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		chromedp.UserDataDir(t.TempDir()))
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	t.Cleanup(cancel)
	ctx, cancel = chromedp.NewContext(ctx)
	t.Cleanup(cancel)
	ctx, cancel = context.WithTimeout(ctx, 5*time.Minute) // far more than it takes, but on a busy machine
	t.Cleanup(cancel)
	b := &tab{t: t, ctx: ctx, base: base}
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
				text = "log: " + ev.Entry.Text + " " + ev.Entry.URL
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

func (b *tab) open(path string, width int64) {
	b.t.Helper()
	b.do(chromedp.EmulateViewport(width, 900), chromedp.Navigate(b.base+path))
}

// eval runs an expression, which may be a promise.
func eval[T any](b *tab, js string) T {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	// While one page takes the place of another there is none to ask.
	for again := 0; err != nil && strings.Contains(err.Error(), "Not attached") && again < 20; again++ {
		time.Sleep(20 * time.Millisecond)
		v, err = chromedp.Run(b.ctx, chromedp.Evaluate[T](js, chromedp.EvalAwaitPromise))
	}
	if err != nil {
		b.t.Fatalf("%s: %v", js, err)
	}
	return v
}

// wait waits until an expression is true, also over a page that is left meanwhile.
func (b *tab) wait(js string) {
	b.t.Helper()
	for end := time.Now().Add(time.Minute); time.Now().Before(end); time.Sleep(20 * time.Millisecond) {
		if ok, err := chromedp.Run(b.ctx, chromedp.Evaluate[bool]("!!("+js+")")); err == nil && ok {
			return
		}
	}
	b.t.Fatalf("not in a minute: %s; the page says %q", js, eval[string](b, `document.body.innerText.slice(0, 500)`))
}

// press presses keys one after another, when the page listens to them.
func (b *tab) press(keys string, mods ...chromedp.Modifier) {
	b.t.Helper()
	b.wait(`document.documentElement.dataset.ready`)
	b.do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(mods...)))
}

// click clicks, also where that leaves the page before it is answered; what comes of it is
// for who waits.
func (b *tab) click(selector string) {
	b.t.Helper()
	b.wait(fmt.Sprintf("document.querySelector(%q)", selector))
	chromedp.Run(b.ctx, chromedp.Evaluate[bool](fmt.Sprintf("(document.querySelector(%q).click(), true)", selector)))
}

// tabTo goes with the Tab key alone to an element, as far as a page is long.
func (b *tab) tabTo(selector string) {
	b.t.Helper()
	for range 80 {
		b.press("\t")
		if eval[bool](b, fmt.Sprintf("document.activeElement.matches(%q)", selector)) {
			return
		}
	}
	b.t.Fatalf("Tab does not come to %s", selector)
}

// shot keeps a picture of the page where SHOTS names a folder, to be looked at.
func (b *tab) shot(name string) {
	b.t.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(90))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".jpg"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) script(on bool) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetScriptExecutionDisabled, emulation.SetScriptExecutionDisabledParams{Value: !on}); err != nil {
		b.t.Fatal(err)
	}
}

func (b *tab) scheme(scheme string) {
	b.t.Helper()
	if _, err := chromedp.Call(b.ctx, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}, {Name: "prefers-reduced-motion", Value: "reduce"}}}); err != nil {
		b.t.Fatal(err)
	}
}

// fits looks for sideways scrolling (WCAG 2.2, 1.4.10 Reflow).
func (b *tab) fits(name string) {
	b.t.Helper()
	if over := eval[[]string](b, `document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("body *")]
		.filter((e) => e.getBoundingClientRect().right > innerWidth + 1 && !e.closest(".music, svg")).map((e) => e.tagName + "." + e.className + "#" + e.id).slice(0, 5).concat("wider than the window")`); len(over) > 0 {
		b.t.Errorf("%s: %v", name, over)
	}
}

// accessible runs axe-core (Deque, the npm package axe-core; rules of WCAG 2.0 to 2.2, A
// and AA) over the page.
func (b *tab) accessible(axe, name string) {
	b.t.Helper()
	eval[bool](b, axe+"\n;true")
	for _, f := range eval[[]string](b, `axe.run(document, {runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]}).then((r) =>
		r.violations.map((v) => v.id + ": " + v.help + ": " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 160) + " " + n.failureSummary).join(" | ")))`) {
		b.t.Errorf("%s: %s", name, f)
	}
}

// TestBrowser goes through the desk in a real browser: every view at the width of a desk
// and of a phone, in light and dark; a tune from a pasted text to a change and back, by the
// keyboard alone; the same without script.
func TestBrowser(t *testing.T) {
	engraves(t)
	if testing.Short() {
		t.Skip("starts a browser")
	}
	sharedtest.Module(t, "axe-core")
	axe, err := os.ReadFile(filepath.Join(sharedtest.Root(), "node_modules", "axe-core", "axe.min.js"))
	if err != nil {
		t.Fatal(err)
	}
	r := atDesk(t, Config{})
	b := browser(t, r.base)
	b.scheme("light")
	b.open("/enter?key="+r.desk.Key(), 1280)
	b.wait(`document.querySelector("#text")`)
	b.shot("empty")

	// By the keyboard alone: the text of a tune is pasted, and the tune heard.
	b.tabTo("#text")
	eval[bool](b, fmt.Sprintf("document.execCommand('insertText', false, %q)", ferryLamp))
	b.press("\t")
	b.press("\r")
	b.wait(`document.querySelector("#sheet-form")`)
	id := strings.TrimPrefix(eval[string](b, "location.pathname"), "/tunes/")
	if eval[string](b, "location.search") != "" {
		t.Error("what was done is told again after a reload")
	}
	b.tabTo("#text")
	b.do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	eval[bool](b, fmt.Sprintf("document.execCommand('insertText', false, %q)", strings.Replace(ferryLamp, `"Em"e d B G`, `"Emqq"e d B`, 1)))
	b.wait(`document.querySelector("#look").textContent.includes("Emqq")`)
	b.shot("sheet-live")
	b.open("/tunes/"+id, 1280) // what was typed is there again
	if !strings.Contains(eval[string](b, `document.querySelector("#text").value`), "Emqq") {
		t.Error("what was typed is lost")
	}
	b.press("?")
	if !eval[bool](b, `document.querySelector("#keys").open`) {
		t.Error("? does not open the list of keys")
	}
	b.press("\x1b")

	r.choose(id, 0, 2, 1, "Cm")
	r.choose(id, 1, 3, 5, "Cm")
	b.open("/tunes/"+id+"/listen?level=2", 1280)
	b.press("p")
	b.wait(`document.querySelector("form.player").dataset.playing === "1"`)
	b.wait(`document.querySelector(".strip .sounding")`)
	b.shot("listen-playing")
	b.press("s")
	b.wait(`document.querySelector("form.player").dataset.playing === ""`)
	if ms := eval[float64](b, `performance.getEntriesByName("first-sound")[0].duration`); ms <= 0 {
		t.Errorf("the first sound came after %g ms", ms)
	}
	b.press("u")
	b.wait(`document.body.textContent.includes("Taken back.")`)
	if c := r.choices(id); strings.Contains(c, "bar = 5") || !strings.Contains(c, "bar = 1") {
		t.Errorf("after u:\n%s", c)
	}
	b.press("y")
	b.wait(`document.body.textContent.includes("There again.")`)

	// One bar at every level, by the keyboard: on to the next, and another way taken.
	b.open("/tunes/"+id+"/bar/3?level=2", 1280)
	b.press("j")
	b.wait(`document.querySelector("h1").textContent === "Bar 4"`)
	b.tabTo(`button[name="way"]`)
	b.press("\r")
	b.wait(`document.body.textContent.includes("Done, and kept.") && document.querySelector("#level-2 h2 .mark")`)
	if c := r.choices(id); !strings.Contains(c, "level = 2\nbar = 4\n") {
		t.Errorf("after a way was taken:\n%s", c)
	}
	b.wait(`document.querySelector(".notes tbody a")`) // the page may still be coming
	why := eval[string](b, `document.querySelector(".notes tbody a").getAttribute("href")`)

	// Every view, wide and narrow.
	bare := r.add(strings.NewReplacer(`"G"`, "", `"Em"`, "", `"C"`, "", `"D7"`, "", `"Am"`, "", "Ferry", "Bare").Replace(ferryLamp))
	for i, look := range []struct {
		width  int64
		scheme string
	}{{1280, "light"}, {320, "dark"}} {
		b.scheme(look.scheme)
		for j, v := range [][2]string{{"tunes", "/"}, {"keys", "/keys"}, {"sheet", "/tunes/" + id}, {"sheet-bare", "/tunes/" + bare}, {"listen", "/tunes/" + id + "/listen?level=2"},
			{"history", "/tunes/" + id + "/history"}, {"compare", "/tunes/" + id + "/compare?a=0&level=2"}, {"rights", "/tunes/" + id + "/rights"}, {"lesson", "/tunes/" + id + "/lesson"},
			{"whole", "/tunes/" + id + "/whole"}, {"bar", "/tunes/" + id + "/bar/4?level=2"}, {"why", why}, {"other", "/tunes/" + id + "/other?level=3&key=Eb&hand=octave"}} {
			b.open(v[1], look.width)
			name := fmt.Sprintf("%s-%d", v[0], look.width)
			b.fits(name)
			if (i+j)%sharedtest.Every(2, 2) == 0 { // each view at one of the two widths, in make soak at both
				b.accessible(string(axe), name)
			}
			b.shot(name)
		}
	}

	// Without script: the same by forms.
	b.script(false)
	b.scheme("light")
	b.open("/tunes/"+id+"/listen?level=2&from=1&to=2", 1280)
	if n := eval[int](b, `document.querySelectorAll("audio[controls]").length + 10 * [...document.querySelectorAll(".with-script")].filter((e) => e.offsetParent).length`); n != 1 {
		t.Errorf("without script: %d", n)
	}
	b.click(`[data-key="undo"]`)
	b.wait(`document.body.textContent.includes("Taken back.")`)
	b.open("/tunes/"+id+"/bar/6?level=2", 1280)
	b.click(`button[name="way"]`)
	b.wait(`document.querySelector("#level-2 h2 .mark")`)
	b.open("/tunes/"+id, 1280)
	b.click(`button[value="look"]`)
	b.wait(`document.querySelector(".look-result img")`)
	b.shot("no-script")
	b.open("/", 320)
	b.shot("no-script-320")

	// What a page loads at first: script and style together.
	b.script(true)
	b.open("/tunes/"+id, 1280)
	b.wait(`document.readyState === "complete"`)
	if bytes := eval[int](b, `performance.getEntriesByType("resource").filter((e) => /\.(js|css)$/.test(e.name)).reduce((n, e) => n + e.decodedBodySize, 0)`); bytes == 0 || bytes > 200_000 {
		t.Errorf("script and style are %d bytes", bytes)
	} else {
		t.Logf("script and style: %d bytes", bytes)
	}
}
