package teach

import (
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Whatever chord a page may have, on any root, a drill can play it with all that it
// promises, for a hand of ordinary reach and for one that reaches an octave.
func TestEveryChordHasAVoicing(t *testing.T) {
	small, err := hand.ParseProfile("octave")
	if err != nil {
		t.Fatal(err)
	}
	key, err := theory.ParseKey("F")
	if err != nil {
		t.Fatal(err)
	}
	meter := leadsheet.Meter{Beats: 4, Unit: 4}
	for _, h := range []hand.Profile{hand.Default(), small} {
		for _, level := range ladder.Levels() {
			w := &writer{hand: h, key: key}
			p := &page{Page: Page{Level: level, Score: score.Score{Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 120},
				Bars: []score.Bar{{Dur: meter.Bar(), Meter: meter, Key: key, Number: 1}}}}}
			for _, root := range []string{"C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"} {
				for _, suffix := range []string{"", "m", "dim", "aug", "sus4", "sus2", "add9", "m(add4)", "6", "m6", "7", "maj7", "m7", "m7b5", "dim7", "m(maj7)", "7sus4",
					"9", "maj9", "m9", "9sus4", "6/9", "m6/9", "m11", "13", "7b9", "7#9", "13b9", "7(#9,b13)", "7(b9,b13)", "9(#11)", "maj7(#11)", "13(#11)", "m7b5(add11)", "7#5", "7b5"} {
					sym, err := theory.ParseSymbol(root + suffix)
					if err != nil {
						t.Fatal(err)
					}
					d := w.sheet(p)
					if !d.voiced([]stretch{{chord: sym.Chord, dur: d.bar()}}, upperOf, 3) {
						t.Errorf("level %d: no voicing of %s%s", level.Number, root, suffix)
						continue
					}
					for _, deg := range promised(sym.Chord) {
						found := false
						for _, n := range d.notes {
							found = found || n.Pitch.Class() == deg.On(sym.Chord.Root).Class()
						}
						if !found {
							t.Errorf("%s%s lacks its %s", root, suffix, deg)
						}
					}
				}
			}
		}
	}
}
