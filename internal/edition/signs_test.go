package edition_test

import (
	"context"
	"testing"

	"gradatim"
	"gradatim/internal/edition"
	"gradatim/score"
	"gradatim/theory"
)

// TestOneBeat: a tune is counted in one note at all its levels, by figures that a metronome
// has, no level quicker than the one above. The figures of a pendulum metronome: common
// practice, no source.
func TestOneBeat(t *testing.T) {
	for _, tt := range []struct {
		name, sheet string
		beat        theory.Dur
	}{
		{"reel", "R:reel\nM:C|\nL:1/8\nK:G\n\"G\"GABc dedB|\"C\"c2ec \"D7\"B2dB|\"G\"GABc dedB|\"D7\"A2F2 \"G\"G4|\n", theory.Half},
		{"sixteenths in cut time", "R:song\nM:C|\nL:1/16\nK:G\n\"G\"GABcdedB GABcdedB|\"C\"cdefgfed \"D7\"cBAGFGAB|\"G\"GABcdedB GABcdedB|\"D7\"A4F4 \"G\"G8|\n", theory.Quarter},
		{"jig", "R:jig\nM:6/8\nL:1/8\nK:D\n\"D\"DFA dAF|\"G\"GBd \"A7\"gec|\"D\"DFA dAF|\"A7\"EFE \"D\"D3|\n", 3 * theory.Eighth},
		{"the sheet's own mark", "R:hymn\nM:4/4\nL:1/4\nQ:1/4=85\nK:F\n\"F\"FGAB|\"Bb\"dcBA|\"C7\"GGAB|\"F\"F4|\n", theory.Quarter},
		{"a mark beyond the metronome", "R:reel\nM:4/4\nL:1/4\nQ:1/4=220\nK:G\n\"G\"GBdB|\"C\"e2\"G\"d2|\"Am\"cA\"D7\"AF|\"G\"G4|\n", theory.Half},
	} {
		song, err := gradatim.Read("tune.abc", []byte("X:1\nT:Tune\n"+tt.sheet), 0)
		if err != nil {
			t.Fatal(err)
		}
		pages, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatal(err)
		}
		before := 0
		for _, p := range pages {
			got := p.Score.Tempo
			if got.Beat != tt.beat || got.PerMinute < 40 || got.PerMinute > 208 || got.PerMinute%2 > 0 && got.PerMinute != 63 && got.PerMinute != 69 || got.PerMinute < before {
				t.Errorf("%s, level %d: %v after %d a minute", tt.name, p.Level.Number, got, before)
			}
			before = got.PerMinute
		}
	}
}

// TestOneSign: where a section begins with its upbeat its sign stands there and nowhere else,
// and a page speaks of a second time only where nothing within the repeat says otherwise.
// Common practice, no source.
func TestOneSign(t *testing.T) {
	const tune = "X:1\nT:Twice\nR:jig\nM:6/8\nL:1/8\nK:D\n" +
		"P:A\nA|:\"D\"dAF DFA|\"G\"GBd \"A7\"gec|\"D\"dAF DFA|1 \"A7\"ABc \"D\"d2A:|2 \"A7\"ABc \"D\"d2||\n" +
		"P:B\ne|:\"D\"fdA fdA|\"Em\"gfe \"A7\"edc|\"D\"fdA fdA|1 \"A7\"ABc \"D\"d2e:|2 \"A7\"ABc \"D\"d2|]\n"
	song, err := gradatim.Read("twice.abc", []byte(tune), 0)
	if err != nil {
		t.Fatal(err)
	}
	pages, err := edition.Make(context.Background(), song, edition.Options{Repeats: edition.RepeatsFolded})
	if err != nil {
		t.Fatal(err)
	}
	later, upbeats := 0, 0
	for _, p := range pages {
		s := p.Score
		last := theory.Dur(-theory.Whole)
		for _, d := range s.Directions {
			bar := s.BarAt(d.At)
			if _, _, ok := d.OnTime(); ok {
				later++
				end := bar
				for end+1 < len(s.Bars) && s.Bars[end].Signs.Times == 0 {
					end++
				}
				for _, e := range s.Directions {
					if (e.Kind == score.Dynamic || e.Kind == score.Crescendo || e.Kind == score.Diminuendo) && e.At > d.At && e.At < s.Bars[end].End() {
						t.Errorf("level %d, bar %d: %s, and a change in bar %d", p.Level.Number, s.Bars[bar].Number, d.Text, s.Bars[s.BarAt(e.At)].Number)
					}
				}
			}
			if d.Kind != score.Dynamic {
				continue
			}
			if d.At-last <= theory.Half {
				t.Errorf("level %d, bar %d: two signs side by side", p.Level.Number, s.Bars[bar].Number)
			}
			last = d.At
			if bar > 0 && s.Bars[bar].Pickup {
				upbeats++
			}
		}
	}
	if later == 0 || upbeats == 0 {
		t.Errorf("%d signs for a second time, %d on upbeats", later, upbeats)
	}
}
