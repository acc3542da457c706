package outline_test

import (
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/harmony"
	"gradatim/internal/outline"
	"gradatim/internal/sharedtest"
	"gradatim/internal/sharedtest/ladders"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func read(t *testing.T, name, text string) leadsheet.Song {
	t.Helper()
	song, err := abc.Read([]byte(text), abc.Options{File: name})
	if err != nil {
		t.Fatal(err)
	}
	return song
}

func pitches(ns []leadsheet.Note) string {
	var out []string
	for _, n := range ns {
		out = append(out, n.Pitch.Name.String())
	}
	return strings.Join(out, " ")
}

// What is left of a bar, by metre: in threes the long and the short note, else the beat.
func TestOutline(t *testing.T) {
	for _, c := range []struct{ name, head, tune, coarse, fine string }{
		{"jig", "M:6/8\nL:1/8\nK:G", `"G"GFG AGA|`, "G G A A", "G F# G A G A"},
		{"reel", "M:4/4\nL:1/8\nK:D", `"D"DEFG ABAF|`, "D F# A F#", "D E F# G A B A F#"},
		{"polka", "M:2/4\nL:1/16\nK:D", `"D"DEFG ABAF|`, "D F# A F#", "D E F# G A B A F#"},
		{"walk", "M:4/4\nL:1/4\nK:C", `"C"CEGE|`, "C E G E", "C E G E"},
		{"leaning", "M:4/4\nL:1/8\nK:C", `"C"FEGE C4|`, "E G C", "F E G E C"},
		{"long between", "M:4/4\nL:1/8\nK:C", `"C"C E2 G2 c3|`, "C E G c", "C E G c"},
		{"sung", "M:4/4\nL:1/8\nK:C", `"C"CDEF G4|` + "\nw: one two three four five", "C D E F G", "C D E F G"},
		{"rest", "M:4/4\nL:1/8\nK:C", `"C"CDEF z2 G2|`, "C E G", "C D E F G"},
	} {
		song := read(t, c.name, "X:1\nT:"+c.name+"\n"+c.head+"\n"+c.tune+"\n")
		roles := harmony.Analyse(song).Roles
		for _, fine := range []bool{false, true} {
			want := c.coarse
			if fine {
				want = c.fine
			}
			got, _ := outline.Of(song, roles, fine)
			if !strings.EqualFold(pitches(got.Melody), want) {
				t.Errorf("%s, fine %v: %s, want %s", c.name, fine, pitches(got.Melody), want)
			}
		}
	}
}

// A variation in running sixteenths has its theme for outline: Mozart, Twelve Variations K. 265,
// variation 1, bars 1 and 2 over the theme's C C G G, moved to one chord a bar (from memory).
func TestOutlineOfVariation(t *testing.T) {
	song := read(t, "k265", "X:1\nT:variation\nM:2/4\nL:1/16\nK:C\n"+`"C"dcBc BcBc|"C"ag^fg fgfg|`+"\n")
	got, _ := outline.Of(song, harmony.Analyse(song).Roles, false)
	if p := pitches(got.Melody); !strings.EqualFold(p, "C C C C G G G G") {
		t.Errorf("outline %s, want the theme's C and G", p)
	}
}

// On the sheets of the corpus: what is left is part of the tune, in its order, moved by half
// a place at most; nothing sounds over the next note; and bars that are alike have one outline.
func TestOutlineOfSheets(t *testing.T) {
	for _, path := range sharedtest.Sheets(t) {
		song, err := ladders.Read(path)
		if err != nil {
			continue
		}
		an := harmony.Analyse(song)
		for _, fine := range []bool{false, true} {
			got, bars := outline.Of(song, an.Roles, fine)
			if (len(bars) > 0) != (len(got.Melody) < len(song.Melody)) {
				t.Errorf("%s: %d bars have lost %d notes", path, len(bars), len(song.Melody)-len(got.Melody))
			}
			i := 0
			for k, n := range got.Melody {
				for i < len(song.Melody) && (song.Melody[i].Pitch != n.Pitch || song.Melody[i].At < n.At) {
					i++
				}
				if i == len(song.Melody) || song.Melody[i].At-n.At > theory.Quarter/2 {
					t.Fatalf("%s: note %d of the outline, %v at %d, is none of the tune's in order", path, k, n.Pitch, n.At)
				}
				i++
				if n.Dur <= 0 || k+1 < len(got.Melody) && n.End() > got.Melody[k+1].At {
					t.Fatalf("%s: note %d lasts %d", path, k, n.Dur)
				}
			}
			if !slices.IsSortedFunc(got.Melody, func(a, b leadsheet.Note) int { return int(a.At - b.At) }) {
				t.Errorf("%s: out of order", path)
			}
		}
	}
}
