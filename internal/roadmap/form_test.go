package roadmap_test

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/roadmap"
	"gradatim/leadsheet"
	"gradatim/theory"
)

var fourFour = leadsheet.Meter{Beats: 4, Unit: 4}

// tune makes one bar of four quarters for each word; a letter is a pitch.
func tune(words string) leadsheet.Song {
	var s leadsheet.Song
	var at theory.Dur
	for i, w := range strings.Fields(words) {
		b := leadsheet.Bar{At: at, Dur: theory.Dur(len(w)) * theory.Quarter, Meter: fourFour, Written: i}
		for j, r := range w {
			n, err := theory.ParseName(string(r))
			if err != nil {
				panic(err)
			}
			s.Melody = append(s.Melody, leadsheet.Note{At: at + theory.Dur(j)*theory.Quarter, Dur: theory.Quarter, Pitch: n.At(4)})
		}
		at = b.End()
		s.Bars = append(s.Bars, b)
	}
	s.Bars = roadmap.JoinBars(s.Bars)
	return s
}

const (
	eightA = "CDEF GGGG AGFE DDDD CDEF GGGG AGFE CCCC "
	eightB = "EEEE FFFF GGGG AAAA EEEE FFFF DDDD GGGG "
	eightC = "AAAA GGGG FFFF EEEE AAAA BBBB AAAA GGGG "
)

func TestWithForm(t *testing.T) {
	bar := func(n int) theory.Dur { return theory.Dur(n) * theory.Whole }
	for _, tt := range []struct {
		name, words string
		marks       []roadmap.SectionMark
		form, at    string
	}{
		{"thirty-two bars", eightA + eightA + eightB + eightA, nil, "AABA", "0 8 16 24"},
		{"another ending", eightA + strings.Replace(eightA, "CCCC", "EEEE", 1) + eightB + eightA, nil, "AABA", "0 8 16 24"},
		{"four different parts", eightA + eightB + eightA + eightC, nil, "ABAC", "0 8 16 24"},
		{"with a pick-up", "G " + eightA + eightA + eightB + eightA, nil, "AABA", "1 9 17 25"},
		{"nothing comes back", eightC + "CCCC DDDD FFFF EEEE GGGG CDCD EFEF GAGA", nil, "", ""},
		{"odd number of bars", eightA + "CCCC", nil, "", ""},
		{"marks without names", eightA + eightA + eightC, []roadmap.SectionMark{{At: 0}, {At: bar(8)}, {At: bar(16)}}, "AAB", "0 8 16"},
		{"marks with names", eightA + eightB, []roadmap.SectionMark{{At: 0, Name: "A"}, {At: bar(8), Name: "C"}}, "AC", "0 8"},
		{"long names", eightA + eightB, []roadmap.SectionMark{{At: 0, Name: "Verse"}, {At: bar(8), Name: "Chorus"}}, "Verse Chorus", "0 8"},
		{"a mark inside a bar", eightA + eightA, []roadmap.SectionMark{{At: 0}, {At: bar(7) + 3*theory.Quarter}}, "AA", "0 8"},
		{"a double bar inside a phrase", eightA + eightA, []roadmap.SectionMark{{At: 0}, {At: bar(2)}, {At: bar(8)}, {At: bar(14)}}, "AA", "0 8"},
		{"one section in words", eightA + eightA + eightB + eightA, []roadmap.SectionMark{{At: 0}}, "AABA", "0 8 16 24"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := tune(tt.words)
			s := roadmap.WithForm(in, tt.marks)
			var at []string
			for i, b := range s.Bars {
				if b.Section != "" {
					at = append(at, fmt.Sprint(i))
				}
				if in.Bars[i].Section != "" {
					t.Fatal("the song that was asked has changed")
				}
			}
			if got := strings.Join(at, " "); s.Form != tt.form || got != tt.at {
				t.Errorf("form %q at %s, want %q at %s", s.Form, got, tt.form, tt.at)
			}
		})
	}
}

func TestStatedForm(t *testing.T) {
	s, ok := roadmap.StatedForm(tune("G "+eightA+eightB), "AB")
	if !ok || s.Form != "AB" || s.Bars[1].Section != "A" || s.Bars[9].Section != "B" {
		t.Errorf("%v %q", ok, s.Form)
	}
	if _, ok := roadmap.StatedForm(tune(eightA+"CCCC"), "AB"); ok {
		t.Error("nine bars were cut in two")
	}
}

// TestOnSheet numbers bars as a reader of the sheet does who counts no repeat: the
// bar before a repeat sign is the same whichever pick-up it leads into.
func TestOnSheet(t *testing.T) {
	for _, tt := range []struct {
		name, words string
		page        []int // bars of the page, as played
		want        string
	}{
		{"no repeat", "CCCC DDDD", []int{0, 1}, "1 2"},
		{"played twice", "CCCC DDDD CCCC DDDD EEEE", []int{0, 1, 0, 1, 2}, "1 2 1x2 2x2 3"},
		{"other ending", "CCCC DDDD CCCC EEEE", []int{0, 2, 0, 4}, "1 2 1x2 3"},
		{"pick-up", "C DDDD EEE C DDDD EEE", []int{0, 1, 2, 0, 1, 2}, "0 1 2 1x2 2x2"},
		{"back to the start", "CCCC DDDD EEEE CCCC FFFF", []int{0, 1, 2, 0, 3}, "1 2 3 1x2 4"},
	} {
		var at theory.Dur
		var bars []leadsheet.Bar
		for i, word := range strings.Fields(tt.words) {
			d := theory.Dur(len(word)) * theory.Quarter
			bars = append(bars, leadsheet.Bar{At: at, Dur: d, Meter: fourFour, Written: tt.page[i]})
			at += d
		}
		var got []string
		for _, b := range roadmap.JoinBars(bars) {
			text := fmt.Sprint(b.Sheet)
			if b.Pass > 1 {
				text += fmt.Sprintf("x%d", b.Pass)
			}
			got = append(got, text)
		}
		if g := strings.Join(got, " "); g != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, g, tt.want)
		}
	}
}

func TestJoinBars(t *testing.T) {
	for _, tt := range []struct{ name, words, want string }{
		{"full bars", "CCCC DDDD", "1:4 2:4"},
		{"pick-up", "C DDDD EEE", "0:1p 1:4 2:3"},
		{"split by a repeat", "C DDDD EEE C DDDD EEE", "0:1p 1:4 2:4 3:4 4:3"},
		{"short bar stays", "CCCC DD EEEE", "1:4 2:2 3:4"},
		{"pair out of three", "CCCC D EE FF GGGG", "1:4 2:1 3:4 4:4"},
		{"one short bar is no pick-up", "CC", "1:2"},
	} {
		t.Run(tt.name, func(t *testing.T) {
			var got []string
			for _, b := range tune(tt.words).Bars {
				p := ""
				if b.Pickup {
					p = "p"
				}
				got = append(got, fmt.Sprintf("%d:%d%s", b.Number, b.Dur/theory.Quarter, p))
			}
			if g := strings.Join(got, " "); g != tt.want {
				t.Errorf("got %s, want %s", g, tt.want)
			}
		})
	}
}
