package edition_test

import (
	"context"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/internal/musicxml"
	"gradatim/score"
	"gradatim/theory"
)

// TestSecondTimeLouder: what a page prints once says how loud its second time is; so it is
// played, the page as made and as read from its file, and what follows says its own sign.
func TestSecondTimeLouder(t *testing.T) {
	const tune = "X:1\nT:Twice\nR:reel\nM:4/4\nL:1/4\nK:G\n|:\"G\"GBdB|\"C\"e2\"G\"d2|\"Am\"cA\"D7\"AF|\"G\"G4:|\n|:\"Em\"EGBG|\"D\"A2F2|\"C\"EG\"D7\"FA|\"G\"G4:|\n"
	song, err := gradatim.Read("twice.abc", []byte(tune), 0)
	if err != nil {
		t.Fatal(err)
	}
	for _, language := range []string{"en", "de"} {
		pages, err := edition.Make(context.Background(), song, edition.Options{Repeats: edition.RepeatsFolded, Introduction: 1, Ending: 1, Language: language})
		if err != nil {
			t.Fatal(err)
		}
		found := 0
		for _, p := range pages {
			xml, err := musicxml.Write(p.Score)
			if err != nil {
				t.Fatal(err)
			}
			back, _, err := musicxml.ReadScore(xml, musicxml.Options{})
			if err != nil {
				t.Fatal(err)
			}
			for _, s := range []score.Score{p.Score, back} {
				for _, d := range s.Directions {
					time, sign, ok := d.OnTime()
					if !ok {
						continue
					}
					found++
					bar := s.BarAt(d.At)
					played, order := s.Played()
					passes := 0
					for k, b := range order {
						if b != bar {
							continue
						}
						passes++
						at := played.Bars[k].At + (d.At - s.Bars[bar].At) + theory.Eighth
						if got := played.DynamicAt(at, score.Right); (got == sign) != (passes == time) {
							t.Errorf("%s, level %d, bar %d, time %d: %s", language, p.Level.Number, s.Bars[bar].Number, passes, got)
						}
					}
					if passes != 2 {
						t.Errorf("%s, level %d: a place with a second time is played %d times", language, p.Level.Number, passes)
					}
				}
			}
		}
		if found == 0 {
			t.Errorf("%s: no page has a second time", language)
		}
	}
}
