package dictation

import (
	"reflect"
	"testing"

	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Bars in doubt are one line, with each bar once.
func TestDoubtIsOneLine(t *testing.T) {
	four := leadsheet.Meter{Beats: 4, Unit: 4}
	x := take{doubtful: []theory.Dur{theory.Quarter, theory.Half, 2 * theory.Whole}}
	for i := range 3 {
		x.bars = append(x.bars, score.Bar{At: theory.Dur(i) * theory.Whole, Dur: theory.Whole, Meter: four, Number: i + 1})
	}
	x.tellDoubt()
	if len(x.problems) != 1 || x.problems[0].Pos.Bar != 1 || !reflect.DeepEqual(x.problems[0].Parts[1], leadsheet.BarNumbers{1, 3}) {
		t.Errorf("%+v", []leadsheet.Problem(x.problems))
	}
}
