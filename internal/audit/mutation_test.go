package audit

import (
	"slices"
	"strings"
	"testing"
)

// A referee that explains everything explains nothing: of all notes of a piece
// that stands, each moved alone by a half step or an octave, most are found out.
// A whole step often lands on another note of the chord or a tension of it.
func TestMovedNotesAreFound(t *testing.T) {
	s, song := long(t, 8)
	for _, tt := range []struct{ by, atLeast int }{{-1, 80}, {1, 80}, {12, 80}, {-12, 60}, {2, 40}, {-2, 40}} {
		caught := 0
		for i := range s.Notes {
			m := s
			m.Notes = slices.Clone(s.Notes)
			p := &m.Notes[i].Pitch
			p.Alter += int8(tt.by % 12)
			p.Octave += int8(tt.by / 12)
			if len(Check(m.Finish(), Options{Song: &song})) > 0 {
				caught++
			}
		}
		percent := 100 * caught / len(s.Notes)
		t.Logf("moved by %+d: %d of %d found", tt.by, caught, len(s.Notes))
		if percent < tt.atLeast {
			t.Errorf("moved by %+d: only %d %% of the notes are found", tt.by, percent)
		}
	}
}

// Each note of the tune, left out of the page alone, is missed.
func TestLostNotesAreMissed(t *testing.T) {
	s, song := long(t, 8)
	for _, m := range song.Melody {
		top := -1
		for i, n := range s.Notes {
			if n.At == m.At && (top < 0 || n.Pitch.MIDI() > s.Notes[top].Pitch.MIDI()) {
				top = i
			}
		}
		lost := s
		lost.Notes = slices.Delete(slices.Clone(s.Notes), top, top+1)
		if !slices.ContainsFunc(Check(lost, Options{Song: &song}), func(v Violation) bool { return strings.HasPrefix(v.Code, "melody-") }) {
			t.Errorf("nobody misses %s in %v", m.Pitch, s.PosAt(m.At))
		}
	}
}
