package pack_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/pack"
	"gradatim/internal/sharedtest/browser"
)

// ferryTwice is a tune whose first four bars are played twice.
const ferryTwice = `X:1
T:Ferry Lamp, Twice
C:written for the tests
M:4/4
L:1/4
Q:1/4=120
K:G
"G"G B d>B|"Em"e d B G|"C"E G c E|"D7"F A d D:|
"G"G B d>B|"Em"e d B G|"Am"A c "D7"B A|"G"G4||
`

// TestPlayAgain: what is printed once and played again is lit both times; it says which
// time it is; bars to repeat are those of the first time; a click goes to the time that
// is next to where the music is.
func TestPlayAgain(t *testing.T) {
	dir := t.TempDir() + "/lesson"
	tools(t, false)
	build(t, dir, inputOf(t, read(t, ferryTwice), "1"), pack.Options{Audio: pack.NoAudio})
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/level-1.html", 1200)
	b.Wait(`window.lesson`)
	if got := browser.Eval[string](b, `lesson.data.bars.map((x) => x.n + "x" + x.p).join(" ")`); got != "1x1 2x1 3x1 4x1 1x2 2x2 3x2 4x2 5x1 6x1 7x1 8x1" {
		t.Fatalf("bars as played: %s", got)
	}
	lit := func() string {
		return browser.Eval[string](b, `[...new Set([...document.querySelectorAll(".sheets.wide [data-notes]")].flatMap((e) => e.dataset.notes.split(" ")))].sort().join(" ")`)
	}
	goTo := func(bar int) {
		browser.Eval[bool](b, fmt.Sprintf(`(lesson.go(lesson.data.bars[%d].at), true)`, bar))
	}
	goTo(1)
	first := lit()
	goTo(5)
	if again := lit(); first == "" || again != first {
		t.Errorf("bar 2 lights %q, and the second time %q", first, again)
	}
	if got := browser.Eval[string](b, `document.getElementById("where").textContent`); !strings.Contains(got, "bar 2") || !strings.Contains(got, "time 2") {
		t.Errorf("the place is called %q", got)
	}
	// A click on bar 3 while bar 2 is played again goes on to the second time.
	browser.Eval[bool](b, `(() => { const z = document.querySelectorAll(".sheets.wide .barzone")[2], r = z.getBoundingClientRect();
		const e = {bubbles: true, button: 0, pointerId: 1, clientX: r.left + r.width / 2, clientY: r.top + r.height / 2};
		z.dispatchEvent(new PointerEvent("pointerdown", e)); z.dispatchEvent(new PointerEvent("pointerup", e)); return true; })()`)
	if got := browser.Eval[int](b, `lesson.data.bars.findIndex((x) => x.at <= lesson.now() + 1 && lesson.now() + 1 < x.end)`); got != 6 {
		t.Errorf("the click goes to the bar played as number %d", got)
	}
	browser.Eval[bool](b, `(document.getElementById("from").value = 1, document.getElementById("to").value = 2, document.getElementById("to").dispatchEvent(new Event("change")))`)
	if got := browser.Eval[string](b, `lesson.state.from + " to " + lesson.state.to`); got != "1 to 2" {
		t.Errorf("bars 2 to 3 are those played as %s", got)
	}
}
