package notate

import (
	"fmt"
	"strings"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/score"
)

// The right hand keeps its clef for notes that ledger lines can tell: it takes the bass clef
// for two bars and more of notes below F3, and not under a slur (Elaine Gould, Behind Bars
// (2011), on changes of clef in keyboard music, from memory; the limit of two bars is ours).
func TestRightHandClef(t *testing.T) {
	const home, deep, dips = "G4:1/4 A4:1/4 B4:1/4 G4:1/4", "D3:1/4 C3:1/4 B2:1/4 D3:1/4", "A3:1/2 G3:1/2"
	for _, tt := range []struct {
		name     string
		bars     []string
		from, to int // bars of a slur; 0: none
		want     string
	}{
		{"notes on two ledger lines", []string{home, dips, dips, dips, home, home}, 0, 0, ""},
		{"one bar far below", []string{home, home, deep, home, home, home}, 0, 0, ""},
		{"two bars far below", []string{home, home, deep, deep, home, home}, 0, 0, "3 bass, 5 treble"},
		{"with a note above middle C", []string{home, home, deep, "D3:1/4 E4:1/4 B2:1/4 D3:1/4", home, home}, 0, 0, ""},
		{"under a slur", []string{home, home, deep, deep, home, home}, 2, 5, ""},
		{"and after it", []string{home, home, deep, deep, deep, home, home}, 1, 2, "3 bass, 6 treble"},
	} {
		s := scoretest.MustParse("title T\nmeter 4/4\nkey C\nR1 " + strings.Join(tt.bars, " ") + "\nL1" + strings.Repeat(" C2:1/1", len(tt.bars)))
		last := -1
		for i, n := range s.Notes {
			if n.Hand != score.Right {
				continue
			}
			if b := s.BarAt(n.At) + 1; b == tt.from && n.At == s.Bars[b-1].At {
				s.Notes[i].Marks |= score.SlurFrom
			} else if b == tt.to {
				last = i
			}
		}
		if last >= 0 {
			s.Notes[last].Marks |= score.SlurTo
		}
		page, _ := Of(s)
		var got []string
		for _, b := range page.Bars {
			for _, c := range b.Clefs {
				if c.Staff == score.Right {
					got = append(got, fmt.Sprint(b.Number, " ", c.Clef))
				}
			}
		}
		if g := strings.Join(got, ", "); g != tt.want {
			t.Errorf("%s: clefs %q, want %q", tt.name, g, tt.want)
		}
	}
}
