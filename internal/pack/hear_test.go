package pack_test

import (
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest/browser"
)

// Small music sounds where it stands, from a folder too; nothing of it is fetched before a
// press, and its notes are marked while they sound. A place in the score leads to the
// player with its bars, hands and tempo.
func TestHear(t *testing.T) {
	dir, _ := sounding(t)
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/level-3-learn.html", 1200)
	b.Wait(`window.hearing && document.querySelector("button.hear:not([hidden])")`)
	if browser.Eval[bool](b, `!!document.querySelector("script[src*=notes]")`) {
		t.Error("the notes are fetched before they are asked for")
	}
	b.Do(chromedp.Click("button.hear"))
	b.Wait(`document.querySelectorAll("svg .sounding").length > 0`)
	// What sounds first is what the data say, which are in the order of time.
	if got := browser.Eval[string](b, `hearing.data.notes[document.querySelector("button.hear").dataset.of][0][4] + " " + document.querySelector("svg .sounding").id`); !strings.HasPrefix(got, "ex1a-") || !strings.Contains(got, " ex1a-") {
		t.Errorf("first sounds and is lit %q", got)
	}
	if got := browser.Eval[string](b, `document.querySelector("button.hear .do").textContent`); got != "Stop" {
		t.Errorf("while it sounds the button reads %q", got)
	}
	b.Do(chromedp.Click("button.hear"))
	if browser.Eval[bool](b, `hearing.playing() || document.querySelector(".sounding") !== null`) {
		t.Error("it does not stop")
	}
	// Every button of every page has notes, each key within reach of one that was recorded.
	for _, page := range []string{"level-1-learn", "level-3-drills", "level-3-chords"} {
		b.Do(chromedp.Navigate(fileURL(dir) + "/" + page + ".html"))
		b.Wait(`window.hearing`)
		type state struct{ Buttons, Silent, Far int }
		got := browser.Eval[state](b, `(() => { const all = [...document.querySelectorAll("button.hear")], keys = Object.values(hearing.data.notes).flat().map((n) => n[2]);
			return {Buttons: all.length, Silent: all.filter((x) => x.hidden || x.disabled).length, Far: keys.filter((k) => k < 24 || k > 100).length}; })()`)
		if got.Buttons == 0 || got.Silent > 0 || got.Far > 0 {
			t.Errorf("%s: %+v", page, got)
		}
	}
	b.Do(chromedp.Navigate(fileURL(dir) + "/level-3-practice.html"))
	b.Wait(`document.querySelector("#plan a[href*='tempo=75']")`)
	b.Do(chromedp.Click("#plan a[href*='tempo=75']"))
	b.Wait(`window.lesson && lesson.state.looped`)
	if got := browser.Eval[string](b, `lesson.state.percent + " " + lesson.state.hands + " " + lesson.state.playing + " " + (location.hash === "#bars=" + lesson.state.from + "-" + lesson.state.to + "&tempo=75&hands=both")`); got != "75 both false true" {
		t.Errorf("the link sets up %s", got)
	}
	// On the first page one hears a level by its recording.
	b.Do(chromedp.Navigate(fileURL(dir) + "/index.html"))
	b.Wait(`document.querySelectorAll(".levels button.hear:not([hidden])").length === 2`)
	b.Do(chromedp.Click(".levels button.hear"))
	b.Wait(`document.querySelector(".levels .hear .do").textContent === "Stop"`)
}
