package teach_test

import (
	"fmt"
	"slices"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/teach"
	"gradatim/internal/technique"
	"gradatim/score"
	"gradatim/theory"
)

// eachExample calls f with every worked example of every tune.
func eachExample(t *testing.T, f func(where string, in teach.Input, page teach.Page, tech *technique.Technique, e teach.Example)) {
	t.Helper()
	eachLevel(t, func(name string, in teach.Input, page teach.Page, v teach.LevelLesson) {
		for _, n := range v.New {
			tech, _ := technique.ByID(n.Technique)
			f(fmt.Sprintf("%s, level %d, %s", name, v.Number, n.Technique), in, page, tech, n.Example)
		}
	})
}

// fromBar is where an example begins on its page.
func fromBar(page teach.Page, e teach.Example) theory.Dur {
	for _, b := range page.Score.Bars {
		if b.Number == e.Bars[0] {
			return b.At
		}
	}
	return 0
}

// Without its chords, or without what comes early, the tune has the rhythm and the
// notes of the sheet; alone, it has the fingers of a single line.
func TestWithoutItTheTuneIsAsWritten(t *testing.T) {
	seen := 0
	eachExample(t, func(where string, in teach.Input, page teach.Page, tech *technique.Technique, e teach.Example) {
		for _, n := range e.Before.Score.Notes {
			if n.Finger == 0 {
				t.Errorf("%s: %s has no finger", where, n.Pitch)
			}
		}
		if tech.Stage != technique.Device && tech.Stage != technique.Line {
			return
		}
		from, end := fromBar(page, e), e.Before.Score.End()
		var got, want []string
		bare := e.Before.Score
		bare.Notes = nil
		for _, n := range e.Before.Score.Notes {
			if n.Hand == score.Right && (tech.Stage == technique.Device || n.Origin.Kind == score.Melody) {
				got = append(got, fmt.Sprintf("%s %s %d", n.At, n.Dur, n.Pitch.Class()))
				n.Finger, n.FingerTo = 0, 0
				bare.Notes = append(bare.Notes, n)
			}
		}
		for _, m := range in.Song.Melody {
			if m.At >= from && m.At < from+end {
				seen++
				want = append(want, fmt.Sprintf("%s %s %d", m.At-from, min(m.Dur, from+end-m.At), m.Pitch.Class()))
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: plays %v, the sheet has %v", where, got, want)
		}
		if tech.Stage == technique.Line {
			return
		}
		alone := hand.FingerScore(bare, in.Hand)
		i := 0
		for _, n := range e.Before.Score.Notes {
			if n.Hand != score.Right {
				continue
			}
			if n.Finger != alone.Notes[i].Finger {
				t.Errorf("%s: %s has finger %d, as a line %d", where, n.Pitch, n.Finger, alone.Notes[i].Finger)
			}
			i++
		}
	})
	if seen < 100 {
		t.Errorf("only %d notes", seen)
	}
}

// The notes of an example that are marked are new: none is the tune's own, but what
// comes early or has a sign; of a device none belongs to the sheet's chord. Only
// triads, which leave notes out, have none.
func TestMarkedNotesAreNew(t *testing.T) {
	marked := 0
	eachExample(t, func(where string, _ teach.Input, page teach.Page, tech *technique.Technique, e teach.Example) {
		from := fromBar(page, e)
		sheet := func(at theory.Dur) (theory.Chord, theory.Chord, bool) {
			for _, c := range page.Decisions {
				if at < c.At || at >= c.End || tech.Rewrite != nil && c.Device != tech.ID {
					continue
				}
				for _, ch := range c.Chords {
					if at >= ch.At && at < ch.End {
						return c.Sheet, ch.Chord, true
					}
				}
			}
			return theory.Chord{}, theory.Chord{}, false
		}
		for _, id := range e.Notes {
			i := slices.IndexFunc(e.After.Score.Notes, func(n score.Note) bool { return n.ID == id })
			if i < 0 {
				t.Fatalf("%s: %s is not there", where, id)
			}
			n := e.After.Score.Notes[i]
			if n.Origin.Kind == score.Melody && tech.Stage != technique.Line && n.Ornament == score.NoOrnament {
				t.Errorf("%s: the tune's own %s is marked", where, n.Pitch)
			}
			if tech.Stage == technique.Device {
				was, now, ok := sheet(from + n.At)
				if !ok || was.HasClass(n.Pitch.Class()) || !now.HasClass(n.Pitch.Class()) {
					t.Errorf("%s: %s is marked, %s becomes %s", where, n.Pitch, was, now)
				}
				continue
			}
			if n.Origin.Technique != tech.ID {
				t.Errorf("%s: %s is marked and belongs to %q", where, n.Pitch, n.Origin.Technique)
			}
		}
		if len(e.Notes) > 0 {
			marked++
			return
		}
		brought := slices.ContainsFunc(e.After.Score.Notes, func(n score.Note) bool { // or the tune alone has what is new
			was, now, ok := sheet(from + n.At)
			return ok && n.Origin.Kind != score.Melody && !was.HasClass(n.Pitch.Class()) && now.HasClass(n.Pitch.Class())
		})
		if tech.ID != "plain-triads" && (tech.Stage != technique.Device || brought) { // triads leave notes out
			t.Errorf("%s: nothing is marked", where)
		}
	})
	if marked < 60 {
		t.Errorf("only %d examples have marks", marked)
	}
}
