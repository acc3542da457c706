package roadmap_test

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/roadmap"
	"gradatim/internal/sharedtest/corpus"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// played makes a song of bars of a page in the order given; the page is one word a bar.
func played(words string, order ...int) leadsheet.Song {
	page := strings.Fields(words)
	var all []string
	for _, i := range order {
		all = append(all, page[i])
	}
	s := tune(strings.Join(all, " "))
	var at theory.Dur
	s.Bars = nil
	for _, i := range order {
		d := theory.Dur(len(page[i])) * theory.Quarter
		s.Bars = append(s.Bars, leadsheet.Bar{At: at, Dur: d, Meter: fourFour, Written: i})
		at += d
	}
	s.Bars = roadmap.JoinBars(s.Bars)
	return s
}

// drawn writes the bars of a folded song with their signs.
func drawn(s leadsheet.Song) string {
	var out []string
	for _, b := range s.Bars {
		w := fmt.Sprint(b.Number)
		if b.Pickup {
			w += "p"
		}
		if b.Signs.Start {
			w = "|:" + w
		}
		if b.Signs.EndingOpens {
			w = "[" + b.Signs.Ending.String() + " " + w
		}
		if b.Signs.Times > 0 {
			w += strings.Repeat(":", b.Signs.Times-1) + "|"
		}
		for _, x := range []struct {
			is   bool
			text string
		}{{b.Signs.Segno, "S"}, {b.Signs.Coda, "O"}, {b.Signs.ToCoda, "o"}, {b.Signs.DaCapo, "DC"}, {b.Signs.DalSegno, "DS"}} {
			if x.is {
				w += x.text
			}
		}
		out = append(out, w)
	}
	return strings.Join(out, " ")
}

func TestFold(t *testing.T) {
	const eight = "CCCC DDDD EEEE FFFF GGGG AAAA BBBB CDEF"
	const long = eight + " CEGC DFAD EGBE FACF CDCD EFEF GAGA BCBC CCDD EEFF GGAA BBCC CDDC"
	upTo := func(first, last int) []int {
		var out []int
		for i := first; i <= last; i++ {
			out = append(out, i)
		}
		return out
	}
	for _, tt := range []struct {
		name, page string
		order      []int
		want       string // "": it does not fold
	}{
		{"nothing comes again", eight, []int{0, 1, 2, 3, 4, 5, 6, 7}, ""},
		{"a repeat, then on", eight, []int{0, 1, 2, 3, 0, 1, 2, 3, 4, 5}, "1 2 3 4:| 5 6"},
		{"three times", eight, []int{0, 1, 0, 1, 0, 1, 4, 5}, "1 2::| 3 4"},
		{"endings", eight, []int{0, 1, 2, 3, 0, 1, 2, 4, 5}, "1 2 3 [1 4:| [2 5 6"},
		{"the last time ends the piece", eight, []int{0, 1, 2, 3, 0, 1, 2, 3}, "1 2 3 [1 4:| [2 5"},
		{"three verses", eight, []int{0, 1, 2, 3, 0, 1, 2, 3, 0, 1, 2, 3}, "1 2 3 [1, 2 4::| [3 5"},
		{"two repeats", eight, []int{0, 1, 0, 1, 2, 3, 4, 5, 2, 3, 4, 5}, "1 2:| |:3 4 5 [1 6:| [2 7"},
		{"a pick-up into each repeat", "C DDDD EEEE FFF G AAAA BBBB CCC", []int{0, 1, 2, 3, 0, 1, 2, 3, 4, 5, 6, 7, 4, 5, 6, 7},
			"0p 1 2 3:| |:3p 4 5 [1 6:| [2 7"},
		{"back to the start is no ending", eight, []int{0, 1, 2, 3, 4, 5, 6, 7, 0, 1, 2, 3}, ""},
		{"back to the start, then a coda", long, slices.Concat(upTo(0, 18), upTo(0, 11), []int{19, 20}),
			"1 2 3 4 5 6 7 8 9 10 11 12o 13 14 15 16 17 18 19DC 20O 21"},
		{"back to a sign", long, slices.Concat(upTo(0, 19), upTo(1, 12), []int{20}),
			"1 2S 3 4 5 6 7 8 9 10 11 12 13o 14 15 16 17 18 19 20DS 21O"},
	} {
		s := played(tt.page, tt.order...)
		f, ok := roadmap.Fold(s, 0)
		if !ok && tt.want == "" {
			continue
		}
		if got := drawn(f.Song); !ok || got != tt.want {
			t.Errorf("%s: %s (%v), want %s", tt.name, got, ok, tt.want)
		}
	}
}

func chord(t *testing.T, symbol string) theory.Chord {
	t.Helper()
	sym, err := theory.ParseSymbol(symbol)
	if err != nil {
		t.Fatal(err)
	}
	return sym.Chord
}

// The last ending is as long as the first, whose last bar also leads back, and none of it is
// the next section: its bracket would stand over that (common practice, no source).
func TestFoldLastEnding(t *testing.T) {
	s := played("C DDDD EEEE FFFF AAAA GGG AAAA BBBB CCCC DDDD", 0, 1, 2, 3, 4, 5, 0, 1, 2, 3, 6, 7, 8, 9)
	s.Chords = []leadsheet.ChordMark{{At: theory.Quarter, Chord: chord(t, "C")}} // none over the first pick-up
	for _, tt := range []struct {
		section int // bar that begins one
		want    string
	}{
		{0, "0p |:1 2 3 [1 4 5:| [2 6 7 8 9"},
		{10, "0p |:1 2 3 [1 4 5:| [2 6 7 8 9"},
	} {
		s := s
		s.Bars = slices.Clone(s.Bars)
		if tt.section > 0 {
			s.Bars[tt.section].Section = "B"
		}
		f, ok := roadmap.Fold(s, 0)
		if got := drawn(f.Song); !ok || got != tt.want {
			t.Errorf("section at %d: %s (%v), want %s", tt.section, got, ok, tt.want)
		}
		for i, b := range f.Song.Bars {
			if in := b.Number >= 6 && b.Number <= 7 && !(tt.section == 10 && b.Number == 7); in != b.Signs.Ending.Has(2) {
				t.Errorf("section at %d: bar %d of second ending: %v", tt.section, i, !in)
			}
		}
	}
}

// What differs from time to time is not printed once, and a note is not held over a jump.
func TestFoldKeepsWhatDiffers(t *testing.T) {
	order := []int{0, 1, 2, 3, 0, 1, 2, 3, 4, 5}
	page := "CCCC DDDD EEEE FFFF GGGG AAAA"
	other := played(page, order...)
	other.Chords = []leadsheet.ChordMark{{Chord: chord(t, "C")}, {At: 5 * theory.Whole, Chord: chord(t, "F")}}
	if f, ok := roadmap.Fold(other, 0); ok {
		t.Errorf("other chords the second time: %s", drawn(f.Song))
	}
	held := played(page, order...)
	held.Melody[11].Dur += theory.Quarter // the last note of the third bar
	held.Melody[27].Dur += theory.Quarter
	f, ok := roadmap.Fold(held, 0)
	if got := drawn(f.Song); !ok || got != "1 2 3 4:| 5 6" {
		t.Errorf("held inside: %s, %v", got, ok)
	}
	over := played("CCCC DDDD EEEE FFFF GGGG AAAA", 0, 1, 2, 3, 0, 1, 2, 4, 5)
	over.Melody[11].Dur += theory.Quarter // into both endings
	over.Melody[27].Dur += theory.Quarter
	f, ok = roadmap.Fold(over, 0)
	if got := drawn(f.Song); !ok || got != "1 2 [1 3 4:| [2 5 6 7" {
		t.Errorf("held into the endings: %s, %v", got, ok)
	}
}

func TestFoldedPlace(t *testing.T) {
	f, ok := roadmap.Fold(played("CCCC DDDD EEEE FFFF", 0, 1, 0, 1, 2, 3), 0)
	if !ok {
		t.Fatal("it does not fold")
	}
	for bar, want := range []string{"0 false", "1 false", "0 true", "1 true", "2 false", "3 false"} {
		at, again := f.Place(theory.Dur(bar)*theory.Whole + theory.Quarter)
		if got := fmt.Sprint(int((at-theory.Quarter)/theory.Whole), again); got != want {
			t.Errorf("bar %d as played stands at %s, want %s", bar, got, want)
		}
	}
}

// What every shared sheet folds to is, written out again, the sheet as it is played.
func TestUnfold(t *testing.T) {
	folded := 0
	for _, sheet := range corpus.Sheets(t) {
		s := sheet.Song
		if strings.HasPrefix(sheet.Name, "derived/") {
			continue
		}
		f, ok := roadmap.Fold(s, 1)
		if !ok {
			continue
		}
		folded++
		got := roadmap.Unfold(f.Song)
		if len(got.Melody) != len(s.Melody) || got.End() != s.End() {
			t.Errorf("%s: %d notes to %s, were %d to %s", sheet.Name, len(got.Melody), got.End(), len(s.Melody), s.End())
			continue
		}
		for i, n := range got.Melody {
			if m := s.Melody[i]; m.At != n.At || m.Dur != n.Dur || m.Pitch != n.Pitch {
				t.Errorf("%s: note %d is %s at %s, was %s at %s", sheet.Name, i, n.Pitch, n.At, m.Pitch, m.At)
				break
			}
		}
		for _, b := range s.Bars {
			if x, y := inForce(s, b.At), inForce(got, b.At); x != y {
				t.Errorf("%s, bar %d: over %s, was %s", sheet.Name, b.Number, y, x)
				break
			}
		}
		for i, k := range f.Melody {
			if f.Song.Melody[i].Pitch != s.Melody[k].Pitch {
				t.Errorf("%s: note %d is not that of the sheet", sheet.Name, i)
				break
			}
		}
	}
	if folded < 90 {
		t.Errorf("%d sheets fold", folded)
	}
}

func inForce(s leadsheet.Song, at theory.Dur) theory.Chord {
	var now theory.Chord
	for _, c := range s.Chords {
		if c.At <= at {
			now = c.Chord
		}
	}
	return now
}
