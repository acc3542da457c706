package technique

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/hand"
	"gradatim/internal/scoretest"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

func chordNamed(t testing.TB, name string) theory.Chord {
	t.Helper()
	if name == "" {
		return theory.Chord{}
	}
	s, err := theory.ParseSymbol(name)
	if err != nil {
		t.Fatal(err)
	}
	return s.Chord
}

func pitchesNamed(t testing.TB, names string) []theory.Pitch {
	t.Helper()
	var out []theory.Pitch
	for _, w := range strings.Fields(names) {
		p, err := theory.ParsePitch(w)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, p)
	}
	return out
}

// barOf is a bar of 4/4 under one chord, with a tune in notes of a beat (or two, four).
func barOf(t testing.TB, chord string, beats int, tune string) Cell {
	t.Helper()
	c := Cell{At: theory.Whole, BarAt: theory.Whole, End: 2 * theory.Whole, Meter: simple, Key: theory.KeyOf(0, theory.Major), Chord: chordNamed(t, chord),
		Setting: &Setting{Tempo: 100, High: 67, Hand: hand.Default(), Caps: Caps{AtOnce: [2]int{5, 5}, Span: [2]int{14, 16}}}, Low: 36, NewChord: true}
	at := c.At
	for i, p := range pitchesNamed(t, tune) {
		end := at + theory.Dur(beats)*theory.Quarter
		c.Melody = append(c.Melody, MelodyNote{At: at, End: end, Pitch: p, Event: i})
		at = end
	}
	return c
}

func degreesText(ds []theory.Degree) string {
	var w []string
	for _, d := range ds {
		w = append(w, d.String())
	}
	return strings.Join(w, " ")
}

func tonesText(f Figure) string {
	var w []string
	for _, x := range f.Tones {
		w = append(w, x.Pitch.String())
	}
	return strings.Join(w, " ")
}

// What a chord symbol promises, what its guide tones are, and what four notes of it are,
// upwards from the root. Common practice, no source.
func TestWhatASymbolPromises(t *testing.T) {
	for _, tt := range []struct{ chord, promised, withFifth, guides, four string }{
		{"C", "3", "3 5", "3", "1 3 5"},
		{"Cm", "b3", "b3 5", "b3", "1 b3 5"},
		{"C7", "3 b7", "3 5 b7", "3 b7", "1 3 5 b7"},
		{"Cmaj7", "3 7", "3 5 7", "3 7", "1 3 5 7"},
		{"C6", "3 6", "3 5 6", "3 6", "1 3 5 6"},
		{"Cm7b5", "b3 b5 b7", "b3 b5 b7", "b3 b7", "1 b3 b5 b7"},
		{"Cdim7", "b3 b5 bb7", "b3 b5 bb7", "b3 bb7", "1 b3 b5 bb7"},
		{"C9", "9 3 b7", "9 3 b7", "3 b7", "9 3 5 b7"},
		{"C13", "3 13 b7", "3 13 b7", "3 b7", "3 5 13 b7"}, // it stands on a 9th and promises none
		{"C7(b9)", "b9 3 b7", "b9 3 b7", "3 b7", "b9 3 5 b7"},
		{"C7sus4", "4 b7", "4 5 b7", "4 b7", "1 4 5 b7"},
		{"Cadd9", "9 3", "9 3 5", "3", "1 9 3 5"},
		{"C/E", "1", "1 5", "1", "1 5"}, // the bass has the third
		{"C7/E", "1 b7", "1 5 b7", "1 b7", "1 5 b7"},
		{"C/D", "1 3", "1 3 5", "1 3", "1 3 5"},
	} {
		c := chordNamed(t, tt.chord)
		if p, f, g, n := degreesText(Promised(c)), degreesText(PromisedAndFifth(c)), degreesText(GuideTones(c)), degreesText(FourNotes(c)); p != tt.promised || f != tt.withFifth || g != tt.guides || n != tt.four {
			t.Errorf("%s: %q, %q, %q, %q; want %q, %q, %q, %q", tt.chord, p, f, g, n, tt.promised, tt.withFifth, tt.guides, tt.four)
		}
	}
	for name, want := range map[string]string{"Cadd9": "9", "Cmadd9": "9", "Cadd4": "4", "C": "0", "C9": "0", "C7": "0", "Csus4": "0", "Csus2": "0"} {
		if got := AddedTo(chordNamed(t, name)); fmt.Sprint(got.Number) != want {
			t.Errorf("%s: added %v, want %s", name, got, want)
		}
	}
}

// TestMeasure counts a page by hand: four strikes of the left hand within a second, the
// fifth just after it; a tenth in it; five keys and E4 under G5 in the right; a tune from
// C5 up to A5.
func TestMeasure(t *testing.T) {
	s, err := scoretest.Parse(strings.ReplaceAll("tempo 60; R1 C5:1/4 D5:1/8 A5:1/8 G5:1/2 C5:1; R2 = 1/2 E4:1/2 <C4+D4+E4+F4>:1; L1 C3:1/16 <C3+E4>:1/16 C3:1/16 C3:1/16 C3:3/4 C3:1", ";", "\n"))
	if err != nil {
		t.Fatal(err)
	}
	for i := range s.Notes {
		if n := &s.Notes[i]; n.Hand == score.Right && n.Pitch.Octave == 5 {
			n.Origin.Kind = score.Melody
		} else {
			n.Origin.Kind = score.Chord
		}
	}
	m := Measure(s, Caps{AtOnce: [2]int{4, 3}, Span: [2]int{12, 9}})
	want := CapsKept{AtOnce: [2]int{5, 2}, AtOnceCap: [2]int{4, 3}, Span: [2]int{15, 16}, SpanCap: [2]int{12, 9}, BusiestSecond: [2]int{2, 4},
		Melody: MelodyN{Lowest: "C5", Highest: "A5", Shortest: "1/8", Leap: 7}}
	if m != want {
		t.Errorf("%+v, want %+v", m, want)
	}
	if got := Measure(score.Score{}, Caps{}); got != (CapsKept{}) {
		t.Errorf("of nothing: %+v", got)
	}
}

// What a chord of the right hand under a note of the tune is: a cluster has a second in
// it, and no half step under the tune; a chord in fourths has two. Common practice, no
// source.
func TestShapesOfClusters(t *testing.T) {
	for _, tt := range []struct{ under, tune, want string }{
		{"E4 F4 A4", "D5", "clusters"},
		{"B3 C4 E4", "G4", "clusters"},
		{"A3 B3 E4", "A4", "clusters"},
		{"B3 E4 A4", "D5", "clusters.fourths"},
		{"A3 D4 G4", "C5", "clusters.fourths"},
		{"F3 B3 E4", "A4", ""},         // below G3: it growls
		{"G3 B3 D4", "G4", ""},         // plain thirds
		{"C4 E4 G4", "C5", ""},         // one fourth makes no chord in fourths
		{"E4 A4 B4", "C5", ""},         // a half step under the tune
		{"E4 F4 B4", "C5", ""},         // the same, with a second inside
		{"C4 D4 E4", "F#4", ""},        // three seconds in a row
		{"C4 D4 A4", "B4", "clusters"}, // a whole step under the tune sounds
	} {
		var f Figure
		for _, p := range pitchesNamed(t, tt.under) {
			f.Tones = append(f.Tones, Tone{Pitch: p})
		}
		if got, _ := shape(f, MelodyNote{Pitch: pitchesNamed(t, tt.tune)[0]}); string(got) != tt.want {
			t.Errorf("%s under %s: %q, want %q", tt.under, tt.tune, got, tt.want)
		}
	}
}

// A block stands in close position under each note of the tune: chord tones under a chord
// tone, the diminished seventh that leads to them under a passing one. Common practice, no
// source.
func TestBlocks(t *testing.T) {
	c := barOf(t, "C6", 1, "C5 D5 E5 F5")
	for i, want := range []string{"E4 G4 A4", "F4 Ab4 B4", "G4 A4 C5", "Ab4 B4 D5"} {
		got := block(c, c.Melody[i], 4)
		if !slices.EqualFunc(got, pitchesNamed(t, want), func(a, b theory.Pitch) bool { return a.MIDI() == b.MIDI() }) {
			t.Errorf("under %s: %v, want %s", c.Melody[i].Pitch, got, want)
		}
		if three := block(c, c.Melody[i], 3); len(three) != 2 {
			t.Errorf("three voices are %d under the tune", len(three))
		}
	}
	long := barOf(t, "C6", 2, "D5 E5")
	for _, p := range block(long, long.Melody[0], 4) { // dwelt on, it keeps the chord
		if !long.Chord.HasClass(p.Class()) {
			t.Errorf("%s under a long D", p)
		}
	}
	for _, tt := range []struct {
		from, to string
		want     bool
	}{{"F4 Ab4 B4", "G4 A4 C5 E5", true}, {"F4 Ab4 B4", "E4 G4 C5", true}, {"F4 Ab4 B4", "C4 E4 G4", false}, {"F4", "F4", true}, {"F4", "", false}, {"", "C4", false}} {
		if got := resolves(pitchesNamed(t, tt.from), pitchesNamed(t, tt.to)); got != tt.want {
			t.Errorf("%s to %s: %v", tt.from, tt.to, got)
		}
	}
	// F has nowhere to go at the end of the bar: the tune alone there.
	if fs := blockChords.Right(c); len(fs) != 1 || len(fs[0].Tones) != 6 {
		t.Errorf("%d figures", len(fs))
	}
	fast := c
	fast.Tempo = 184
	if fs := blockChords.Right(fast); len(fs) > 0 {
		t.Error("blocks at 184 beats a minute")
	}
	if fs := blockChords.Right(barOf(t, "C6", 4, "C5")); len(fs) > 0 {
		t.Error("one chord is no row of blocks")
	}
	lost := barOf(t, "C6", 1, "C5 F5 C6 C5") // F leaps away: its voices have nowhere to go by step
	for _, x := range blockChords.Right(lost)[0].Tones {
		if x.At == lost.Melody[1].At {
			t.Errorf("%s under a note that leaps away", x.Pitch)
		}
	}
}

// The last chord of the left hand: root and seventh, with the fifth or without; of a triad root,
// fifth and octave; or root, fifth and tenth, rolled where the hand is too small. Common practice, no source.
func TestLastChordsOfEnding(t *testing.T) {
	figures := func(chord string, manner LastChord, player hand.Profile) []string {
		c := barOf(t, chord, 4, "C5")
		c.Last, c.Manner.LastChord, c.Hand = true, manner, player
		var out []string
		for _, f := range ending.Left(c) {
			rolled := ""
			for i, x := range f.Tones {
				if x.At != c.At || x.End() != c.End || (x.Kind == score.Bass) != (i == 0) {
					t.Errorf("%s: %+v is not held, or no bass", chord, x)
				}
				if x.Marks.Has(score.Rolled) {
					rolled = " rolled"
				}
			}
			if !f.Pedal {
				t.Errorf("%s without the pedal", chord)
			}
			if f.Tones[0].Pitch.MIDI() <= 48 {
				out = append(out, tonesText(f)+rolled)
			}
		}
		slices.Sort(out)
		return slices.Compact(out)
	}
	for _, tt := range []struct {
		chord  string
		manner LastChord
		want   string
	}{
		{"Cmaj7", HeldLast, "C2 B2, C2 G2 B2, C3 B3, C3 G3 B3"},
		{"C", HeldLast, "C2 G2 C3, C3 G3 C4"},
		{"Caug", HeldLast, ""},
		{"C/E", RolledLast, ""},
	} {
		if got := strings.Join(figures(tt.chord, tt.manner, hand.Default()), ", "); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.chord, got, tt.want)
		}
	}
	for _, want := range []string{"C3 G3 E4 rolled"} {
		if got := figures("C", RolledLast, mustHand(t, "octave")); !slices.Contains(got, want) {
			t.Errorf("a small hand: %v", got)
		}
	}
	if got := figures("Cm", RolledLast, mustHand(t, "tenth")); !slices.Contains(got, "C3 G3 Eb4") {
		t.Errorf("a large hand: %v", got)
	}
	c := barOf(t, "C7", 4, "C5")
	if len(ending.Left(c)) > 0 {
		t.Error("an ending before the end")
	}
}

// spotOf is a gap of some beats after a note of the tune under one chord.
func spotOf(t testing.TB, chord, note, next string, held bool) Spot {
	t.Helper()
	c := barOf(t, chord, 4, note)
	s := Spot{Cell: c, Note: c.Melody[0], From: c.At + theory.Quarter, Until: c.End, Under: []Cell{c}}
	if !held {
		s.Note.End = s.From
	}
	s.Next = MelodyNote{At: c.End, End: c.End + theory.Whole, Pitch: pitchesNamed(t, next)[0], Event: 1}
	return s
}

// A fill is of chord tones, ends near the tune's next note and not on it, and under a held
// note leaves a whole step at least.
func TestFillLines(t *testing.T) {
	made := 0
	for _, chord := range []string{"C", "Am7", "F", "G7", "Bdim7"} {
		for _, note := range strings.Fields("E4 G4 C5 E5 G5") {
			for _, next := range strings.Fields("D4 F4 A4 C5 D5 F5 A5") {
				for _, held := range []bool{false, true} {
					for n := 1; n <= 6; n++ {
						s := spotOf(t, chord, note, next, held)
						unit := theory.Eighth
						line := fillLine(s, s.Until-theory.Dur(n)*unit, unit, n)
						if line == nil {
							continue
						}
						made++
						where := fmt.Sprintf("%s, %s to %s, held %v: %s", chord, note, next, held, tonesText(Figure{Tones: line}))
						if len(line) != n || line[0].At != s.Until-theory.Dur(n)*unit || line[n-1].End() != s.Until {
							t.Errorf("%s: %d notes of %d", where, len(line), n)
						}
						for i, x := range line {
							if !s.Cell.Chord.HasClass(x.Pitch.Class()) || x.Kind != score.Fill {
								t.Errorf("%s: %s is none of the chord's", where, x.Pitch)
							}
							if held && x.Pitch.MIDI() > s.Note.Pitch.MIDI()-2 || x.Pitch.MIDI() > s.Note.Pitch.MIDI()+7 {
								t.Errorf("%s: %s over the tune", where, x.Pitch)
							}
							if i > 0 && x.At != line[i-1].End() {
								t.Errorf("%s: a hole", where)
							}
							if i > 0 && abs(x.Pitch.MIDI()-line[i-1].Pitch.MIDI()) > 6 {
								t.Errorf("%s: a leap", where)
							}
						}
						if d := abs(line[n-1].Pitch.MIDI() - s.Next.Pitch.MIDI()); d == 0 || d > 5 {
							t.Errorf("%s: it ends %d half steps away", where, d)
						}
					}
				}
			}
		}
	}
	if made < 300 {
		t.Errorf("only %d fills", made)
	}
	s := spotOf(t, "C", "C5", "D5", false)
	s.Room = 70 // the left hand is there
	for _, x := range fillLine(s, s.Until-3*theory.Eighth, theory.Eighth, 3) {
		if x.Pitch.MIDI() <= 71 {
			t.Errorf("%s is under the left hand's B flat", x.Pitch)
		}
	}
}

// A run goes by step through the scale of its chord, in one direction, and lands where
// the tune goes on.
func TestRunLines(t *testing.T) {
	made := 0
	for _, chord := range []string{"C", "Am7", "F", "G7"} {
		for _, next := range strings.Fields("C5 E5 G5 C6 E6") {
			for _, dir := range []int{1, -1} {
				s := spotOf(t, chord, "G4", next, false)
				line, say := runLine(s, s.Until-theory.Half, theory.Sixteenth, 8, dir)
				if line == nil {
					continue
				}
				made++
				if want := map[int]reason.Figure{1: "run.up", -1: "run.down"}[dir]; say != want {
					t.Errorf("%v, want %v", say, want)
				}
				keys := []int{}
				for _, x := range line {
					keys = append(keys, x.Pitch.MIDI())
				}
				keys = append(keys, s.Next.Pitch.MIDI())
				for i := 1; i < len(keys); i++ {
					if d := (keys[i] - keys[i-1]) * dir; d < 1 || d > 2 {
						t.Errorf("%s to %s, %+d: %v goes by %d", chord, next, dir, keys, d)
						break
					}
				}
				for _, x := range line {
					if !s.Cell.Key.Contains(x.Pitch.Name) && chord != "F" {
						t.Errorf("%s: %s is not in C", chord, x.Pitch)
					}
				}
			}
		}
	}
	if made < 20 {
		t.Errorf("only %d runs", made)
	}
}

func mustHand(t *testing.T, text string) hand.Profile {
	t.Helper()
	p, err := hand.ParseProfile(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}
