package arrange

import (
	"context"
	"fmt"
	"math/rand/v2"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

const thirtyTwo = "F A4:3 G4:1 F4:2 D4:2 | Bb F4:6 C4:1 D4:1 | Gm Bb4:3 A4:1 Bb4:2 D5:2 | C7 C5:6 A4:1 G4:1 | F A4:3 G4:1 A4:2 C5:2 | D7 D5:4 C5:2 A4:2 | Gm Bb4:2 A4:2 C7 G4:2 E4:2 | F F4:6 r:2"

// TestChangeStaysSmall changes one bar of random pages, by a runner-up of a hand or of a
// chord, and looks at what else becomes of the page: bars far from the change have the
// notes that they had.
func TestChangeStaysSmall(t *testing.T) {
	r := rand.New(rand.NewPCG(31, 32))
	changes, others, far := 0, 0, 0
	for range 12 {
		s, n := corpusSheet(t, r, 80), 1+r.IntN(5)
		if len(s.Bars) < 24 {
			continue
		}
		pl := planned(t, s, n)
		before := barTexts(s, paged(t, pl).Score)
		for k := range 6 {
			bar := r.IntN(len(s.Bars))
			at, end := s.Bars[bar].At, s.Bars[bar].End()
			var cs []choice.Choice
			if as := pl.Chords(at); k%3 == 2 && len(as) > 1 {
				for _, c := range as[1].Chords {
					cs = append(cs, choice.Choice{Level: n, At: c.At, Until: c.End, Fix: choice.Chord{Chord: c.Chord}})
				}
			} else {
				fs := figuresOf(t, pl, at, []score.Hand{score.Left, score.Right}[k%2])
				cs = append(cs, choice.Choice{Level: n, At: at, Until: end, Fix: fs[min(len(fs)-1, 1+r.IntN(4))].Figure})
			}
			changes++
			for i, now := range barTexts(s, paged(t, with(t, pl, cs...)).Score) {
				if now == before[i] {
					continue
				}
				others++
				if i < bar-8 || i > bar+8 {
					far++
					t.Logf("%s, level %d: bar %d was changed, and bar %d became\n%s\nwas\n%s", s.Title, n, bar, i, now, before[i])
				}
			}
		}
	}
	if changes < 30 || far > changes/10 || others > 3*changes {
		t.Errorf("%d changes made %d bars others, %d of them far away", changes, others, far)
	}
}

// searched is a search that is made.
func searched(t testing.TB, k *kept) *lattice {
	t.Helper()
	l, err := k.get(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func figuresOf(t testing.TB, pl Plan, at theory.Dur, h score.Hand) []Figure {
	t.Helper()
	fs, err := pl.Figures(context.Background(), at, h)
	if err != nil {
		t.Fatal(err)
	}
	return fs
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
			s := scoretest.Repeated(tune(b, fourFour, "F", thirtyTwo), bars)
			pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n)})
			if err != nil {
				b.Fatal(err)
			}
			at := s.Bars[bars/2].At
			searched(b, pl.p.full)
			var cs []choice.Choice
			as := pl.Chords(at)
			for _, c := range as[len(as)-1].Chords { // at level 1 the one that there is
				cs = append(cs, choice.Choice{Level: n, At: c.At, Until: c.End, Fix: choice.Chord{Chord: c.Chord}})
			}
			f := figuresOf(b, pl, at, score.Left)[1].Figure
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
						searched(b, now.p.base)
					}
				})
			}
			b.Run(fmt.Sprintf("figures/bars=%d/level=%d", bars, n), func(b *testing.B) {
				for b.Loop() {
					figuresOf(b, pl, at, score.Left)
				}
			})
		}
	}
}
