package notate_test

import (
	"testing"

	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// A slur of the right hand lies above where other notes lie below the line or words under
// its bars, and wherever the stems leave room where the line is alone (common practice, no
// source).
func TestSlurOver(t *testing.T) {
	for _, tt := range []struct {
		text string
		over bool
		word theory.Dur // a word stands there, 0 under none
	}{
		{"meter 4/4\nR1 A4:1/4 B4:1/4 C5:1/4 D5:1/4", false, 0},
		{"meter 4/4\nR1 A4:1/4 E4+B4:1/4 C5:1/4 D5:1/4", true, 0},
		{"meter 4/4\nR1 A4:1/4 B4:1/4 C5:1/4 D5:1/4\nL1 A3:1/4 B3:1/4 C4+E4:1/2", false, 0},
		{"meter 4/4\nR1 A4:1/4 B4:1/4 C5:1/4 D5:1/4\nR2 E4:1", true, 0},
		{"meter 4/4\nR1 A4:1/4 B4:1/4 C5:1/4 D5:1/4", true, theory.Half},
		{"meter 4/4\nR1 A4:1/4 B4:1/4 C5:1/4 D5:1/4 E5:1/1", false, theory.Whole},
	} {
		s := scoretest.MustParse(tt.text)
		first, last := -1, -1
		for i, n := range s.Notes {
			if n.Hand == score.Right && n.Voice < 2 && n.Pitch.MIDI() >= 69 && n.At < theory.Whole {
				if first < 0 {
					first = i
				}
				last = i
			}
		}
		s.Notes[first].Marks |= score.SlurFrom
		s.Notes[last].Marks |= score.SlurTo
		if tt.word > 0 {
			s.Lyrics = []score.Lyric{{At: tt.word, Hand: score.Right, Syllable: leadsheet.Syllable{Verse: 1, Text: "la"}}}
		}
		page, _ := notate.Of(s)
		found := 0
		for _, b := range page.Bars {
			for _, v := range b.Voices {
				for _, e := range v.Events {
					for _, h := range e.Heads {
						if h.SlurFrom > 0 {
							found++
							if h.SlurOver != tt.over {
								t.Errorf("%q: above: %v, want %v", tt.text, h.SlurOver, tt.over)
							}
						}
					}
				}
			}
		}
		if found != 1 {
			t.Errorf("%q: %d slurs", tt.text, found)
		}
	}
}
