package pack_test

import (
	"fmt"
	"testing"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest/browser"
)

// TestTonight: nothing of sound is fetched before it is asked for; a step of the plan
// sets bars, tempo and hands and repeats them; three clean times go up; what was done
// is there after the page is opened again.
func TestTonight(t *testing.T) {
	dir, _ := sounding(t)
	b := browser.Open(t)
	b.Open(fileURL(dir)+"/level-1.html", 390)
	b.Wait(`window.lesson`)
	if browser.Eval[bool](b, `document.getElementById("sound").hasAttribute("src")`) {
		t.Error("sound is fetched before it is asked for")
	}
	type step struct{ From, To, Percent, Hands string }
	first := browser.Eval[step](b, `(() => { const d = document.querySelector("#tonight button[data-from]").dataset; return {From: d.from, To: d.to, Percent: d.percent, Hands: d.hands}; })()`)
	b.Do(chromedp.Click("#tonight button[data-from]"))
	b.Wait(`lesson.state.playing`)
	got := browser.Eval[step](b, `({From: document.getElementById("from").value, To: document.getElementById("to").value, Percent: String(lesson.state.percent), Hands: lesson.state.hands})`)
	if got != first || !browser.Eval[bool](b, `lesson.state.looped`) {
		t.Errorf("the step %+v sets %+v", first, got)
	}
	for range 3 {
		b.Do(chromedp.Click("#clean"))
	}
	if got := browser.Eval[string](b, `String(lesson.state.percent)`); got != fmt.Sprint(65) {
		t.Errorf("after three clean times at %s %%: %s %%", first.Percent, got)
	}
	b.Do(chromedp.Click("#play"))
	b.Open(fileURL(dir)+"/level-1.html", 390)
	b.Wait(`window.lesson`)
	if done := browser.Eval[int](b, `document.querySelectorAll("#tonight li.done").length`); done != 1 {
		t.Errorf("%d steps are told to be done", done)
	}
	if lines := browser.Eval[int](b, `document.querySelectorAll("#log li").length`); lines != 1 {
		t.Errorf("%d days in the log", lines)
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d pixels wide", w)
	}
}
