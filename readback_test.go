package gradatim_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"gradatim"
	"gradatim/internal/sharedtest"
	"gradatim/score"
	"gradatim/theory"
)

// TestReadBack reads the pages of the shared sheets back from the bytes that are written:
// they pass the audit that the command runs with the sheet, and hold the notes that were
// arranged. CI takes every 16th sheet, -short every 60th.
func TestReadBack(t *testing.T) {
	sheets := sharedtest.Sheets(t)
	pages := 0
	for i := 0; i < len(sheets); i += sharedtest.Every(60, 16) {
		name := filepath.Base(sheets[i])
		data, err := os.ReadFile(sheets[i])
		if err != nil {
			t.Fatal(err)
		}
		s, err := gradatim.Open(t.Context(), gradatim.Job{Sheet: gradatim.File{Name: name, Data: data}})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		made, err := s.Ladder(t.Context())
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		for k, p := range made {
			xml, err := s.MusicXML(t.Context(), p.Level.Number)
			if err != nil {
				t.Errorf("%s, level %d: %v", name, p.Level.Number, err)
				continue
			}
			back, _, err := gradatim.ReadScore(name, xml)
			if err != nil {
				t.Errorf("%s, level %d: %v", name, p.Level.Number, err)
				continue
			}
			pages++
			song := s.Song()
			o := gradatim.AuditOptions{Song: &song}
			if k == 0 { // the beginner's rhythm may be easier
				o.Moves = theory.Sixteenth
			}
			found, err := gradatim.Audit(t.Context(), back, o)
			if err != nil {
				t.Fatal(err)
			}
			for _, v := range found {
				t.Errorf("%s, level %d, read back: %v", name, p.Level.Number, v)
			}
			if what := differs(p.Printed, back); what != "" {
				t.Errorf("%s, level %d, read back: %s", name, p.Level.Number, what)
			}
		}
	}
	t.Logf("%d pages", pages)
}

// differs names a note that one of two scores has and the other has not. In which voice of
// a hand it stands does not count: chords of two voices are written as one.
func differs(a, b score.Score) string {
	type note struct {
		hand          score.Hand
		at, d, pitch  string
		grace, finger uint8
	}
	count := map[note]int{}
	for _, n := range a.Notes {
		count[note{n.Hand, n.At.String(), n.Dur.String(), n.Pitch.String(), n.Grace, uint8(n.Finger)}]++
	}
	for _, n := range b.Notes {
		count[note{n.Hand, n.At.String(), n.Dur.String(), n.Pitch.String(), n.Grace, uint8(n.Finger)}]--
	}
	for n, d := range count {
		if d != 0 {
			return fmt.Sprintf("%+v: %+d", n, -d)
		}
	}
	return ""
}
