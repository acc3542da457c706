package pack_test

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest/browser"
)

// tells lets a page keep what goes wrong on it.
const tells = `<head><script>window.troubles = [];
addEventListener("error", (e) => troubles.push(e.message || "not loaded: " + (e.target.src || e.target.href)), true);
addEventListener("unhandledrejection", (e) => troubles.push("refused: " + e.reason));
for (const k of ["error", "warn"]) console[k] = (...a) => troubles.push(k + ": " + a.join(" "));
</script>`

// telling serves a lesson whose pages tell what goes wrong; /frame/390 is a window of that
// width on its first page.
func telling(t *testing.T, dir string) string {
	srv := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if width, ok := strings.CutPrefix(r.URL.Path, "/frame/"); ok {
			fmt.Fprintf(w, `<!DOCTYPE html><title>frame</title><iframe src="/index.html" style="border:0" width="%s" height="800"></iframe>`, width)
			return
		}
		file := filepath.Join(dir, filepath.FromSlash(r.URL.Path))
		if filepath.Ext(file) != ".html" {
			http.ServeFile(w, r, file)
			return
		}
		page, err := os.ReadFile(file)
		if err != nil {
			http.NotFound(w, r)
			return
		}
		w.Write(bytes.Replace(page, []byte("<head>"), []byte(tells), 1))
	}))
	t.Cleanup(srv.Close)
	return srv.URL
}

// In an engine other than Chromium's, the one of many phones, a pupil finds a level, goes to
// another, asks of a note why it is there and lets the music run, on a wide window and on a
// narrow one; nothing goes wrong and nothing is wider than the window.
func TestSecondEngine(t *testing.T) {
	dir := german(t)
	base := telling(t, dir)
	s := browser.OpenSecond(t)
	for _, width := range []int{1280, 390} {
		look := func(page string) {
			t.Helper()
			s.Wait(fmt.Sprintf(`location.pathname === "/%s" && document.readyState === "complete"`, page))
			if w := browser.Ask[int](s, `document.documentElement.scrollWidth`); w > browser.Ask[int](s, `innerWidth`) {
				t.Errorf("%s at %d is %d pixels wide: %s", page, width, w, browser.Ask[[]string](s, `[...document.querySelectorAll("body *")].filter((e) => e.getBoundingClientRect().right > innerWidth).map((e) => e.outerHTML.slice(0, 100) + " " + e.getBoundingClientRect().right)`))
			}
			for _, x := range browser.Ask[[]string](s, `window.troubles ?? ["it tells nothing"]`) {
				t.Errorf("%s at %d: %s", page, width, x)
			}
		}
		if width == 390 {
			s.Open(base + "/frame/390")
			s.Within("iframe")
		} else {
			s.Open(base + "/index.html")
		}
		look("index.html")
		if got := browser.Ask[int](s, `innerWidth`); got != width {
			t.Fatalf("the window is %d pixels wide, not %d", got, width)
		}
		s.Click(`main a[href="level-1.html"]`)
		s.Wait(`window.lesson`)
		look("level-1.html")
		s.Click(`header a[href="level-3.html"]`)
		s.Wait(`window.lesson && location.pathname === "/level-3.html"`)
		// A tap in the middle of a head asks why the note is there.
		layer := map[bool]string{true: "w", false: "n"}[width > 900]
		tap := fmt.Sprintf(`#%s-`+browser.Ask[string](s, `lesson.data.notes.find((n) => n.at > lesson.data.bars[1].at).id`), layer)
		browser.Ask[bool](s, fmt.Sprintf(`(document.querySelector(%q).scrollIntoView({block: "center", behavior: "instant"}), true)`, tap))
		s.Tap(tap)
		s.Wait(`document.querySelector(".picked")`)
		browser.Ask[bool](s, `(document.getElementById("count-in").click(), true)`)
		s.Click("#play")
		s.Wait(`lesson.state.playing && lesson.now() > lesson.data.bars[0].at + 200 && document.querySelector("[data-notes]")`)
		s.Click("#play")
		s.Wait(`!lesson.state.playing`)
		look("level-3.html")
		for _, kind := range []string{"learn", "chords", "drills", "practice"} {
			// A page that scrolls gently is still on its way when the driver presses.
			browser.Ask[bool](s, `(scrollTo({top: 0, behavior: "instant"}), true)`)
			s.Click(fmt.Sprintf(`nav a[href="level-3-%s.html"]`, kind))
			look(fmt.Sprintf("level-3-%s.html", kind))
		}
	}
}
