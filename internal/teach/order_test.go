package teach_test

import (
	"slices"
	"testing"

	"gradatim/internal/technique"
	"gradatim/score"
)

// TestNewInOrder: no page names a technique before one that it needs, by itself or through
// others, and the main thing stands before all that it does not need.
func TestNewInOrder(t *testing.T) {
	var needs func(id, other string) bool
	needs = func(id, other string) bool {
		x, ok := technique.ByID(id)
		return ok && slices.ContainsFunc(x.Needs, func(n string) bool { return n == other || needs(n, other) })
	}
	mains := 0
	for _, tune := range tunes {
		_, l := lessonOf(t, tune)
		for _, level := range l.Levels {
			main := false
			for i, n := range level.New {
				for _, later := range level.New[i+1:] {
					if needs(n.Technique, later.Technique) {
						t.Errorf("%s, level %d: %s stands before %s, which it needs", tune, level.Number, n.Technique, later.Technique)
					}
					if later.Main && !main && !needs(later.Technique, n.Technique) {
						t.Errorf("%s, level %d: %s stands before the main thing, %s", tune, level.Number, n.Technique, later.Technique)
					}
				}
				if n.Main {
					main = true
					mains++
				}
			}
		}
	}
	if mains < len(tunes) {
		t.Errorf("%d main things in %d tunes", mains, len(tunes))
	}
}

// TestSeventhsWhereTheyAre: the bars of seventh chords are all those over which a chord
// with a seventh is printed whose seventh is struck there, the sheet's own included,
// and the answer to "where else" has no other bars and leaves none out.
func TestSeventhsWhereTheyAre(t *testing.T) {
	looked, asked := 0, 0
	for _, tune := range tunes {
		in, l := lessonOf(t, tune)
		for i, level := range l.Levels {
			for _, n := range level.New {
				if len(n.Elsewhere) > 0 {
					asked++
					all := slices.Concat(n.Elsewhere, n.Example.Bars)
					for _, b := range n.Bars {
						if !slices.Contains(all, b) {
							t.Errorf("%s, level %d, %s: bar %d is neither shown nor an answer", tune, level.Number, n.Technique, b)
						}
					}
				}
				if n.Technique != "seventh-chords" {
					continue
				}
				s := in.Pages[i].Score
				for _, m := range s.Notes {
					c, ok := s.ChordAt(m.At)
					if !ok || m.Grace > 0 || m.Origin.Kind == score.Melody {
						continue
					}
					d, in := c.Chord.Degree(m.Pitch.Name)
					if bar := s.Bars[s.BarAt(m.At)]; in && d.Number == 7 && c.Chord.Tones.Has(d) && !bar.Pickup && bar.At <= m.At {
						looked++
						if !slices.Contains(n.Bars, bar.Number) {
							t.Errorf("%s, level %d: the seventh of %s is struck in bar %d, which is not named: %v", tune, level.Number, c.Chord.Pretty(), bar.Number, n.Bars)
						}
					}
				}
			}
		}
	}
	if looked == 0 || asked == 0 {
		t.Errorf("%d sevenths and %d questions were looked at", looked, asked)
	}
}
