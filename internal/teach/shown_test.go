package teach_test

import (
	"slices"
	"testing"

	"gradatim/internal/technique"
	"gradatim/score"
)

// TestExamplesShow: an example lets its subject be heard, and what stands beside it is the
// same place without just that.
func TestExamplesShow(t *testing.T) {
	ghosts := 0
	for _, name := range tunes {
		_, l := lessonOf(t, name)
		for _, level := range l.Levels {
			for _, n := range level.New {
				tech, _ := technique.ByID(n.Technique)
				after, before := n.Example.After.Score, n.Example.Before.Score
				switch {
				case tech.Stage == technique.Device && !tech.Plain:
					if len(n.Example.Notes) == 0 {
						t.Errorf("%s, level %d, %s: nothing of it sounds in bars %v", name, level.Number, tech.ID, n.Example.Bars)
					}
				case tech.ID == "plain-triads":
					if !slices.ContainsFunc(after.Chords, func(c score.Symbol) bool { return strikesTriad(after, c) }) {
						t.Errorf("%s, level %d: no triad sounds in bars %v", name, level.Number, n.Example.Bars)
					}
				case tech.ID == "ghost-notes":
					ghosts++
					var full []score.Note
					for _, m := range after.Notes {
						if !m.Marks.Has(score.Ghost) {
							full = append(full, m)
						}
					}
					same := func(a, b score.Note) bool { return a.At == b.At && a.Pitch == b.Pitch && a.Hand == b.Hand }
					if !slices.EqualFunc(full, before.Notes, same) || len(full) == len(after.Notes) {
						t.Errorf("%s, level %d: without ghosts\n%s\nwith them\n%s", name, level.Number, score.Text(before), score.Text(after))
					}
				}
			}
		}
	}
	if ghosts == 0 {
		t.Error("no example of ghost notes was looked at")
	}
}

// strikesTriad tells whether all of a triad is struck while its symbol is in force.
func strikesTriad(s score.Score, c score.Symbol) bool {
	for d := range c.Chord.Triad().Tones.All() {
		if !slices.ContainsFunc(s.Notes, func(n score.Note) bool {
			in, ok := s.ChordAt(n.At)
			return ok && in.At == c.At && n.Pitch.Class() == d.On(c.Chord.Root).Class()
		}) {
			return false
		}
	}
	return true
}
