package arrange

import (
	"testing"

	"gradatim/internal/plan"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// lowTune is a dance of quarters that lies low enough to be lifted.
const lowTune = "C G4:2 C5:2 E5:2 C5:2 | F A4:2 C5:2 F5:2 C5:2 | G B4:2 D5:2 G5:2 D5:2 | C E5:2 C5:2 C5:4 | " +
	"C G4:2 C5:2 E5:2 C5:2 | F A4:2 C5:2 F5:2 C5:2 | G B4:2 D5:2 G4:2 B4:2 | C C5:8"

// inSections names sections of eight bars.
func inSections(s leadsheet.Song, names ...string) leadsheet.Song {
	for i, n := range names {
		s.Bars[8*i].Section = n
	}
	return s
}

// What the plan promises of a dance at level 5 is on the page: the statement's tune has
// a second voice, also where it is written out again an octave higher over another left hand,
// the contrast has two voices or more in most bars, and the last strain the fullest hands.
// (Common practice, no source.)
func TestArcIsPlayed(t *testing.T) {
	text := lowTune + " | " + lowTune + " | " + lowTune + " | " + lowTune
	s := inSections(tune(t, fourFour, "C", text), "A", "A", "B", "B")
	a := arranged(t, s, 5, "reel")
	type sum struct{ top, right, left, pairs int } // highest key; notes beside the tune; left-hand notes; bars with two keys in the right hand
	var sums [4]sum
	for bar, b := range a.Score.Bars[:32] {
		x := &sums[bar/8]
		strikes := map[theory.Dur]int{}
		for _, n := range a.Score.Notes {
			if n.At < b.At || n.At >= b.End() || n.Grace > 0 || n.Origin.Kind == score.Run {
				continue
			}
			switch {
			case n.Hand == score.Left:
				x.left++
			case n.Origin.Kind != score.Melody:
				x.right++
				fallthrough
			default:
				strikes[n.At]++
				x.top = max(x.top, n.Pitch.MIDI())
			}
		}
		for _, n := range strikes {
			if n > 1 {
				x.pairs++
				break
			}
		}
	}
	switch {
	case sums[0].right == 0 || sums[1].right == 0:
		t.Errorf("the statement has %d notes beside the tune, its repeat an octave higher %d", sums[0].right, sums[1].right)
	case sums[1].top != sums[0].top+12:
		t.Errorf("the tune's top is %d, then %d: not an octave higher", sums[0].top, sums[1].top)
	case sums[1].left == sums[0].left:
		t.Errorf("the left hand has %d notes both times", sums[0].left)
	case sums[2].pairs < 6:
		t.Errorf("the contrast has two voices in %d bars of 8", sums[2].pairs)
	case sums[3].left+sums[3].right <= sums[0].left+sums[0].right:
		t.Errorf("the last strain has %+v, the first %+v", sums[3], sums[0])
	}
	for i, want := range []plan.Weave{plan.Second, plan.Second, plan.Chords, plan.Chords} {
		if got := a.Form.Sections[i].Phrases[0].Weave; got != want {
			t.Errorf("section %d: %q, want %q", i+1, got, want)
		}
	}
}

// Of ornaments a page has one in six bars at most, one a phrase, and none of one kind
// within eight bars of another; runs lead from section to section.
func TestOrnamentsAreFew(t *testing.T) {
	long := "C C5:8 | F A4:4 C5:4 | G D5:8 | C E5:4 G4:4 | C C5:8 | F A4:8 | G G4:4 B4:4 | C C5:8"
	s := inSections(tune(t, fourFour, "C", long+" | "+long+" | "+long), "A", "B", "A")
	for _, kind := range []string{"parlour-song", "air", "waltz", "folk-song"} {
		a := arranged(t, s, 5, kind)
		at := map[string][]int{}
		bars := map[int]bool{}
		for _, n := range a.Score.Notes {
			id := n.Origin.Technique
			if n.Ornament == score.NoOrnament && n.Origin.Kind != score.Run && n.Origin.Kind != score.Fill {
				continue
			}
			bar := a.Score.BarAt(n.At)
			if n.Ornament != score.NoOrnament {
				id = "sign"
			}
			if list := at[id]; len(list) == 0 || list[len(list)-1] != bar {
				at[id] = append(list, bar)
			}
			bars[bar] = true
		}
		if len(bars) > 4 {
			t.Errorf("%s: ornaments in %d bars of 24", kind, len(bars))
		}
		for _, bar := range at["run"] {
			if bar%8 != 7 && a.Form.Climax.To == 0 {
				t.Errorf("%s: a run in bar %d", kind, bar+1)
			}
		}
	}
}
