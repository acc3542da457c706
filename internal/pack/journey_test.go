package pack_test

import (
	"encoding/json"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/chromedp"

	"gradatim/internal/pack"
	"gradatim/internal/perform"
	"gradatim/internal/sharedtest/browser"
	"gradatim/internal/words"
	"gradatim/score"
)

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
	const at = [...document.querySelectorAll(".sheets.wide [data-notes]")].flatMap((e) => e.dataset.notes.split(" "));
	return {t: now, ids: [...new Set(at)].sort(), keys: [...document.querySelectorAll("#key-marks [data-key]")].map((e) => e.dataset.key).sort()};
})()`

// uncounted ticks the count-in off, or on again; it stands among what is opened by More.
func uncounted(b *browser.Tab) {
	browser.Eval[bool](b, `(document.getElementById("count-in").click(), true)`)
}

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
		b := browser.Open(t)
		b.Open(base+"/level-3.html", 1200)
		if browser.Eval[bool](b, `document.getElementById("player").hidden`) {
			t.Fatal("the script did not run")
		}
		// Without a count-in, from the first note.
		uncounted(b)
		b.Do(chromedp.Click("#play"))
		b.Wait(`document.getElementById("sound").currentTime > ` + fmt.Sprint(played.Timing.Start+0.2))
		checked := 0
		for checked < 12 {
			s := browser.Eval[sample](b, shown)
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
		b.Do(chromedp.Click("#play"))
		if !browser.Eval[bool](b, `document.getElementById("sound").paused`) {
			t.Error("pause does not pause")
		}
		// The count-in sounds first, and nothing is lit.
		uncounted(b)
		b.Do(chromedp.Click("#to-start"), chromedp.Click("#play"))
		b.Wait(`document.getElementById("sound").currentTime > 0.15 && document.getElementById("where").textContent === "Count-in"`)
		if s := browser.Eval[sample](b, shown); s.Time < played.Timing.Start && len(s.IDs) > 0 {
			t.Errorf("lit during the count-in: %v", s.IDs)
		}
	})
}

// TestPlaces checks the page's own arithmetic at many times, without waiting for
// the sound: the ring is where the timing map says.
func TestPlaces(t *testing.T) {
	dir, in := sounding(t)
	b := browser.Open(t)
	for i, page := range in.Editions[0].Pages {
		b.Open(fileURL(filepath.Join(dir, fmt.Sprintf("level-%d.html", page.Level.Number))), 1200)
		played, err := perform.Perform(page.Score, perform.Options{CountIn: pack.CountIn})
		if err != nil {
			t.Fatal(err)
		}
		var times []float64
		for s := played.Timing.Start + 0.013; s < played.Timing.End-0.05; s += 0.23 {
			times = append(times, math.Round(s*1000)/1000)
		}
		list, _ := json.Marshal(times)
		got := browser.Eval[[][]string](b, `(`+string(list)+`).map((s) => {
			lesson.go(lesson.position(lesson.data.timings[0], s));
			return [...new Set([...document.querySelectorAll(".sheets.wide [data-notes]")].flatMap((e) => e.dataset.notes.split(" ")))].sort();
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
		// The band of a hand lies behind the heads of its notes, which have its colour.
		off := browser.Eval[[]string](b, `[...document.querySelectorAll(".sheets.wide [data-notes]")].flatMap((e) => e.dataset.notes.split(" ").filter((id) => {
			const head = document.getElementById("w-" + id);
			if (!head || !head.classList.contains(e.classList.contains("R") ? "R" : "L")) return true;
			const r = e.getBoundingClientRect(), h = head.getBoundingClientRect();
			const x = (h.left + h.right) / 2, y = (h.top + h.bottom) / 2;
			return r.width > 200 || x < r.left - 8 || x > r.right + 8 || r.bottom < h.top || r.top > h.bottom;
		}))`)
		if len(off) > 0 {
			t.Errorf("bands beside their notes: %v", off)
		}
		// Hands by shape: round for the right, square for the left.
		if wrong := browser.Eval[int](b, `document.querySelectorAll(".band.L:not([rx='0']), .band.R[rx='0'], ellipse.keymark.L, rect.keymark.R").length`); wrong > 0 {
			t.Errorf("%d marks have the other hand's shape", wrong)
		}
		if n := browser.Eval[int](b, `document.querySelectorAll(".sheets.wide .band.L").length`); n == 0 {
			t.Error("at the end no band of the left hand")
		}
	}
}

func TestTempoAndHands(t *testing.T) {
	dir, _ := sounding(t)
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/level-1.html", 1200)
	// By keyboard: ten steps of five per cent down.
	b.Do(chromedp.Focus("#tempo"))
	for range 10 {
		b.Press(arrowLeft)
	}
	if got := browser.Eval[string](b, `document.getElementById("tempo-out").textContent`); got != "50 %, quarter = "+fmt.Sprint(browser.Eval[int](b, `Math.round(lesson.data.perMinute / 2)`)) {
		t.Errorf("the tempo reads %q", got)
	}
	uncounted(b)
	b.Do(chromedp.Click("#play"))
	b.Wait(`document.getElementById("sound").currentTime > lesson.data.timings[0].start + 0.1`)
	if !browser.Eval[bool](b, `(() => { const a = document.getElementById("sound"); return Math.abs(a.playbackRate - 0.5) < 1e-6 && a.preservesPitch; })()`) {
		t.Error("half the tempo is not half the rate, or does not keep the pitch")
	}
	rate := browser.Eval[float64](b, `new Promise((done) => {
		const a = document.getElementById("sound"), t0 = performance.now(), s0 = a.currentTime;
		setTimeout(() => done((a.currentTime - s0) / (performance.now() - t0) * 1000), 1500);
	})`)
	if rate < 0.4 || rate > 0.6 {
		t.Errorf("at half the tempo the sound runs at %.2f", rate)
	}
	// Another recording goes on from the same place.
	before := browser.Eval[float64](b, `lesson.now()`)
	b.Do(chromedp.SetValue("#take", "left"))
	browser.Eval[bool](b, `document.getElementById("take").dispatchEvent(new Event("change"))`)
	b.Wait(`document.getElementById("sound").src.endsWith("level-1.left.mp3") && document.getElementById("sound").readyState >= 2`)
	after := browser.Eval[float64](b, `lesson.now()`)
	if after < before-200 || after > before+5040*4 {
		t.Errorf("from %.0f the change of hands went to %.0f", before, after)
	}
	if n := browser.Eval[int](b, `document.querySelectorAll(".band.R").length`); n > 0 {
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
		b := browser.Open(t)
		b.Open(base+"/level-1.html", 1200)
		// Drag from bar 2 to bar 3.
		type point struct{ X, Y float64 }
		at := func(bar int) point {
			return browser.Eval[point](b, fmt.Sprintf(`(() => { const z = document.querySelectorAll(".sheets.wide .barzone")[%d]; z.scrollIntoView({block: "center", behavior: "instant"});
				const r = z.getBoundingClientRect(); return {X: r.left + r.width / 2, Y: r.top + r.height / 2}; })()`, bar))
		}
		to := at(3)
		from := at(2)
		to = at(3)
		mouse(b, input.DispatchMouseEventTypeMousePressed, from.X, from.Y)
		mouse(b, input.DispatchMouseEventTypeMouseMoved, (from.X+to.X)/2, (from.Y+to.Y)/2)
		mouse(b, input.DispatchMouseEventTypeMouseMoved, to.X, to.Y)
		mouse(b, input.DispatchMouseEventTypeMouseReleased, to.X, to.Y)
		if got := browser.Eval[string](b, `document.getElementById("from").value + "-" + document.getElementById("to").value`); got != "2-3" {
			t.Errorf("dragged over bars %s", got)
		}
		if n := browser.Eval[int](b, `document.querySelectorAll(".sheets.wide .barzone.chosen").length`); n != 2 {
			t.Errorf("%d bars are marked", n)
		}
		// One bar, faster: it comes back.
		browser.Eval[bool](b, `(document.getElementById("to").value = 2, document.getElementById("to").dispatchEvent(new Event("change")))`)
		uncounted(b)
		b.Do(chromedp.Click("#play"))
		b.Wait(`lesson.loops() >= 2`)
		for range 8 {
			if bar := browser.Eval[float64](b, `lesson.now()`); bar < browser.Eval[float64](b, `lesson.data.bars[2].at`)-900 || bar > browser.Eval[float64](b, `lesson.data.bars[2].end`)+900 {
				t.Errorf("the repeat of bar 2 is at %.0f", bar)
			}
			time.Sleep(100 * time.Millisecond)
		}
	})
}

// TestKeyboardAlone walks through a page with keys only.
func TestKeyboardAlone(t *testing.T) {
	dir, _ := sounding(t)
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/index.html", 1200)
	focus := func() string {
		return browser.Eval[string](b, `(() => { const e = document.activeElement; return e.id || e.getAttribute("href") || e.getAttribute("data-layout") || e.className || e.tagName; })()`)
	}
	walk := func(to string, most int) {
		t.Helper()
		for range most {
			b.Press("\t")
			if focus() == to {
				return
			}
		}
		t.Fatalf("no way to %s by the tab key; at %s", to, focus())
	}
	walk("#main", 1) // the skip link comes first
	walk("level-1.html", 12)
	b.Press("\r")
	b.Wait(`location.href.endsWith("level-1.html") && window.lesson`)
	walk("play", 40)
	b.Press("\r")
	b.Wait(`!document.getElementById("sound").paused`)
	b.Press(" ")
	b.Wait(`document.getElementById("sound").paused`)
	bar := func() int {
		return browser.Eval[int](b, `lesson.data.bars.findIndex((x) => x.at <= lesson.now() && lesson.now() < x.end)`)
	}
	was := bar()
	b.Press(arrowRight)
	if got := bar(); got != was+1 {
		t.Errorf("→ goes from bar %d to %d", was, got)
	}
	b.Press(arrowLeft)
	if got := bar(); got != was {
		t.Errorf("← goes back to bar %d, not %d", got, was)
	}
	// The letters are those of the desk.
	letters := words.Must("en")
	b.Press(arrowRight)
	b.Press(letters.Say("desk.letter.stop"))
	if got := bar(); got != 0 {
		t.Errorf("stopped, it is at bar %d", got)
	}
	b.Press(letters.Say("desk.letter.help"))
	if !browser.Eval[bool](b, `document.getElementById("commands").open`) {
		t.Error("the list of keys does not open")
	}
	// A note after the other says what it is, which finger plays it, and why it is there.
	b.Press("n")
	first := browser.Eval[string](b, `document.getElementById("told").textContent`)
	b.Press("n")
	second := browser.Eval[string](b, `document.getElementById("told").textContent`)
	b.Press("N")
	if again := browser.Eval[string](b, `document.getElementById("told").textContent`); again != first || second == first {
		t.Errorf("n says %q, then %q, and back %q", first, second, again)
	}
	why := browser.Eval[string](b, `(() => { const n = lesson.data.notes.find((x) => x.at <= lesson.now() + 1 && lesson.now() + 1 < x.end); return n.n + "|" + n.f + "|" + lesson.data.whys[n.w]; })()`)
	for _, want := range strings.Split(why, "|") {
		if !strings.Contains(first, want) || want == "" {
			t.Errorf("of a note is said %q, without %q", first, want)
		}
	}
	walk("tempo", 1)
	b.Press(arrowLeft)
	walk("more", 2)
	b.Press("\r")
	walk("count-in", 4)
	b.Press(" ")
	walk("w", 8)
	b.Press(arrowRight)
	b.Press(arrowRight)
	b.Press(arrowRight, chromedp.ModifierShift)
	if got := browser.Eval[string](b, `document.getElementById("from").value + "-" + document.getElementById("to").value`); got != "2-3" {
		t.Errorf("chosen by keys: bars %s", got)
	}
	if got := browser.Eval[string](b, `document.querySelector("#player > .unseen[role=status]").textContent`); !strings.Contains(got, "bar 3") || !strings.Contains(got, "repeat") {
		t.Errorf("said: %q", got)
	}
	b.Press("\u001b")
	if browser.Eval[bool](b, `lesson.state.looped`) {
		t.Error("Escape does not end the repeat")
	}
	// Commands are silent in fields, and can be turned off.
	looped := func() bool { return browser.Eval[bool](b, `lesson.state.looped`) }
	b.Do(chromedp.Focus("#from"))
	b.Press("r")
	if looped() {
		t.Error("a letter in a field repeats a bar")
	}
	b.Do(chromedp.Focus("#play"))
	b.Press("r")
	if !looped() {
		t.Error("r does not repeat the bar")
	}
	b.Press("r")
	b.Do(chromedp.Focus("#keys-on"))
	b.Press(" ")
	b.Do(chromedp.Focus("#play"))
	b.Press("r")
	if looped() {
		t.Error("a letter repeats a bar though the commands are off")
	}
}
