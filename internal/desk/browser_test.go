package desk

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

// tab is the desk in a real browser.
type tab struct {
	*browser.Tab
	base string
}

func (b tab) open(path string, width int64) {
	b.T.Helper()
	b.Open(b.base+path, width)
}

// press presses keys one after another, when the page listens to them.
func (b tab) press(keys string, mods ...chromedp.Modifier) {
	b.T.Helper()
	b.Wait(`document.documentElement.dataset.ready`)
	b.Press(keys, mods...)
}

// click clicks, also where that leaves the page before it is answered; what comes of it is
// for who waits.
func (b tab) click(selector string) {
	b.T.Helper()
	b.Wait(fmt.Sprintf("document.querySelector(%q)", selector))
	chromedp.Run(b.Ctx, chromedp.Evaluate[bool](fmt.Sprintf("(document.querySelector(%q).click(), true)", selector)))
}

// tabTo goes with the Tab key alone to an element, as far as a page is long.
func (b tab) tabTo(selector string) {
	b.T.Helper()
	for range 80 {
		b.press("\t")
		if browser.Eval[bool](b.Tab, fmt.Sprintf("document.activeElement.matches(%q)", selector)) {
			return
		}
	}
	b.T.Fatalf("Tab does not come to %s", selector)
}

// shot keeps a picture of the page where SHOTS names a folder, to be looked at.
func (b tab) shot(name string) {
	b.T.Helper()
	dir := os.Getenv("SHOTS")
	if dir == "" {
		return
	}
	browser.Eval[bool](b.Tab, `Promise.all([...document.images].map((i) => { i.loading = "eager"; return i.decode().catch(() => 0); })).then(() => (window.scrollTo({ top: 0, behavior: "instant" }), true))`)
	png, err := chromedp.Run(b.Ctx, chromedp.FullScreenshot(90))
	if err != nil {
		b.T.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".jpg"), png, 0o644); err != nil {
		b.T.Fatal(err)
	}
}

// reached looks for what can be pressed that is smaller than 24 by 24 px (WCAG 2.2, 2.5.8
// Target Size), drawings apart, whose bars stand as links above them; and for letters
// smaller than 12 px.
func (b tab) reached(name string) {
	b.T.Helper()
	for _, f := range browser.Eval[[]string](b.Tab, `[...document.querySelectorAll("main a, main button, main summary, main select, main input:not([type=hidden])")].filter((e) => {
		const r = e.getBoundingClientRect();
		return !e.closest("svg, label") && e.checkVisibility() && (r.width < 24 || r.height < 24);
	}).map((e) => "small: " + e.outerHTML.slice(0, 120)).slice(0, 5).concat([...document.querySelectorAll("body *")].filter((e) =>
		[...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim()) && e.checkVisibility() && parseFloat(getComputedStyle(e).fontSize) < 12).map((e) => "small letters: " + e.outerHTML.slice(0, 120)).slice(0, 5))`) {
		b.T.Errorf("%s: %s", name, f)
	}
}

// notes enters notes from the keys on the screen, from the computer's, and from a keyboard
// of MIDI messages (MIDI 1.0: note on and off, a velocity of 0 is off).
func (b tab) notes(r *reader) {
	b.T.Helper()
	id := r.add("X:1\nT:Keys\nM:3/4\nL:1/8\nK:D\n\"D\"d2 f2 a2|\n")
	b.open("/tunes/"+id+"/sheet", 1280)
	b.Wait(`document.documentElement.dataset.ready && !document.querySelector("#entry").hidden`)
	browser.Eval[bool](b.Tab, `(document.querySelector("#text").setSelectionRange(0, 0), document.querySelector('[data-midi="65"]').click(), document.querySelector("#entry-piano").focus(), true)`)
	b.Press("gc2.b 8e")
	b.Press(kb.ArrowUp)
	browser.Eval[bool](b.Tab, `(navigator.requestMIDIAccess = async () => ({ inputs: new Map([["a", window.fake = {}]]) }), document.querySelector("#entry-midi").click(), true)`)
	b.Wait(`window.fake?.onmidimessage`)
	browser.Eval[bool](b.Tab, `([[0x90, 66, 80], [0x90, 66, 0], [0x91, 65, 1], [0x81, 65, 0], [0xb0, 64, 127]].forEach((m) => fake.onmidimessage({ data: m, timeStamp: 0 })), true)`)
	const want = "\"D\"d2 f2 a2|=F2 G2 c2|B6|z6|e'3/2 F3/2 =F3/2"
	if got := browser.Eval[string](b.Tab, `document.querySelector("#text").value`); !strings.Contains(got, want) {
		b.T.Errorf("the keys wrote\n%s\nwant %s", got, want)
	}
	if said := browser.Eval[string](b.Tab, `document.querySelector("#entry-said").textContent`); said != "F, dotted eighth" {
		b.T.Errorf("the last note is called %q", said)
	}
	b.Wait(`(look => look.textContent === look.dataset.done)(document.querySelector("#look-state"))`) // the picture follows
	b.shot("entry")
	// In time: what was played goes to the grid; a note ends where the next begins; of two
	// at once the higher is the tune's. A whole note is 2 s here.
	got := browser.Eval[string](b.Tab, `import(document.querySelector("script[type=module]").src.replace("desk.js", "entry.js")).then((m) => JSON.stringify(
		m.quantised([{ midi: 60, from: -0.03, to: 0.4 }, { midi: 64, from: 0.52, to: 1.3 }, { midi: 55, from: 0.49, to: 1.3 }, { midi: 65, from: 0.98, to: 1.01 }, { midi: 67, from: 1.5, to: 2.02 }], 1 / 8, 2).map((n) => [n.midi, n.whole])))`)
	if want := `[[60,0.25],[64,0.25],[65,0.125],[-1,0.125],[67,0.25]]`; got != want {
		b.T.Errorf("in time: %s, want %s", got, want)
	}
	b.Press("\x1b")
}

// finger presses the first note of the bar, which says what it is and why, and drags a finger
// onto it.
func (b tab) finger() {
	b.T.Helper()
	b.Wait(`document.documentElement.dataset.ready && document.querySelector("#bar-notes svg g.note[id]")`)
	said := browser.Eval[string](b.Tab, `(() => {
		const note = document.querySelector("#bar-notes svg g.note[id] .notehead").getBoundingClientRect();
		const at = { bubbles: true, cancelable: true, clientX: note.x + note.width / 2, clientY: note.y + note.height / 2 };
		const figure = document.querySelector("#bar-notes");
		figure.dispatchEvent(new MouseEvent("click", at));
		const said = document.querySelector(".note-said").innerHTML;
		const dataTransfer = new DataTransfer();
		document.querySelector('[data-finger="2"]').dispatchEvent(new DragEvent("dragstart", { bubbles: true, dataTransfer }));
		figure.dispatchEvent(new DragEvent("dragover", { ...at, dataTransfer }));
		figure.dispatchEvent(new DragEvent("drop", { ...at, dataTransfer }));
		return said;
	})()`)
	if !strings.Contains(said, "/why?") || !strings.Contains(said, "hand") {
		b.T.Errorf("of a note that is pressed is said %q", said)
	}
	b.Wait(`document.body.textContent.includes("Done, and kept.") && [...document.querySelectorAll(".rung-facts li")].some((e) => /finger/.test(e.textContent))`)
}

// TestBrowserPreview looks at a lesson before it is made, in a frame that is a stranger: it is
// shown, and nothing that it asks for is refused. That the desk says so is TestPreview's.
func TestBrowserPreview(t *testing.T) {
	engraves(t)
	if os.Getenv("SOAK") != "1" && os.Getenv("SHOTS") == "" {
		t.Skip("makes a lesson in a browser: make soak")
	}
	r := atDesk(t, Config{})
	b := tab{browser.Open(t), r.base}
	b.open("/enter?key="+r.desk.Key(), 1280)
	id := r.add(ferryLamp)
	b.open("/tunes/"+id+"/lesson", 1280)
	b.Wait(`document.documentElement.dataset.ready`)
	browser.Eval[bool](b.Tab, `(document.querySelectorAll('input[name="level"]').forEach((e) => { e.checked = e.value === "1"; }), true)`)
	b.click(`button[formaction]`)
	b.Wait(`document.querySelector("iframe.lesson-frame")`)
	browser.Eval[bool](b.Tab, `new Promise((done) => {
		const f = document.querySelector("iframe");
		f.addEventListener("load", () => requestAnimationFrame(() => requestAnimationFrame(() => done(true))));
		f.src = f.src;
	})`)
	b.Accessible("preview")
	b.shot("preview-1280")
	b.open(browser.Eval[string](b.Tab, `new URL(document.querySelector("iframe").src).pathname`), 1280)
	b.Wait(`document.readyState === "complete" && document.styleSheets.length > 0 && document.querySelector("h1")`)
	if !browser.Eval[bool](b.Tab, `self.origin === "null"`) {
		t.Error("the lesson is at home at the desk")
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
	r := atDesk(t, Config{})
	b := tab{browser.Open(t, chromedp.Flag("autoplay-policy", "no-user-gesture-required")), r.base}
	b.Scheme("light")
	b.open("/enter?key="+r.desk.Key(), 1280)
	b.Wait(`document.querySelector("#text")`)
	b.shot("empty")

	// By the keyboard alone: the text of a tune is pasted, and the tune heard.
	b.tabTo("#text")
	browser.Eval[bool](b.Tab, fmt.Sprintf("document.execCommand('insertText', false, %q)", ferryLamp))
	b.press("\t")
	b.press("\r")
	b.Wait(`location.pathname.endsWith("/whole") && document.documentElement.dataset.ready`) // it opens at its pages
	id := strings.TrimSuffix(strings.TrimPrefix(browser.Eval[string](b.Tab, "location.pathname"), "/tunes/"), "/whole")
	if browser.Eval[string](b.Tab, "location.search") != "" {
		t.Error("what was done is told again after a reload")
	}
	b.tabTo(".tune-places a[href$='/sheet']")
	b.press("\r")
	b.Wait(`document.querySelector("#sheet-form") && document.documentElement.dataset.ready`)
	b.tabTo("#code > summary")
	b.press("\r")
	b.tabTo("#text")
	b.Do(chromedp.KeyEvent("a", chromedp.KeyModifiers(chromedp.ModifierCtrl)))
	browser.Eval[bool](b.Tab, fmt.Sprintf("document.execCommand('insertText', false, %q)", strings.Replace(ferryLamp, `"Em"e d B G`, `"Emqq"e d B`, 1)))
	b.Wait(`document.querySelector("#look").textContent.includes("Emqq") && document.querySelector("#kept").textContent === document.querySelector("#kept").dataset.typed`)
	b.shot("sheet-live")
	b.open("/tunes/"+id+"/sheet", 1280) // what was typed is there again
	if !strings.Contains(browser.Eval[string](b.Tab, `document.querySelector("#text").value`), "Emqq") {
		t.Error("what was typed is lost")
	}
	// The desk is gone: the page says so, keeps what was typed, and goes on when it is back.
	browser.Eval[bool](b.Tab, `(window.there = window.fetch, window.fetch = () => Promise.reject(new TypeError("gone")), true)`)
	b.click(`button[value="keep"]`)
	b.Wait(`!document.querySelector("#away").hidden`)
	if !browser.Eval[bool](b.Tab, `document.querySelector("#text").value.includes("Emqq")`) {
		t.Error("with the desk gone what was typed is lost")
	}
	browser.Eval[bool](b.Tab, `(window.fetch = window.there, true)`)
	b.Wait(`document.querySelector("#away").hidden`)
	b.press("q")
	if !browser.Eval[bool](b.Tab, `document.querySelector("#keys").open`) {
		t.Error("q does not open the list of keys")
	}
	b.press("\x1b")

	b.notes(r)

	r.choose(id, 0, 2, 1, "Cm")
	r.choose(id, 1, 3, 5, "Cm")
	b.open("/tunes/"+id+"/listen?level=2", 1280)
	b.press(" ")
	b.Wait(`document.querySelector("form.player").dataset.playing === "1"`)
	b.Wait(`document.querySelector(".strip .sounding") && document.querySelector(".sounding-keys .key-on")`)
	b.shot("listen-playing")
	b.press("s")
	b.Wait(`document.querySelector("form.player").dataset.playing === ""`)
	if ms := browser.Eval[float64](b.Tab, `performance.getEntriesByName("first-sound")[0].duration`); ms <= 0 {
		t.Errorf("the first sound came after %g ms", ms)
	}
	b.press("u")
	b.Wait(`document.body.textContent.includes("Undone.")`)
	if c := r.choices(id); strings.Contains(c, "bar = 5") || !strings.Contains(c, "bar = 1") {
		t.Errorf("after u:\n%s", c)
	}
	b.press("r")
	b.Wait(`document.body.textContent.includes("Redone.")`)

	// A bar is pressed in the music.
	b.open("/tunes/"+id+"/whole", 1280)
	b.Wait(`document.querySelector(".strips.wide .pressed .measure .press")`)
	browser.Eval[bool](b.Tab, `(setTimeout(() => document.querySelectorAll(".strips.wide .pressed .measure")[2].dispatchEvent(new MouseEvent("click"))), true)`)
	b.Wait(`location.pathname.endsWith("/bar/2") && document.querySelector("h1")?.textContent === "Bar 2"`)

	// One bar at every level, by the keyboard: on to the next, and another way taken.
	b.open("/tunes/"+id+"/bar/3?level=2", 1280)
	b.press(kb.ArrowRight)
	b.Wait(`document.querySelector("h1").textContent === "Bar 4"`)
	b.tabTo(`button[name="way"]`)
	b.press("\r")
	b.Wait(`document.body.textContent.includes("Done, and kept.") && document.querySelector("#level-2 h2 .mark")`)
	if c := r.choices(id); !strings.Contains(c, "level = 2\nbar = 4\n") {
		t.Errorf("after a way was taken:\n%s", c)
	}
	b.finger()
	if c := r.choices(id); !strings.Contains(c, "finger = 2") {
		t.Errorf("after a finger was dragged:\n%s", c)
	}
	b.Wait(`document.querySelector(".notes tbody a")`) // the page may still be coming
	why := browser.Eval[string](b.Tab, `document.querySelector(".notes tbody a").getAttribute("href")`)

	// Every view, wide and narrow.
	bare := r.add(strings.NewReplacer(`"G"`, "", `"Em"`, "", `"C"`, "", `"D7"`, "", `"Am"`, "", "Ferry", "Bare").Replace(ferryLamp))
	for i, look := range []struct {
		width  int64
		scheme string
	}{{1280, "light"}, {320, "dark"}} {
		b.Scheme(look.scheme)
		for j, v := range [][2]string{{"tunes", "/"}, {"keys", "/keys"}, {"sheet", "/tunes/" + id + "/sheet"}, {"sheet-bare", "/tunes/" + bare + "/sheet"}, {"listen", "/tunes/" + id + "/listen?level=2"},
			{"history", "/tunes/" + id + "/history"}, {"compare", "/tunes/" + id + "/compare?a=0&level=2"}, {"rights", "/tunes/" + id + "/rights"}, {"lesson", "/tunes/" + id + "/lesson"},
			{"whole", "/tunes/" + id + "/whole"}, {"plan", "/tunes/" + id + "/plan?level=3"}, {"bar", "/tunes/" + id + "/bar/4?level=2"}, {"why", why}, {"why-chord", "/tunes/" + id + "/why?level=2&bar=4&chord=1"}, {"other", "/tunes/" + id + "/other?level=3&key=Eb&hand=octave"}} {
			b.open(v[1], look.width)
			name := fmt.Sprintf("%s-%d", v[0], look.width)
			b.Fits(".music, svg", name)
			if v[0] == "sheet" { // set for this width; which picture it is, a browser chooses in its own time
				b.Wait(fmt.Sprintf(`((src) => src !== "" && src.endsWith("/narrow") === %t)(document.querySelector("#look img").currentSrc)`, look.width == 320))
			}
			if v[0] == "tunes" && !browser.Eval[bool](b.Tab, `[...document.querySelectorAll(".go-on")].some((a) => a.textContent.includes("Bar 4") || a.href.includes("other"))`) {
				t.Errorf("%s leads to no place where somebody was", name)
			}
			b.reached(name)
			if (i+j)%sharedtest.Every(2, 2) == 0 { // each view at one of the two widths, in make soak at both
				b.Accessible(name)
			}
			b.shot(name)
		}
	}

	// Without script: the same by forms.
	b.Script(false)
	b.Scheme("light")
	b.open("/tunes/"+id+"/listen?level=2&from=1&to=2", 1280)
	if n := browser.Eval[int](b.Tab, `document.querySelectorAll("audio[controls]").length + 10 * [...document.querySelectorAll(".with-script")].filter((e) => e.offsetParent).length`); n != 1 {
		t.Errorf("without script: %d", n)
	}
	b.click(`[data-key="undo"]`)
	b.Wait(`document.body.textContent.includes("Undone.")`)
	b.open("/tunes/"+id+"/bar/6?level=2", 1280)
	b.click(`button[name="way"]`)
	b.Wait(`document.querySelector("#level-2 h2 .mark")`)
	b.open("/tunes/"+id+"/sheet", 1280)
	b.click(`button[value="look"]`)
	b.Wait(`document.querySelector(".look-result img")`)
	b.shot("no-script")
	b.open("/", 320)
	b.shot("no-script-320")

	// What a page loads at first: script and style together.
	b.Script(true)
	b.open("/tunes/"+id+"/sheet", 1280)
	b.Wait(`document.readyState === "complete"`)
	if bytes := browser.Eval[int](b.Tab, `performance.getEntriesByType("resource").filter((e) => /\.(js|css)$/.test(e.name)).reduce((n, e) => n + e.decodedBodySize, 0)`); bytes == 0 || bytes > 200_000 {
		t.Errorf("script and style are %d bytes", bytes)
	} else {
		t.Logf("script and style: %d bytes", bytes)
	}

	// What is shown when something is amiss, to who is not let in, and at the end.
	b.open("/tunes/none", 320)
	b.Expected("404")
	b.Accessible("trouble")
	b.shot("trouble")
	b.click(`form[action="/leave"] button`)
	b.Wait(`location.pathname === "/enter"`)
	b.Fits("svg", "enter")
	b.Accessible("enter")
	b.shot("enter")
	d := atDesk(t, Config{Stop: func() {}})
	b.base = d.base
	b.open("/enter?key="+d.desk.Key(), 320)
	b.click(`form[action="/stop"] button`)
	b.Wait(`document.querySelector("h1") && !document.querySelector("#text")`)
	b.Accessible("ended")
	b.shot("ended")
}
