package edition_test

import (
	"context"
	"path/filepath"
	"slices"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/ladder"
	"gradatim/score"
)

// TestChoiceKeepsIDs: another figure that the teacher chooses in one bar leaves the
// ids of all bars that sound as before; what was linked to a note still finds it.
func TestChoiceKeepsIDs(t *testing.T) {
	for i, name := range originals {
		if testing.Short() && i > 0 {
			break
		}
		song := load(t, filepath.Join("examples", name+".abc"))
		arranged := func(l ladder.Level, choices ...choice.Choice) score.Score {
			as, err := edition.Make(context.Background(), song, edition.Options{Levels: []ladder.Level{l}, Choices: choices})
			if err != nil {
				t.Fatal(err)
			}
			return as[0].Score
		}
		for _, l := range ladder.Levels()[1:] {
			before := arranged(l)
			moved := 0
			for _, b := range []int{5, 10} {
				bar := song.Bars[b]
				after := arranged(l, choice.Choice{Level: l.Number, At: bar.At, Until: bar.End(), Fix: choice.Use{Technique: l.Resort()}})
				old, now := byBar(before), byBar(after)
				for k := range old {
					switch {
					case !sounds(old[k], now[k]):
						moved++
					case !slices.EqualFunc(old[k], now[k], func(a, b score.Note) bool { return a.ID == b.ID }):
						t.Errorf("%s, %s: a choice in bar %d renames notes of bar %d", name, l.Label(), bar.Number, song.Bars[k].Number)
					}
				}
			}
			if moved == 0 || moved > len(song.Bars) {
				t.Errorf("%s, %s: the choices change %d bars", name, l.Label(), moved)
			}
		}
	}
}

func byBar(s score.Score) [][]score.Note {
	out := make([][]score.Note, len(s.Bars))
	for _, n := range s.Notes {
		b := s.BarAt(n.At)
		out[b] = append(out[b], n)
	}
	return out
}

// sounds tells whether two bars have the same notes.
func sounds(a, b []score.Note) bool {
	return slices.EqualFunc(a, b, func(m, n score.Note) bool {
		return m.At == n.At && m.Dur == n.Dur && m.Hand == n.Hand && m.Pitch == n.Pitch && m.Grace == n.Grace
	})
}
