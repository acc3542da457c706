package notate

import (
	"slices"

	"gradatim/leadsheet"
	"gradatim/score"
)

// Settled returns the score with its clefs and octave lines said as Directions,
// as Of would choose them: so that a part cut out of it is written as the whole
// is. The Problems are those of Of; where one is an Error the score is as it was.
func Settled(s score.Score) (score.Score, leadsheet.Problems) {
	page, problems := Of(s)
	if problems.Err() != nil {
		return s, problems
	}
	out := page.Source
	out.Directions = slices.DeleteFunc(slices.Clone(out.Directions), func(d score.Direction) bool {
		switch d.Kind {
		case score.ClefTreble, score.ClefBass, score.OctaveUp, score.OctaveEnd:
			return true
		}
		return false
	})
	clef := func(c ClefChange) {
		d := score.Direction{At: c.At, Kind: score.ClefTreble, Hand: c.Staff}
		if c.Clef == BassClef {
			d.Kind = score.ClefBass
		}
		out.Directions = append(out.Directions, d)
	}
	for _, h := range page.Hands() {
		clef(ClefChange{Staff: h, Clef: page.Clefs[h-1]})
	}
	for _, b := range page.Bars {
		for _, c := range b.Clefs {
			clef(c)
		}
		for _, sign := range b.Signs {
			switch sign.Kind {
			case SignOctaveUp:
				out.Directions = append(out.Directions, score.Direction{At: sign.At, Kind: score.OctaveUp, Hand: sign.Staff})
			case SignOctaveEnd:
				out.Directions = append(out.Directions, score.Direction{At: sign.At, Kind: score.OctaveEnd, Hand: sign.Staff})
			}
		}
	}
	return out.Finish(), problems
}
