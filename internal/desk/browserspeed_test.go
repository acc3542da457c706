package desk

import (
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/browser"
)

// TestBrowserSpeed measures in a real browser how long it takes from a press to the bar that it
// changed, at level 5, until its picture has come; and how long the whole tune takes. The aims are
// those of an idle machine (docs/performance.md); what fails here is ten times as slow.
func TestBrowserSpeed(t *testing.T) {
	engraves(t)
	if testing.Short() {
		t.Skip("starts a browser")
	}
	for _, tt := range []struct {
		bars, presses int
		bar, whole    time.Duration // aimed at; 0: no aim
	}{{32, 20 / sharedtest.Every(5, 5), 150 * time.Millisecond, time.Second}, {512, 20, 400 * time.Millisecond, 0}} {
		if tt.bars > 32 && os.Getenv("SOAK") != "1" {
			continue
		}
		t.Run(fmt.Sprintf("bars=%d", tt.bars), func(t *testing.T) {
			r := atDesk(t, Config{})
			b := tab{browser.Open(t, chromedp.Flag("autoplay-policy", "no-user-gesture-required")), r.base}
			b.open("/enter?key="+r.desk.Key(), 1280)
			id := r.add(longTune(tt.bars))
			var took []time.Duration
			for n := 0; len(took) < tt.presses && n < 2*tt.presses; n++ {
				bar := 2 + n%(tt.bars-4)
				b.open(fmt.Sprintf("/tunes/%s/bar/%d?level=5", id, bar), 1280)
				b.Wait(`document.documentElement.dataset.ready && document.querySelector('button[name="way"]') && document.readyState === "complete"`)
				b.click(`button[name="way"]`)
				b.Wait(`document.documentElement.dataset.ready && (document.querySelector("h2 .mark") || document.querySelector("#refused"))`)
				if browser.Eval[bool](b.Tab, `!!document.querySelector("#refused")`) {
					continue // an earlier choice does not admit it
				}
				// From the press, which began the navigation, until the large picture of the bar has come.
				const shown = `performance.getEntriesByType("resource").filter((e) => new URL(e.name).pathname.endsWith("/bar.svg") && /level=5&bar=%d&/.test(e.name) && !/way=/.test(e.name))[0]`
				b.Wait(fmt.Sprintf(shown+"?.responseEnd", bar))
				ms := browser.Eval[float64](b.Tab, fmt.Sprintf(shown+".responseEnd", bar))
				took = append(took, time.Duration(ms*float64(time.Millisecond)))
			}
			if len(took) < tt.presses/2 {
				t.Fatalf("%d presses of %d changed a bar", len(took), tt.presses)
			}
			slices.Sort(took)
			late := took[min(len(took)-1, len(took)*95/100)]
			t.Logf("from a press to the bar at level 5: 95 of 100 within %v, the half within %v (%d presses)", late.Round(time.Millisecond), took[len(took)/2].Round(time.Millisecond), len(took))
			if late > 10*tt.bar {
				t.Errorf("%v; %v is aimed at", late, tt.bar)
			}
			b.open("/tunes/"+id+"/whole", 1280)
			b.Wait(`document.readyState === "complete"`)
			whole := time.Duration(browser.Eval[float64](b.Tab, `performance.getEntriesByType("navigation")[0].domContentLoadedEventEnd`) * float64(time.Millisecond))
			t.Logf("five lanes: %v", whole.Round(time.Millisecond))
			if tt.whole > 0 && whole > 10*tt.whole {
				t.Errorf("five lanes took %v; %v is aimed at", whole, tt.whole)
			}
		})
	}
}
