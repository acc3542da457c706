package pack_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest/browser"
	"gradatim/score"
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

// A lesson without recordings sounds in plain tones: after a bar of beats and those that the
// pick-up lacks the keys of the score in their order, of the chosen hand alone, and small music where it stands.
func TestPlainTones(t *testing.T) {
	dir := german(t)
	page := inputOf(t, read(t, ferryLamp), "1").Editions[0].Pages[0]
	b := browser.Open(t, chromedp.Flag("autoplay-policy", "no-user-gesture-required"))
	const listen = `(window.struck = [], window.plainTone = (c, out, key, velocity, from, to) => { if (from >= c.currentTime && to > from) struck.push(key); }, true)`
	b.Open(fileURL(dir)+"/level-1.html", 1200)
	b.Wait(`window.lesson`)
	browser.Eval[bool](b, `(document.getElementById("tempo").value = 120, document.getElementById("tempo").dispatchEvent(new Event("input")), true)`)
	for _, tt := range []struct {
		hands string
		beats int
		hand  func(score.Note) bool
	}{{"both", 7, func(score.Note) bool { return true }}, {"left", 0, func(n score.Note) bool { return n.Hand == score.Left }}} {
		if tt.beats == 0 {
			uncounted(b)
		}
		var want []string
		for at := page.Score.Bars[0].At; len(want) < 5; at++ { // the moments of the first notes, each low to high
			var keys []int
			for _, n := range page.Score.Notes {
				if n.At == at && tt.hand(n) && n.Grace == 0 {
					keys = append(keys, n.Pitch.MIDI())
				}
			}
			slices.Sort(keys)
			for _, k := range keys {
				want = append(want, fmt.Sprint(k))
			}
		}
		browser.Eval[bool](b, listen)
		browser.Eval[bool](b, fmt.Sprintf(`(lesson.go(lesson.data.bars[0].at), document.getElementById("take").value = %q, document.getElementById("take").dispatchEvent(new Event("change")), document.getElementById("play").click(), true)`, tt.hands))
		b.Wait(fmt.Sprintf(`struck.filter((k) => k !== 96).length >= %d`, len(want)))
		browser.Eval[bool](b, `(document.getElementById("play").click(), true)`)
		beats := browser.Eval[int](b, `struck.findIndex((k) => k !== 96)`)
		if got := browser.Eval[[]string](b, `struck.filter((k) => k !== 96).map(String)`); beats != tt.beats || !slices.Equal(got[:len(want)], want) {
			t.Errorf("%s: after %d beats the keys %v, not %v", tt.hands, beats, got, want)
		}
	}
	b.Open(fileURL(dir)+"/level-3-drills.html", 1200)
	b.Wait(`window.hearing`)
	browser.Eval[bool](b, listen)
	b.Do(chromedp.Click("button.hear"))
	b.Wait(`struck.length > 0`)
	if wrong := browser.Eval[bool](b, `JSON.stringify(struck) !== JSON.stringify(hearing.data.notes[document.querySelector("button.hear").dataset.of].map((n) => n[2]))`); wrong {
		t.Error("a drill sounds other keys than it has")
	}
}
