package edition_test

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/ladder"
	"gradatim/score"
	"gradatim/theory"
)

// everyKind has a choice of every kind for the Lantern, in its own key.
const everyKind = `version = 2

[[choice]]
level = 1
bar = 6
chord = "D7"

[[choice]]
level = 1
bar = 4
texture = "held-root"

[[choice]]
level = 1
bar = 9
hand = "left"
figure = "F2@1:1/2:bass C3@3:1/2:bass"

[[choice]]
level = 1
bar = 17
bars = 8
octave = 1

[[choice]]
level = 1
bar = 9
beat = 3
take = "C3"

[[choice]]
level = 1
bar = 10
hand = "left"
figure = "Bb2@1:1/4:bass F3@2:3/4:chord"

[[choice]]
level = 1
bar = 10
beat = 2
move = "F3"
to = "D3"

[[choice]]
level = 1
bar = 11
hand = "left"
figure = "G3@1:1/2:bass D4@3:1/2:chord"

[[choice]]
level = 1
bar = 11
beat = 4
hand = "left"
add = "Bb3"

[[choice]]
level = 1
bar = 11
note = "G3"
finger = 4

[[choice]]
level = 1
bar = 12
avoid = "anticipation"

[[lock]]
level = 1
notes = '''
bar 13
chords F@1
tune A4@1:3/8:finger3 G4@2.5:1/8:finger2 A4@3:1/4:finger3 C5@4:1/4:finger5
left broken-triad: F3@1:1/4:bass:finger5 A3@2:1/4:chord:finger3 C4@3:1/4:chord:finger1 A3@4:1/4:chord:finger3
'''
`

// TestChoicesMoveWithTheKey makes the page in twelve keys: what was chosen in the key of
// the sheet sounds there by the same interval.
func TestChoicesMoveWithTheKey(t *testing.T) {
	data, err := os.ReadFile("../../examples/lantern.abc")
	if err != nil {
		t.Fatal(err)
	}
	song, err := gradatim.Read("lantern.abc", data, 0)
	if err != nil {
		t.Fatal(err)
	}
	cs, told, err := choice.Parse("c.toml", []byte(everyKind), song, ladder.Levels(), nil)
	if err != nil || len(told) > 0 {
		t.Fatal(err, told)
	}
	kinds := map[string]bool{}
	for _, c := range cs {
		kinds[fmt.Sprintf("%T", c.Fix)] = true
	}
	if len(kinds) != 10 {
		t.Fatalf("the choices are of %d kinds: %v", len(kinds), kinds)
	}
	for _, tonic := range strings.Fields("C Db D Eb E F F# G Ab A Bb B") {
		t.Run(tonic, func(t *testing.T) {
			key, err := theory.ParseKey(tonic)
			if err != nil {
				t.Fatal(err)
			}
			as, err := edition.Make(context.Background(), song, edition.Options{Levels: ladder.Levels()[:1], Key: key, Choices: cs})
			if err != nil {
				t.Fatal(err)
			}
			a := as[0]
			if a.Failed {
				t.Fatal(a.Problems)
			}
			for _, p := range a.Problems {
				if p.Code == "choice-impossible" {
					t.Error(p)
				}
			}
			iv := theory.NameInterval(song.Key.Tonic, a.Song.Key.Tonic)
			if iv.Semitones > 6 {
				iv.Steps, iv.Semitones = iv.Steps-7, iv.Semitones-12
			}
			in := func(text string) string {
				p, err := theory.ParsePitch(text)
				if err != nil {
					t.Fatal(err)
				}
				return p.Up(iv).String()
			}
			at := func(bar int, beat theory.Dur) theory.Dur {
				for _, b := range a.Song.Bars {
					if b.Number == bar {
						return b.At + (beat-1)*theory.Quarter
					}
				}
				t.Fatal("no bar")
				return 0
			}
			d7, _ := theory.ParseSymbol("D7")
			if sym, _ := a.Score.ChordAt(at(6, 1)); sym.Chord != d7.Chord.Transpose(iv) {
				t.Errorf("bar 6: %s", sym.Chord)
			}
			for _, want := range []struct {
				bar   int
				beat  theory.Dur
				hand  score.Hand
				notes string
			}{
				{9, 1, score.Left, "F2"}, {9, 3, score.Left, ""}, {10, 1, score.Left, "Bb2"}, {10, 2, score.Left, "D3"},
				{11, 1, score.Left, "G3"}, {11, 3, score.Left, "D4"}, {11, 4, score.Left, "Bb3"},
				{13, 1, score.Left, "F3"}, {13, 2, score.Left, "A3"}, {13, 3, score.Left, "C4"}, {13, 4, score.Left, "A3"},
				{13, 1, score.Right, "A4"}, {13, 4, score.Right, "C5"}, {5, 1, score.Right, "A4"}, {17, 1, score.Right, "E6"},
			} {
				var got []string
				for _, n := range a.Score.Notes {
					if n.Hand == want.hand && n.At == at(want.bar, want.beat) && n.Grace == 0 {
						got = append(got, n.Pitch.String())
					}
				}
				w := want.notes
				if w != "" {
					w = in(w)
				}
				if g := strings.Join(got, " "); g != w {
					t.Errorf("bar %d, beat %d, %s hand: %q, want %q", want.bar, want.beat, want.hand, g, w)
				}
			}
			for _, n := range a.Score.Notes {
				if n.At == at(11, 1) && n.Hand == score.Left && n.Finger != 4 {
					t.Errorf("bar 11: finger %d", n.Finger)
				}
				if n.At == at(13, 1) && n.Hand == score.Right && n.Finger != 3 {
					t.Errorf("bar 13: finger %d", n.Finger)
				}
			}
		})
	}
}
