package words_test

import (
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
)

// TestLine: in English a line is what a Problem's String is; in German place and gravity
// are in the language as well.
func TestLine(t *testing.T) {
	en, de := words.Must("en"), words.Must("de")
	for _, pos := range []leadsheet.Pos{{}, {File: "a.abc"}, {Line: 3, Col: 2}, {File: "a.abc", Line: 3, Bar: 7}, {File: "a.abc", Bar: 0, Beat: 3 * leadsheet.BeatUnit / 2}} {
		for _, sev := range []leadsheet.Severity{leadsheet.Info, leadsheet.Warning, leadsheet.Error} {
			for _, says := range []leadsheet.Saying{"key-guessed", "slur-dropped"} {
				p := leadsheet.Tell(sev, pos, says, "Key", "C")
				p.Times = 2
				if got, want := en.Line(p), en.Problem(p).String(); got != want {
					t.Errorf("%q, not %q", got, want)
				}
			}
		}
	}
	p := leadsheet.Tell(leadsheet.Warning, leadsheet.Pos{File: "a.abc", Line: 3, Bar: 7, Beat: 2 * leadsheet.BeatUnit}, "tie-loose.start")
	if got, want := de.Line(p), "a.abc:3: Takt 7, Schlag 2: Warnung: dieser Haltebogen geht von keiner Note aus und fällt weg [tie-loose]"; got != want {
		t.Errorf("%q, not %q", got, want)
	}
}
