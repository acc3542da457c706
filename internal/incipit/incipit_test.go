package incipit

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func read(t *testing.T, text string) leadsheet.Song {
	t.Helper()
	s, err := abc.Read([]byte(text), abc.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const tune = "X:1\nM:4/4\nL:1/4\nK:C\nG|CEGE|DFBG|CEGc|BGFD|FAcA|GEGE|DFGF|E2C2|]\n"

// TestAgain: a tune in another key, spelling, metre, note values, with repeated notes or
// another note here and there is found to be the same; another tune is not.
func TestAgain(t *testing.T) {
	first := Of(read(t, tune))
	for what, text := range map[string]string{
		"another key":     "X:1\nM:4/4\nL:1/4\nK:D\nA|DFAF|EGcA|DFAd|cAGE|GBdB|AFAF|EGAG|F2D2|]\n",
		"another metre":   "X:1\nM:3/4\nL:1/4\nK:C\nG|CEG|EDF|BGC|EGc|BGF|DFA|cAG|EGE|DFG|FE2|C3|]\n",
		"halved values":   "X:1\nM:2/4\nL:1/8\nK:C\nG|CEGE|DFBG|CEGc|BGFD|FAcA|GEGE|DFGF|E2C2|]\n",
		"repeated notes":  "X:1\nM:4/4\nL:1/4\nK:C\nG|CEG/G/E|DFBG|CEGc|BG/G/FD|FAcA|GEGE|DFGF|EECC|]\n",
		"another note":    "X:1\nM:4/4\nL:1/4\nK:C\nG|CEGE|DFBG|CEGc|BGFD|FAcB|GEGE|DFGF|E2C2|]\n",
		"another writing": "X:1\nM:4/4\nL:1/4\nK:Db\nA|DFAF|EGcA|DFAd|cAGE|GBdB|AFAF|EGAG|F2D2|]\n",
	} {
		in := Of(read(t, text))
		if !Same(first.Melody, in.Melody) {
			t.Errorf("%s: %s and %s are not the same", what, first.Melody, in.Melody)
		}
		if !slices.ContainsFunc(in.Marks, func(m int64) bool { return slices.Contains(first.Marks, m) }) {
			t.Errorf("%s: no mark in common", what)
		}
	}
	other := Of(read(t, "X:1\nM:4/4\nL:1/4\nK:C\ncBAG|FEDC|DEFG|A2G2|cdef|gfed|cAFD|C4|]\n"))
	if Same(first.Melody, other.Melody) {
		t.Error("another tune is the same")
	}
	if first.Downbeat == first.First || first.Downbeat[:6] != "4,3,-3" {
		t.Errorf("from the first full bar on: %s", first.Downbeat)
	}
	if again := Again(first.First, first.Downbeat, first.Melody); !reflect.DeepEqual(again, first) {
		t.Error("an incipit that was kept is another")
	}
	if short := Of(read(t, "X:1\nK:C\nCDE|\n")); short.Marks != nil || Same(short.Melody, short.Melody) {
		t.Error("three notes are taken for a tune")
	}
}

// TestStrangers: among the tunes of an open collection, each moved to another key is found
// again, and few are taken for one another. The collection (data/leadsheets, see its
// README) has a handful of tunes in two versions.
func TestStrangers(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/leadsheets"), "*", "*.abc"))
	if err != nil || len(files) == 0 {
		t.Fatal(err, len(files))
	}
	var all []Incipit
	keys := map[string]Incipit{} // of a tune that the collection has in many keys
	found := 0
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		song, err := abc.Read(data, abc.Options{})
		if err != nil {
			continue
		}
		in := Of(song)
		if len(in.Marks) == 0 {
			continue
		}
		if moved := Of(song.Transpose(theory.Interval{Steps: 4, Semitones: 7})); !reflect.DeepEqual(moved, in) {
			t.Errorf("%s a fifth higher is another tune", f)
		}
		name := filepath.Base(f)
		if !strings.Contains(f, "derived") {
			all = append(all, in)
		} else if strings.HasPrefix(name, "key_") {
			tune := name[:strings.LastIndex(name, "_")]
			if first, is := keys[tune]; is {
				found++
				if !Same(first.Melody, in.Melody) || !slices.Equal(first.Marks, in.Marks) {
					t.Errorf("%s is not the tune that it is in another key", f)
				}
			}
			keys[tune] = in
		}
	}
	if found < 10 {
		t.Errorf("only %d tunes in another key", found)
	}
	pairs := 0
	for i := range all {
		for j := range i {
			if Same(all[i].Melody, all[j].Melody) {
				pairs++
				if !slices.ContainsFunc(all[i].Marks, func(m int64) bool { return slices.Contains(all[j].Marks, m) }) {
					t.Logf("a pair of the same tune shares no mark")
				}
			}
		}
	}
	if len(all) < 50 || pairs > len(all)/10 {
		t.Errorf("%d tunes, %d pairs taken for one", len(all), pairs)
	}
}

func TestTyped(t *testing.T) {
	for text, want := range map[string][]int{
		"C D E":      {2, 2},
		"G4 C5 B4":   {5, -1},
		"C B":        {-1}, // the nearest
		"C G":        {-5}, // a fourth down, not a fifth up
		"F# Gb":      {0},
		"C F#":       {6},
		"+2 +2 -4 0": {2, 2, -4, 0},
		"0,+3":       {0, 3},
	} {
		if got, ok := Typed(text); !ok || !slices.Equal(got, want) {
			t.Errorf("%q is %v, %v; %v is wanted", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "H", "C D x", "+2 3", "+99", "C"} {
		if got, ok := Typed(text); ok {
			t.Errorf("%q is %v", text, got)
		}
	}
}

func ExampleTyped() {
	ivs, _ := Typed("G A B C5")
	fmt.Println(Text(ivs))
	// Output: 2,2,1,
}
