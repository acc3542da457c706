package arrange

import (
	"context"
	"math/rand/v2"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// corpusSheet reads a sheet of the shared corpus at random, of no more than so many
// bars, with chords.
func corpusSheet(t testing.TB, r *rand.Rand, bars int) leadsheet.Song {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/leadsheets"), "*", "*.abc"))
	if err != nil || len(files) < 50 {
		t.Fatalf("%d sheets: %v", len(files), err)
	}
	for {
		data, err := os.ReadFile(files[r.IntN(len(files))])
		if err != nil {
			t.Fatal(err)
		}
		s, err := abc.Read(data, abc.Options{})
		if err == nil && len(s.Bars) <= bars && len(s.Chords) > 0 && Supported(s) == nil {
			return s
		}
	}
}

func planned(t testing.TB, s leadsheet.Song, n int, cs ...choice.Choice) Plan {
	t.Helper()
	pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n), Choices: cs})
	if err != nil {
		t.Fatal(err)
	}
	return pl
}

func with(t testing.TB, pl Plan, cs ...choice.Choice) Plan {
	t.Helper()
	out, err := pl.With(context.Background(), cs...)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func paged(t testing.TB, pl Plan) Arrangement {
	t.Helper()
	a, err := pl.Page(context.Background(), nil)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// TestForcedFigure chooses runners-up at random places of random sheets, through their
// text: the whole costs just as much more as was announced, the stretch has the figure,
// and the page is the one that a plan made with the choice from the start gives.
func TestForcedFigure(t *testing.T) {
	r := rand.New(rand.NewPCG(11, 12))
	forced, dearer := 0, 0
	for range 8 {
		s, n := corpusSheet(t, r, 40), 1+r.IntN(5)
		pl := planned(t, s, n)
		before := searched(t, pl.p.base).cost()
		for range 3 {
			at := pl.Stretches()[r.IntN(len(pl.Stretches()))].At
			h := []score.Hand{score.Left, score.Right}[r.IntN(2)]
			fs := figuresOf(t, pl, at, h)
			if len(fs) == 0 || fs[0].Extra != 0 {
				t.Fatalf("%s, level %d: the first of %d figures is not the chosen one", s.Title, n, len(fs))
			}
			if !slices.IsSortedFunc(fs[1:], func(a, b Figure) int { return a.Extra - b.Extra }) || fs[min(1, len(fs)-1)].Extra < 0 {
				t.Fatalf("%s, level %d: the figures are not in order", s.Title, n)
			}
			for _, k := range []int{0, 1, len(fs) / 2, len(fs) - 1} {
				if k >= len(fs) {
					continue
				}
				f := fs[k]
				bar := s.Bars[s.BarAt(at)]
				back, err := choice.ParseFigure(bar, h, f.Text(bar))
				if err != nil {
					t.Fatal(err)
				}
				i := pl.p.cellAt(at)
				c := choice.Choice{Level: n, At: pl.p.cells[i].At, Until: pl.p.cells[i].End, Fix: back}
				now := with(t, pl, c)
				if got := searched(t, now.p.base).cost() - before; got != f.Extra {
					t.Errorf("%s, level %d, %s, %s hand: %s was announced at %d and costs %d", s.Title, n, s.PosAt(at), h, f.Text(bar), f.Extra, got)
				}
				forced++
				if f.Extra > 0 {
					dearer++
				}
				chosen := figuresOf(t, now, at, h)
				if len(chosen) == 0 || chosen[0].Text(bar) != f.Text(bar) {
					t.Errorf("%s, level %d, %s: %s was chosen and is not there", s.Title, n, s.PosAt(at), f.Text(bar))
				}
				a, b := paged(t, now), paged(t, planned(t, s, n, c))
				if !reflect.DeepEqual(a.Score, b.Score) || !reflect.DeepEqual(a.Remarks, b.Remarks) {
					t.Errorf("%s, level %d, %s: the page differs from one made with the choice from the start", s.Title, n, s.PosAt(at))
				}
			}
		}
	}
	if forced < 50 || dearer < 25 {
		t.Errorf("%d figures were forced, %d of them dearer: too few to tell", forced, dearer)
	}
}

// TestForcedChords does the same for chords.
func TestForcedChords(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 14))
	forced, dearer := 0, 0
	for range 50 {
		s, n := corpusSheet(t, r, 40), 3+r.IntN(3)
		pl := planned(t, s, n)
		before := pl.p.progression.cost()
		for range 4 {
			as := pl.Chords(pl.Stretches()[r.IntN(len(pl.Stretches()))].At)
			for k, a := range as {
				if k > 3 && k < len(as)-1 {
					continue
				}
				var cs []choice.Choice
				for _, c := range a.Chords {
					cs = append(cs, choice.Choice{Level: n, At: c.At, Until: c.End, Fix: choice.Chord{Chord: c.Chord}})
				}
				now := with(t, pl, cs...)
				if got := now.p.progression.cost() - before; got != a.Extra || k == 0 && a.Extra != 0 {
					t.Errorf("%s, level %d, %s: %v was announced at %d and costs %d", s.Title, n, s.PosAt(a.Chords[0].At), a.Chords, a.Extra, got)
				}
				forced++
				if a.Extra > 0 {
					dearer++
				}
				if got := now.Chords(a.Chords[0].At); !sameChords(got[0].Chords, a.Chords) {
					t.Errorf("%s, level %d: %v was chosen, %v is there", s.Title, n, a.Chords, got[0].Chords)
				}
				x, y := paged(t, now), paged(t, planned(t, s, n, cs...))
				if !reflect.DeepEqual(x.Score, y.Score) || !reflect.DeepEqual(x.Remarks, y.Remarks) || !reflect.DeepEqual(x.Decisions, y.Decisions) {
					t.Errorf("%s, level %d, %s: the page differs from one made with the choice from the start", s.Title, n, s.PosAt(a.Chords[0].At))
				}
			}
		}
	}
	if forced < 30 || dearer < 20 {
		t.Errorf("%d chords were forced, %d of them dearer: too few to tell", forced, dearer)
	}
}
