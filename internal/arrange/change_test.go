package arrange

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/leadsheet"
	"gradatim/score"
)

// repeated writes a tune out until it has the given number of bars.
func repeated(s leadsheet.Song, bars int) leadsheet.Song {
	one, n := s, len(s.Bars)
	for len(s.Bars) < bars {
		shift, more := s.End(), len(s.Bars)
		for _, b := range one.Bars {
			b.At, b.Number, b.Sheet, b.Written = b.At+shift, b.Number+more, b.Sheet+more, b.Written+more
			s.Bars = append(s.Bars[:len(s.Bars):len(s.Bars)], b)
		}
		for _, x := range one.Melody {
			x.At += shift
			s.Melody = append(s.Melody[:len(s.Melody):len(s.Melody)], x)
		}
		for _, c := range one.Chords {
			c.At += shift
			s.Chords = append(s.Chords[:len(s.Chords):len(s.Chords)], c)
		}
	}
	_ = n
	return s
}

const thirtyTwo = "F A4:3 G4:1 F4:2 D4:2 | Bb F4:6 C4:1 D4:1 | Gm Bb4:3 A4:1 Bb4:2 D5:2 | C7 C5:6 A4:1 G4:1 | F A4:3 G4:1 A4:2 C5:2 | D7 D5:4 C5:2 A4:2 | Gm Bb4:2 A4:2 C7 G4:2 E4:2 | F F4:6 r:2"

// TestChangeStaysSmall changes one bar of a long page by a runner-up and looks at what
// else becomes of the page: bars far from the change have the notes that they had.
func TestChangeStaysSmall(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	for n := 1; n <= 5; n++ {
		s := repeated(tune(t, fourFour, "F", thirtyTwo), 64)
		pl := planned(t, s, n)
		before := barTexts(s, paged(t, pl).Score)
		for range 4 {
			bar := 8 + r.IntN(40)
			fs := pl.Figures(s.Bars[bar].At, score.Left)
			f := fs[min(len(fs)-1, 1+r.IntN(4))]
			c := choice.Choice{Level: n, At: s.Bars[bar].At, Until: s.Bars[bar].End(), Fix: f.Figure}
			after := barTexts(s, paged(t, with(t, pl, c)).Score)
			for i := range after {
				if i/4 != bar/4 && (i < bar-4 || i > bar+4) && after[i] != before[i] {
					t.Errorf("level %d: bar %d was changed, and bar %d became\n%s\nwas\n%s", n, bar+1, i+1, after[i], before[i])
				}
			}
		}
	}
}

// barTexts writes each bar of a page as it would be locked.
func barTexts(s leadsheet.Song, p score.Score) []string {
	out := make([]string, len(s.Bars))
	for i := range out {
		out[i] = choice.BarOf(s, p, i).Text(s)
	}
	return out
}

// BenchmarkChange changes one bar in the middle of a page: the chord of it, then the
// figure of the left hand, and searches both again.
func BenchmarkChange(b *testing.B) {
	for _, bars := range []int{32, 128, 512} {
		for _, n := range []int{1, 5} {
			s := repeated(tune(b, fourFour, "F", thirtyTwo), bars)
			pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n)})
			if err != nil {
				b.Fatal(err)
			}
			at := s.Bars[bars/2].At
			pl.p.full.get()
			var cs []choice.Choice
			for _, c := range pl.Chords(at)[1].Chords {
				cs = append(cs, choice.Choice{Level: n, At: c.At, Until: c.End, Fix: choice.Chord{Chord: c.Chord}})
			}
			f := pl.Figures(at, score.Left)[1].Figure
			fig := choice.Choice{Level: n, At: at, Until: s.Bars[bars/2].End(), Fix: f}
			for _, what := range []struct {
				name string
				cs   []choice.Choice
			}{{"chord", cs}, {"figure", []choice.Choice{fig}}} {
				b.Run(fmt.Sprintf("%s/bars=%d/level=%d", what.name, bars, n), func(b *testing.B) {
					b.ReportAllocs()
					for b.Loop() {
						now, err := pl.With(context.Background(), what.cs...)
						if err != nil {
							b.Fatal(err)
						}
						now.p.base.get()
					}
				})
			}
			b.Run(fmt.Sprintf("figures/bars=%d/level=%d", bars, n), func(b *testing.B) {
				for b.Loop() {
					pl.Figures(at, score.Left)
				}
			})
		}
	}
}
