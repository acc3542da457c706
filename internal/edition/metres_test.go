package edition_test

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/leadsheet"
	"gradatim/theory"
)

// turning is a tune of eight bars in any metre: quarters or eighths up and down a
// scale, long at the end of each line. Our own.
func turning(metre string, beats, unit int) string {
	const scale = "CDEFGABcBAGFED"
	chords := strings.Fields("C F G7 C Am Dm G C")
	var b strings.Builder
	fmt.Fprintf(&b, "X:1\nT:Turning\nM:%s\nL:1/%d\nK:C\n", metre, unit)
	k := 0
	for i, c := range chords {
		fmt.Fprintf(&b, "%q", c)
		for left := beats; left > 0; k++ {
			n := min(2, left)
			if left == 3 || i%4 == 3 && left < 8 {
				n = left
			}
			fmt.Fprintf(&b, "%c%d", scale[k%len(scale)], n)
			left -= n
		}
		b.WriteString("|")
	}
	return b.String() + "\n"
}

// TestMetres: no metre is refused, every level passes the audit, and what the left
// hand strikes in an uneven bar begins its groups.
func TestMetres(t *testing.T) {
	metres := []struct {
		text        string
		beats, unit int
	}{
		{"5/4", 5, 4}, {"7/8", 7, 8}, {"(3+2)/8", 5, 8}, {"7/4", 7, 4}, {"2/8", 2, 8}, {"4/8", 4, 8}, {"9/4", 9, 4},
		{"11/8", 11, 8}, {"(2+2+2+3)/8", 9, 8}, {"(3+3+2)/8", 8, 8}, {"3/16", 3, 16}, {"1/4", 1, 4}, {"10/4", 10, 4}, {"none", 5, 4},
	}
	if testing.Short() {
		metres = metres[:3]
	}
	for _, m := range metres {
		song, err := gradatim.Read("turning.abc", []byte(turning(m.text, m.beats, m.unit)), 0)
		if err != nil {
			t.Fatalf("%s: %v", m.text, err)
		}
		pages, err := edition.Make(context.Background(), song, edition.Options{})
		if err != nil {
			t.Fatalf("%s: %v", m.text, err)
		}
		if len(pages) != 5 {
			t.Errorf("%s: %d levels", m.text, len(pages))
		}
		groups, begun := 0, 0
		for _, p := range pages {
			if found := audit.Check(p.Score, audit.Options{}); len(found) > 0 {
				t.Errorf("%s, level %d: %v", m.text, p.Level.Number, found)
			}
			struck := map[theory.Dur]bool{}
			for _, n := range p.Score.Notes {
				struck[n.At] = true
			}
			for _, b := range p.Score.Bars[:len(p.Score.Bars)-1] { // the last chord is held
				if b.Meter.Uneven() {
					for _, g := range b.Meter.Groups() {
						if groups++; struck[b.At+g] {
							begun++
						}
					}
				}
			}
		}
		if groups > 0 && 10*begun < 9*groups {
			t.Errorf("%s: of %d groups %d begin with a note", m.text, groups, begun)
		}
	}
}

// TestChangingMetres: bars of several metres, an overfull one and a free one stand on
// one page, each as long as it is written.
func TestChangingMetres(t *testing.T) {
	const text = "X:1\nT:Changing\nM:4/4\nL:1/4\nK:G\n" +
		`"G"GABd|[M:5/4]"C"edcBA|"D7"AFDEF|[M:7/8]"G"G/2A/2 B d3/2|"C"ed c3/2|[M:3/4]"D7"A2F|[M:4/4]"G"GABcd|[M:none]"Am"cBAA4|[M:2/4]"D7"FA|"G"G2|` + "\n"
	song, err := gradatim.Read("changing.abc", []byte(text), 0)
	if err != nil {
		t.Fatal(err)
	}
	pages, err := edition.Make(context.Background(), song, edition.Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"4/4", "5/4", "5/4", "7/8", "7/8", "3/4", "5/4", "7/4", "2/4", "2/4"}
	for _, p := range pages {
		tune, _, _ := p.Tune()
		if len(tune.Bars) != len(want) {
			t.Fatalf("level %d has %d bars", p.Level.Number, len(tune.Bars))
		}
		for i, b := range tune.Bars {
			if b.Meter.String() != want[i] || b.Dur != b.Meter.Bar() || b.Meter.Free() != (i == 7) {
				t.Errorf("level %d, bar %d: %s of %s", p.Level.Number, i+1, b.Meter, b.Dur)
			}
		}
	}
	if leadsheet.Problems(song.Problems).Err() != nil {
		t.Error(song.Problems)
	}
}
