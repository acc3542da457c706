package edition_test

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Every eighth sheet of the corpus, and with -short every fortieth, ends at levels 1, 3
// and 5 with the keynote as the lowest note of the left hand's last chord, in the tune's
// last beat and held as long as the tune is; or it is told why not.
func TestLastChord(t *testing.T) {
	every := 8
	if testing.Short() {
		every = 40
	}
	ends, told := 0, 0
	for i, path := range sharedtest.Sheets(t) {
		if i%every != 1 {
			continue
		}
		ls := ladder.Levels()
		for _, a := range made(t, load(t, path), edition.Options{Levels: []ladder.Level{ls[0], ls[2], ls[4]}}) {
			if count(a, "ending-open") > 0 {
				told++
				continue
			}
			ends++
			if why := notEnded(a); why != "" {
				t.Errorf("%s, level %d: %s", filepath.Base(path), a.Level.Number, why)
			}
		}
	}
	t.Logf("%d pages end on the tonic, of %d it is told why not", ends, told)
	if told*4 > ends {
		t.Errorf("%d pages end on the tonic, and %d do not", ends, told)
	}
}

func notEnded(a edition.Page) string {
	s := played(a)
	var left []score.Note
	for _, n := range s.Notes {
		if n.Hand != score.Left || n.Grace > 0 {
			continue
		}
		if len(left) > 0 && left[0].At < n.At {
			left = left[:0]
		}
		left = append(left, n)
	}
	if len(left) == 0 {
		return "the left hand plays nothing"
	}
	spans := harmony.Analyse(a.Song).Spans
	tonic := spans[len(spans)-1].Key.Tonic
	low := slices.MinFunc(left, func(a, b score.Note) int { return theory.ComparePitch(a.Pitch, b.Pitch) })
	tune := a.Song.Melody[len(a.Song.Melody)-1]
	b := a.Song.Bars[a.Song.BarAt(tune.At)]
	fromEnd := func(at theory.Dur) theory.Dur { return a.Song.End() - at }
	switch {
	case low.Pitch.Class() != tonic.Class():
		return "the lowest note of the last chord is " + low.Pitch.String() + ", not " + tonic.String()
	case s.End()-low.At > fromEnd(tune.At)+b.Meter.BeatDur():
		return "the left hand's last chord comes too early"
	case s.End()-low.End() > max(0, fromEnd(tune.End())):
		return "the last chord is let go before the tune is"
	}
	return ""
}

// Where the tune comes to rest on the keynote and the sheet leads on, or has lost its last
// chord, the piece closes on the tonic and says so; where the sheet says with a bass of
// its own what it wants, or the tune does not rest, it is left alone.
func TestEndsOnTheTonic(t *testing.T) {
	tune := `"C"CEGE|"F"AGFE|"C"CEGE|"G7"GFED|"C"CEGE|"F"AGFE|"G7"GFDB,|`
	for _, tt := range []struct{ name, end, code, last string }{
		{"closed", `"C"C4|]`, "", "C"},
		{"its last chord was forgotten", `C4|]`, "ending-tonic", "C"},
		{"IV", `"F"C4|]`, "ending-tonic", "C"},
		{"vi", `"Am"C4|]`, "ending-tonic", "C"},
		{"a written bass", `"F/A"C4|]`, "ending-open", "F/A"},
		{"no keynote", `"G"D4|]`, "ending-open", "G"},
		{"running back", `"C"CEDC/D/|]`, "ending-open", ""},
	} {
		song := sheetOf(t, "X:1\nT:End\nM:4/4\nL:1/4\nK:C\n"+tune+tt.end+"\n")
		for _, a := range made(t, song, edition.Options{Idiom: "folk-song", Levels: ladder.Levels()[:3]}) {
			var codes []string
			for _, p := range a.Problems {
				if strings.HasPrefix(p.Code, "ending-") {
					codes = append(codes, p.Code)
				}
			}
			if got := strings.Join(codes, " "); got != tt.code {
				t.Errorf("%s, level %d: %q is told, want %q", tt.name, a.Level.Number, got, tt.code)
			}
			last := a.Score.Chords[len(a.Score.Chords)-1].Chord
			if tt.last != "" && last.String() != tt.last {
				t.Errorf("%s, level %d: it ends on %s, want %s", tt.name, a.Level.Number, last, tt.last)
			}
			if found := audit.Check(a.Score, audit.Options{Song: &song}); len(found) > 0 {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, found[0])
			}
			if a.Score.End() != song.End() || leadsheet.Problems(a.Problems).Err() != nil {
				t.Errorf("%s, level %d: %v", tt.name, a.Level.Number, a.Problems)
			}
		}
	}
}
