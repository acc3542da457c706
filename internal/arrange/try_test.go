package arrange

import (
	"context"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/score"
)

func TestTry(t *testing.T) {
	s := tune(t, fourFour, "F", "C4:1 D4:1 | F A4:3 G4:1 F4:2 D4:2 | Bb F4:6 C4:1 D4:1 | Gm Bb4:3 A4:1 Bb4:2 D5:2 | C7 C5:6 A4:1 G4:1 | F A4:3 G4:1 A4:2 C5:2 | D7 D5:4 C5:2 A4:2 | Gm Bb4:2 A4:2 C7 G4:2 E4:2 | F F4:6")
	an := harmony.Analyse(s)
	for _, l := range ladder.Levels() {
		a, err := Arrange(context.Background(), s, an, Options{Level: l})
		if err != nil {
			t.Fatal(err)
		}
		t.Log("\n" + score.Text(a.Score))
		for _, p := range a.Problems {
			t.Log(p)
		}
		for _, v := range audit.Check(a.Score, audit.Options{Song: &s}) {
			t.Log("AUDIT", v.Problem)
		}
		for _, n := range a.Score.Notes[:12] {
			t.Log(n.ID, n.Pitch, n.Origin.Kind, n.Origin.Technique, n.Origin.Why)
		}
	}
}
