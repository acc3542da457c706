package arrange

import (
	"context"
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Facts of the trade: common practice, no source. In F, two beats each,
// F–Dm–B♭–C under a tune that allows it, then in other keys.

const turnaroundTune = "F F4:4 Dm C5:4 | Bb F5:4 C Bb4:4 | F A4:4 Dm C5:4 | Bb D5:4 C Bb4:4 | F A4:4 Dm F4:4 | Bb F4:4 C E4:4 | F F4:8"

func level(n int) ladder.Level { return ladder.Levels()[n-1] }

func arranged(t testing.TB, s leadsheet.Song, n int, kind string) Arrangement {
	t.Helper()
	a, err := Arrange(context.Background(), s, harmony.Analyse(s), Options{Level: level(n), Idiom: idiom.Guess{Idiom: kindOf(kind)}})
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// keys lists the intervals by which a trade fact is moved: it holds in all keys.
var keys = []theory.Interval{{}, {Steps: 1, Semitones: 2}, {Steps: 2, Semitones: 3}, {Steps: -1, Semitones: -2}, {Steps: -3, Semitones: -5}, {Steps: 4, Semitones: 7}, {Steps: -2, Semitones: -4}}

// moved transposes a list of chord symbols.
func moved(t *testing.T, list string, iv theory.Interval) string {
	t.Helper()
	var out []string
	for _, f := range strings.Fields(list) {
		sym, err := theory.ParseSymbol(f)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, sym.Chord.Transpose(iv).String())
	}
	return strings.Join(out, " ")
}

// chosen lists the chords that a level asks its hands for in some bars; the page
// prints of their colours what the hands then play.
func chosen(t testing.TB, s leadsheet.Song, n, from, to int) string {
	t.Helper()
	pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n), Idiom: idiom.Guess{Idiom: kindOf("swing")}})
	if err != nil {
		t.Fatal(err)
	}
	var out []string
	for _, sl := range pl.p.slots {
		if b := s.BarAt(sl.at); b >= from && b < to {
			out = append(out, sl.chord.String())
		}
	}
	return strings.Join(out, " ")
}

// TestTradeHarmony holds the chords of each level over I–vi–IV–V.
func TestTradeHarmony(t *testing.T) {
	for _, tt := range []struct {
		level, from, to int
		want            string
	}{
		{2, 0, 2, "F(add9) Dm(add4) Bb(add9) C(add4)"},
		{3, 0, 2, "F13 D7(#9,b13) G9 C7"},
		{5, 0, 1, "F6/9 A7(b9,b13) Dm11 F13"},
	} {
		for _, iv := range keys {
			s := tune(t, fourFour, "F", turnaroundTune).Transpose(iv)
			got := chosen(t, s, tt.level, tt.from, tt.to)
			if want := moved(t, tt.want, iv); got != want {
				t.Errorf("level %d in %s: %s, want %s", tt.level, s.Key, got, want)
			}
		}
	}
}

// TestTradeApproachChain holds the passing chords of level 4, each a half step
// above its target, and the bass line under them: F7 E♭7 D7 A♭7 G7 D♭7 C7 G♭7 F.
func TestTradeApproachChain(t *testing.T) {
	for _, iv := range keys {
		s := tune(t, fourFour, "F", turnaroundTune).Transpose(iv)
		a := arranged(t, s, 4, "swing")
		want := strings.Fields("F Eb D Ab G Db C Gb F")
		for i, w := range want {
			name, err := theory.ParseName(w)
			if err != nil {
				t.Fatal(err)
			}
			name = name.Up(iv)
			at := theory.Dur(i) * theory.Quarter
			sym, _ := a.Score.ChordAt(at)
			if sym.Chord.Root.Class() != name.Class() || !sym.Chord.Dominant() {
				t.Errorf("in %s, beat %d: %s, want a dominant on %s", s.Key, i+1, sym.Chord, name)
			}
			if bass := lowestAt(a.Score, at); bass.Class() != name.Class() {
				t.Errorf("in %s, beat %d: bass %s, want %s", s.Key, i+1, bass, name)
			}
		}
	}
}

// TestTradeGhosts holds the ghost notes before each target: the root just left.
func TestTradeGhosts(t *testing.T) {
	s := tune(t, fourFour, "F", turnaroundTune)
	l := level(4)
	l.Left = []string{"ghost-notes"}
	a, err := Arrange(context.Background(), s, harmony.Analyse(s), Options{Level: l, Kind: kindOf("swing")})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, n := range a.Score.Notes {
		if n.Hand == score.Left && n.At < 8*theory.Quarter {
			name := n.Pitch.Name.String()
			if n.Marks.Has(score.Ghost) {
				name = "(" + name + ")"
				if off := n.At % theory.Quarter; off != theory.Eighth || a.Score.Feel != leadsheet.Swing || a.Score.Swing != (score.Ratio{First: 2, Second: 1}) {
					t.Errorf("ghost note at %s of its beat, want the second of a pair that is swung 2:1: the last triplet", off)
				}
			}
			got = append(got, name)
		}
	}
	if g := strings.Join(got, " "); g != "F Eb (F) D Ab (D) G Db (G) C Gb (C)" {
		t.Errorf("bass: %s", g)
	}
}

// TestTradeRootSevenths holds level 5's left hand under a chord each beat: root
// and seventh on every beat, no leap; with two beats a chord the stride returns.
func TestTradeRootSevenths(t *testing.T) {
	s := tune(t, fourFour, "F", turnaroundTune)
	a := arranged(t, s, 5, "swing")
	for beat := range theory.Dur(4) {
		at := beat * theory.Quarter
		sym, _ := a.Score.ChordAt(at)
		var classes []int
		for _, n := range a.Score.Notes {
			if n.Hand == score.Left && n.At == at {
				classes = append(classes, (n.Pitch.Class()-sym.Chord.Root.Class()+12)%12)
			}
		}
		sev, _ := sym.Chord.Seventh()
		if len(classes) != 2 || classes[0] != 0 || classes[1] != sev.Class() {
			t.Errorf("beat %d under %s: %v, want root and seventh", beat+1, sym.Chord, classes)
		}
	}
}

// TestTradeRun holds the run down a dominant in a gap: it lands on the beat, on
// the third of the next chord.
func TestTradeRun(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:4 A4:4 | F7 F5:8 | Bb D5:4 F5:4 | F F5:8")
	l := level(5)
	l.Line, l.Ornaments, l.Arc = nil, []string{"run"}, ladder.NoArc
	a, err := Arrange(context.Background(), s, harmony.Analyse(s), Options{Level: l, Kind: kindOf("swing")})
	if err != nil {
		t.Fatal(err)
	}
	var line []theory.Pitch
	for _, n := range a.Score.Notes {
		if n.Origin.Kind == score.Run && a.Score.BarAt(n.At) == 1 {
			line = append(line, n.Pitch)
			if n.End() == a.Score.Bars[2].At && (n.Pitch.MIDI() <= 74 || n.Pitch.MIDI() > 76) {
				t.Errorf("the run ends on %s, a step above D5 is wanted", n.Pitch)
			}
		}
	}
	if len(line) < 4 || line[0].MIDI() < line[len(line)-1].MIDI() {
		t.Errorf("run: %v, want four notes or more, falling", line)
	}
}

func lowestAt(s score.Score, at theory.Dur) theory.Pitch {
	var low theory.Pitch
	found := false
	for _, n := range s.Notes {
		if n.At <= at && n.End() > at && n.Grace == 0 && (!found || n.Pitch.MIDI() < low.MIDI()) {
			low, found = n.Pitch, true
		}
	}
	return low
}
