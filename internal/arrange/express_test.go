package arrange

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func aaba(t *testing.T) leadsheet.Song {
	t.Helper()
	data, err := os.ReadFile("../../examples/lantern.abc")
	if err != nil {
		t.Fatal(err)
	}
	s, err := abc.Read(data, abc.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// Every slur of a page has two ends, covers no rest of the tune and at most four
// bars, and begins and ends on notes of the tune; each page says how loud it is.
func TestExpression(t *testing.T) {
	for _, st := range []string{"swing", "ballad"} {
		for n := 1; n <= 5; n++ {
			s := arranged(t, aaba(t), n, st).Score
			if r, l := s.DynamicAt(0, score.Right), s.DynamicAt(0, score.Left); r != l || r != map[string]string{"swing": "mf", "ballad": "mp"}[st] {
				t.Errorf("%s, level %d: begins %q over %q", st, n, r, l)
			}
			var tune []score.Note
			for _, x := range s.Notes {
				if x.Origin.Kind == score.Melody {
					tune = append(tune, x)
				} else if x.Marks&(score.SlurFrom|score.SlurTo) != 0 {
					t.Errorf("%s, level %d: a slur on %s, which is not the tune", st, n, x.ID)
				}
			}
			slices.SortFunc(tune, score.Compare)
			slurs, from := 0, -1
			for i, x := range tune {
				if x.Marks.Has(score.SlurTo) {
					if from == i-1 && tune[from].Pitch == x.Pitch {
						t.Errorf("%s, level %d: the slur to %s looks like a tie", st, n, x.ID)
					}
					if from < 0 {
						t.Fatalf("%s, level %d: a slur ends at %s and has no beginning", st, n, x.ID)
					}
					if bars := s.BarAt(x.At) - s.BarAt(tune[from].At); bars > 4 {
						t.Errorf("%s, level %d: a slur over %d bar lines", st, n, bars)
					}
					slurs, from = slurs+1, -1
				}
				if from >= 0 && tune[i-1].End() != x.At {
					t.Errorf("%s, level %d: a slur over a rest before %s", st, n, x.ID)
				}
				if x.Marks.Has(score.SlurFrom) {
					if from >= 0 {
						t.Errorf("%s, level %d: a slur begins in a slur at %s", st, n, x.ID)
					}
					from = i
				}
			}
			if from >= 0 || slurs < 4 {
				t.Errorf("%s, level %d: %d slurs, the last open: %t", st, n, slurs, from >= 0)
			}
		}
	}
}

// The restatement is softer, the page grows to the tune's highest note, which is in the
// bridge, and the return has the sign of the beginning; a beginner has signs for sections.
func TestDynamicsFollowThePlan(t *testing.T) {
	for n := 1; n <= 5; n++ {
		s := arranged(t, aaba(t), n, "swing").Score
		var got []string
		for _, d := range s.Directions {
			switch d.Kind {
			case score.Dynamic, score.Crescendo, score.Diminuendo, score.HairpinEnd:
				text := map[score.DirectionKind]string{score.Crescendo: "<", score.Diminuendo: ">", score.HairpinEnd: "|"}[d.Kind] + d.Text
				pos := s.PosAt(d.At)
				got = append(got, fmt.Sprintf("%d:%s%s", pos.Bar, pos.Beat, text))
			}
		}
		want := "0:4mf 9:1mp 17:1mf 21:1< 22:4| 22:4f 23:1> 24:1| 24:1mf"
		peak := []int{22}
		switch n {
		case 1:
			want = "0:4mf 9:1mp 17:1f 25:1mf"
		case 5: // whose last return stands an octave higher
			want, peak = "0:4mf 9:1mp 17:1f 25:1mf 28:1< 30:1| 30:1f", []int{27, 30}
		}
		if g := strings.Join(got, " "); g != want {
			t.Errorf("level %d:\n%s, want\n%s", n, g, want)
		}
		top := 0
		for _, x := range s.Notes {
			if x.Origin.Kind == score.Melody {
				top = max(top, x.Pitch.MIDI())
			}
		}
		for _, x := range s.Notes {
			if pos := s.PosAt(x.At); n > 1 && x.Origin.Kind == score.Melody && x.Pitch.MIDI() == top && !slices.Contains(peak, pos.Bar) {
				t.Errorf("level %d: the highest note is in bar %d", n, pos.Bar)
			}
		}
	}
}

// A march is struck as marches are: what the left hand strikes after its bass is short,
// sections begin with an accent, running notes are joined by the half bar at most, from a
// beat; a beginner has the slurs alone. Common practice, no source.
func TestTouch(t *testing.T) {
	for n := 1; n <= 3; n++ {
		s := arranged(t, aaba(t), n, "march").Score
		short, accents, slurs := 0, 0, 0
		var from score.Note
		for _, x := range s.Notes {
			if x.Grace == 0 && x.Origin.Kind == score.Melody {
				if x.Marks.Has(score.SlurFrom) {
					from = x
					if b := s.Bars[s.BarAt(x.At)]; b.Offset(x.At)%theory.Quarter != 0 {
						t.Errorf("level %d, bar %d: a slur begins between beats", n, b.Number)
					}
				}
				if x.Marks.Has(score.SlurTo) {
					if slurs++; x.End()-from.At > theory.Half || s.BarAt(x.At) != s.BarAt(from.At) {
						t.Errorf("level %d, bar %d: a slur over more than half a bar", n, s.BarAt(x.At))
					}
				}
				if x.Marks.Has(score.Staccato) && x.Marks.Has(score.SlurFrom) {
					t.Errorf("level %d, bar %d: a slur begins on a detached note", n, s.BarAt(x.At))
				}
			}
			if x.Marks.Has(score.Staccato) && x.Hand == score.Left {
				short++
				if x.Dur > theory.Quarter || x.Origin.Kind == score.Bass {
					t.Errorf("level %d: %s of %s in bar %d is staccato", n, x.Pitch, x.Dur, s.PosAt(x.At).Bar)
				}
			}
			if x.Marks.Has(score.Accent) && x.Hand == score.Right {
				accents++
				if b := s.Bars[s.BarAt(x.At)]; b.Section == "" && s.PosAt(x.At).Bar != 22 {
					t.Errorf("level %d: an accent in bar %d", n, b.Number)
				}
			}
		}
		if slurs < 4 {
			t.Errorf("level %d: %d slurs", n, slurs)
		}
		if (short > 0) != (n > 1) || (accents > 0) != (n > 1) {
			t.Errorf("level %d: %d short notes in the left hand, %d accents", n, short, accents)
		}
	}
}

// The fermata stands in both hands, once in each: over what that hand strikes last
// and holds to the end.
func TestLastChordIsHeld(t *testing.T) {
	for n := 2; n <= 5; n++ {
		s := arranged(t, aaba(t), n, "swing").Score
		last := s.Notes[len(s.Notes)-1].At
		var hands [3]int
		var struck [3]theory.Dur
		for _, x := range s.Notes {
			struck[x.Hand] = max(struck[x.Hand], x.At)
		}
		for _, x := range s.Notes {
			if held := x.Marks.Has(score.Fermata); held != (x.End() > last && x.Grace == 0 && x.At == struck[x.Hand]) {
				t.Errorf("level %d: %s in bar %d: fermata %t", n, x.Pitch, s.BarAt(x.At), held)
			} else if held {
				hands[x.Hand]++
			}
		}
		if hands[score.Right] == 0 || hands[score.Left] == 0 {
			t.Errorf("level %d: %d notes held in the right hand, %d in the left", n, hands[score.Right], hands[score.Left])
		}
	}
}

// Over a flat root the notes are named as the symbol names them, C♭ and F♭ too,
// unless the tune plays that key there by another name: one key has one name.
func TestNamesAsTheSymbolSays(t *testing.T) {
	white := 0
	for n := 4; n <= 5; n++ {
		s := arranged(t, aaba(t), n, "swing").Score
		for _, x := range s.Notes {
			sym, ok := s.ChordAt(x.At)
			if !ok || sym.Chord.Root.Alter >= 0 || x.Origin.Kind != score.Chord && x.Origin.Kind != score.Bass {
				continue
			}
			for _, name := range sym.Chord.SpellReading() {
				if name.Class() != x.Pitch.Class() {
					continue
				}
				tune := func(m score.Note) bool {
					in, _ := s.ChordAt(m.At)
					return m.Origin.Kind == score.Melody && m.Pitch.Name == x.Pitch.Name && in.At == sym.At
				}
				if name != x.Pitch.Name && !slices.ContainsFunc(s.Notes, tune) {
					t.Errorf("level %d, bar %d: %s in %s, not %s", n, s.Bars[s.BarAt(x.At)].Number, x.Pitch, sym.Chord, name)
				}
				if name.Alter < 0 && name.String() == "Cb" || name.String() == "Fb" {
					white++
				}
			}
		}
	}
	if white == 0 {
		t.Error("no C♭ and no F♭ on the pages")
	}
}
