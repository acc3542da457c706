package musicxml

import (
	"slices"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// checkSong holds what every song must keep, wherever it was read from.
func checkSong(t testing.TB, s leadsheet.Song) {
	t.Helper()
	if len(s.Bars) == 0 || len(s.Melody) == 0 {
		t.Fatal("a song without bars or notes")
	}
	if !s.Key.Valid() || s.Key != s.Bars[0].Key || s.Meter != s.Bars[0].Meter {
		t.Fatalf("key %s, metre %s at the start, %s %s in the first bar", s.Key, s.Meter, s.Bars[0].Key, s.Bars[0].Meter)
	}
	var at theory.Dur
	for i, b := range s.Bars {
		if b.At != at || b.Dur <= 0 || !b.Meter.Valid() || !b.Key.Valid() || b.Pickup && i > 0 {
			t.Fatalf("bar %d: %+v, expected at %d", i, b, at)
		}
		at = b.End()
	}
	at = 0
	for i, n := range s.Melody {
		if n.At < at || n.Dur <= 0 || n.End() > s.End() {
			t.Fatalf("note %d at %d for %d: the one before ends at %d, the song at %d", i, n.At, n.Dur, at, s.End())
		}
		if m := n.Pitch.MIDI(); m < 0 || m > 127 {
			t.Fatalf("note %d: %s", i, n.Pitch)
		}
		if n.Pos.Line == 0 {
			t.Fatalf("note %d has no line", i)
		}
		at = n.End()
	}
	at = -1
	for i, c := range s.Chords {
		if c.At <= at || c.At >= s.End() {
			t.Fatalf("chord %d at %d: after %d, before %d", i, c.At, at, s.End())
		}
		if c.Unknown && !c.Chord.Silent() {
			t.Fatalf("chord %d is unknown and %s", i, c.Chord)
		}
		if !c.Unknown {
			sym, err := theory.ParseSymbol(c.Chord.String())
			if err != nil || sym.Chord != c.Chord {
				t.Fatalf("chord %d: %s reads back as %s, %v", i, c.Chord, sym.Chord, err)
			}
		}
		at = c.At
	}
	checkProblems(t, s.Problems)
}

// checkScore holds what every score must keep.
func checkScore(t testing.TB, s score.Score) {
	t.Helper()
	if len(s.Bars) == 0 || len(s.Notes) == 0 {
		t.Fatal("a score without bars or notes")
	}
	var at theory.Dur
	for i, b := range s.Bars {
		if b.At != at || b.Dur <= 0 || !b.Meter.Valid() || !b.Key.Valid() {
			t.Fatalf("bar %d: %+v, expected at %d", i, b, at)
		}
		at = b.End()
	}
	if !slices.IsSortedFunc(s.Notes, score.Compare) {
		t.Fatal("notes out of order")
	}
	ids := map[string]bool{}
	for i, n := range s.Notes {
		if n.At < 0 || n.End() > s.End() || (n.Dur == 0) != (n.Grace > 0) {
			t.Fatalf("note %d: %+v", i, n)
		}
		if n.Hand != score.Right && n.Hand != score.Left || n.Voice < 1 || n.Voice > 8 || n.Staff == n.Hand || n.Staff > score.Left {
			t.Fatalf("note %d: hand %s, voice %d, staff %s", i, n.Hand, n.Voice, n.Staff)
		}
		if !validID(n.ID) || ids[n.ID] {
			t.Fatalf("note %d: id %q", i, n.ID)
		}
		ids[n.ID] = true
		if n.Finger > 5 || n.FingerTo > 5 {
			t.Fatalf("note %d: finger %d", i, n.Finger)
		}
	}
	for i, c := range s.Chords {
		if i > 0 && c.At <= s.Chords[i-1].At {
			t.Fatalf("chord %d out of order", i)
		}
	}
}

// checkProblems wants every Problem placed, coded and plain.
func checkProblems(t testing.TB, ps leadsheet.Problems) {
	t.Helper()
	for _, p := range words.Must("en").Problems(ps) {
		if p.Code == "" || p.Text == "" || p.Severity == 0 {
			t.Fatalf("empty problem %+v", p)
		}
		if p.Pos.Line == 0 && p.Code != "mxl-container" {
			t.Fatalf("not placed: %s", p)
		}
	}
}
