package pack_test

import (
	"testing"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest/browser"
)

// TestTonight: nothing of sound is fetched before it is asked for; a step of the plan
// sets bars, tempo and hands and repeats them; three clean times in a row go a step up, two slips one down; what was done
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
	for _, now := range []struct {
		press string
		want  int
	}{{"clean", 60}, {"clean", 60}, {"slip", 60}, {"clean", 60}, {"clean", 60}, {"clean", 75}, {"slip", 75}, {"slip", 60}, {"clean", 60}, {"clean", 60}, {"clean", 75}} {
		b.Do(chromedp.Click("#" + now.press))
		if got := browser.Eval[int](b, `lesson.state.percent`); got != now.want {
			t.Errorf("%s: at %d %%, want %d %%", now.press, got, now.want)
		}
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
	// The page of practice leads to a step, which is set up and waits.
	b.Do(chromedp.Navigate(fileURL(dir) + "/level-1-practice.html"))
	b.Wait(`document.querySelector(".tonight a")`)
	b.Do(chromedp.Click(".tonight li:nth-child(2) a"))
	b.Wait(`window.lesson && lesson.state.looped`)
	if got := browser.Eval[string](b, `lesson.state.hands + " " + lesson.state.playing`); got != "left false" {
		t.Errorf("the second step sets up %s", got)
	}
	if w := browser.Eval[int](b, `document.documentElement.scrollWidth`); w > 390 {
		t.Errorf("the page is %d pixels wide", w)
	}
}
