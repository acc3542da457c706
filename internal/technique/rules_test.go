package technique

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/harmony"
	"gradatim/internal/scoretest"
	"gradatim/internal/sight"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// passageIn is a passage of a song in one metre at a tempo.
func passageIn(beats, unit, tempo int) Passage {
	m := leadsheet.Meter{Beats: beats, Unit: unit}
	return Passage{Tempo: tempo, Song: leadsheet.Song{Meter: m, Bars: []leadsheet.Bar{{Dur: m.Bar(), Meter: m}}}}
}

// A chord of its own lasts a beat in a slow tempo, two in most, a bar in the quickest; a
// beat in three-four and in compound metres. One that only leads on may last a beat but in
// the quickest. Common practice, no source.
func TestShortestChord(t *testing.T) {
	for _, tt := range []struct {
		beats, unit, tempo int
		shortest, weak     theory.Dur
	}{
		{4, 4, 60, theory.Quarter, theory.Quarter},
		{4, 4, 80, theory.Quarter, theory.Quarter},
		{4, 4, 84, theory.Half, theory.Quarter},
		{4, 4, 200, theory.Half, theory.Quarter},
		{4, 4, 208, theory.Whole, theory.Whole},
		{3, 4, 120, theory.Quarter, theory.Quarter},
		{3, 4, 208, 3 * theory.Quarter, 3 * theory.Quarter},
		{6, 8, 150, 3 * theory.Eighth, 3 * theory.Eighth}, // a hundred dotted quarters
	} {
		p := passageIn(tt.beats, tt.unit, tt.tempo)
		if s, w := p.shortest(), p.weak(); s != tt.shortest || w != tt.weak {
			t.Errorf("%d/%d at %d: %s, leading on %s; want %s, %s", tt.beats, tt.unit, tt.tempo, s, w, tt.shortest, tt.weak)
		}
	}
}

// The chords that lead on: V and what is diminished, applied dominants but where a cadence
// has come to rest, and a ii that goes to V; never the last chord. Common practice, no
// source.
func TestChordsThatLeadOn(t *testing.T) {
	for _, tt := range []struct {
		chord, next string
		want        bool
	}{
		{"G7", "C", true}, {"G", "C", true}, {"Bdim7", "C", true}, {"A7", "Dm", true}, {"Dm7", "G7", true}, {"Dm", "G", true},
		{"Dm7", "C", false}, {"Dm7", "", false}, {"C", "F", false}, {"F", "G", false}, {"Am", "Dm", false}, {"Dm7", "Gb7", false},
	} {
		x := Toned{Chord: chordNamed(t, tt.chord), Next: chordNamed(t, tt.next)}
		x.Passage.Span = harmony.Span{Key: theory.KeyOf(0, theory.Major), Chord: x.Chord}
		if got := x.leadsOn(); got != tt.want {
			t.Errorf("%s to %s: %v", tt.chord, tt.next, got)
		}
		x.Passage.Final = true
		if x.leadsOn() {
			t.Errorf("%s leads on from the last chord", tt.chord)
		}
	}
}

// A walking line: its bass first, what leads on last, between them notes of the chord and
// passing ones, each a beat long.
func TestWalkingKinds(t *testing.T) {
	c := barOf(t, "C", 4, "")
	f := walkFigure(c, pitchesNamed(t, "C3 D3 E3 F#3"), false)
	want := []score.Kind{score.Bass, score.Passing, score.Chord, score.Approach}
	for i, x := range f.Tones {
		if x.Kind != want[i] || x.Dur != theory.Quarter || x.At != c.At+theory.Dur(i)*theory.Quarter {
			t.Errorf("%s is a %v at %s", x.Pitch, x.Kind, x.At)
		}
	}
	if len(f.Tones) != 4 {
		t.Errorf("%d notes", len(f.Tones))
	}
	if steps, leap := leaps(pitchesNamed(t, "C3 D3 E3 F3"), pitchesNamed(t, "G3")[0]), leaps(pitchesNamed(t, "C3 A3 D3 F3"), pitchesNamed(t, "G3")[0]); steps >= leap {
		t.Errorf("steps cost %d, leaps %d", steps, leap)
	}
}

// What looks alike is told apart: a bossa is no three and three and two, octaves on the
// root no ending, a repeated chord no block.
func TestToldApart(t *testing.T) {
	for _, tt := range []struct {
		technique *Technique
		music     string
		want      bool
	}{
		{threeThreeTwo, "straight; chord 0 C; L1 C3:3/8 G3:1/8 G3:1/2", false},
		{threeThreeTwo, "straight; chord 0 C; L1 C3:3/8 G3:1/8 C3:1/2", true},
		{threeThreeTwo, "straight; chord 0 C; L1 C3:3/8 G3:3/8 C4:1/4", true},
		{threeThreeTwo, "straight; chord 0 C; L1 C3:3/8 C3:3/8 C3:1/4", false},
		{threeThreeTwo, "swing 2:1; chord 0 C; L1 C3:3/8 G3:3/8 C4:1/4", false},
		{ending, "chord 0 C; L1 C2:1/2 <C2+G2+C3>:1/2", false},
		{ending, "chord 0 C; L1 C2:1/2 <C3+G3+E4>:1/2", true},
		{ending, "chord 0 Cmaj7; L1 C2:1/2 <C3+B3>:1/2", true},
		{ending, "chord 0 C; L1 C2:1/2 <C3+E3>:1/2", false},
		{ending, "chord 0 C; L1 <C3+G3+E4>:1/2 C2:1/2", false},
		{clusters, "chord 0 C; R1 <E4+F4+A4+D5>:1", true},
		{clusters, "chord 0 C; R1 <B3+E4+A4+D5>:1", true},
		{clusters, "chord 0 C; R1 <C4+E4+G4+C5>:1", false},
		{clusters, "chord 0 C; R1 <C3+D3+G3+C4>:1", false}, // too low
		{clusters, "chord 0 C; R1 <C4+D4+E4>:1", true},
		{clusters, "chord 0 C; R1 <C4+D4+G4>:1", false},
		{enclosure, "chord 0 C; chord 1 C; R1 G4:3/4 D5:1/8 B4:1/8 C5:1", true},
		{enclosure, "chord 0 C; chord 1 C; R1 G4:3/4 D5:1/8 Bb4:1/8 C5:1", false},
		{enclosure, "chord 0 C; chord 1 C; R1 G4:3/4 B4:1/8 D5:1/8 C5:1", false},
		{enclosure, "chord 0 C; chord 1 C; R1 G4:5/8 D5:1/8 B4:1/8 C5:9/8", false}, // not on a beat
		{anticipation, "R1 C5:3/8 E5:1/2 r:1/8; bars 2", true},
		{anticipation, "R1 C5:1/2 E5:1/2; bars 2", false},
		{anticipation, "R1 C5:3/8 E5:1/8 r:1/2; bars 2", false},
	} {
		s, err := scoretest.Parse(strings.ReplaceAll(tt.music, ";", "\n"))
		if err != nil {
			t.Fatal(err)
		}
		if got := len(tt.technique.Recognise(sight.Read(s))) > 0; got != tt.want {
			t.Errorf("%s in %s: %v", tt.technique.ID, tt.music, got)
		}
	}
}

// On a scale: the tonic's sixth chord under its notes, the diminished seventh on the leading
// tone under the others, each a close block; an enclosure takes the beat before its note.
func TestOnAScale(t *testing.T) {
	note := func(name string) ScaleNote {
		return ScaleNote{Key: theory.KeyOf(0, theory.Major), Meter: simple, Note: Tone{At: 0, Dur: theory.Half, Pitch: pitchesNamed(t, name)[0]}}
	}
	for name, want := range map[string]string{"C5": "A4 G4 E4", "D5": "B4 Ab4 F4", "E5": "C5 A4 G4", "F5": "D5 B4 Ab4", "G5": "E5 C5 A4", "A5": "G5 E5 C5", "B5": "Ab5 F5 D5"} {
		a, ok := blockOnScale(note(name))
		if got := tonesText(Figure{Tones: a.Added}); !ok || got != want {
			t.Errorf("under %s: %s, want %s", name, got, want)
		}
	}
	minor := note("C5")
	minor.Key = theory.KeyOf(-3, theory.Minor)
	if a, _ := blockOnScale(minor); tonesText(Figure{Tones: a.Added}) != "A4 G4 Eb4" {
		t.Errorf("in minor: %s", tonesText(Figure{Tones: a.Added}))
	}
	a, ok := enclosure.Scale.Put(note("E5"))
	if !ok || a.Note.At != theory.Quarter || a.Note.End() != theory.Half || tonesText(Figure{Tones: a.Added}) != "F5 D#5" {
		t.Errorf("%v: %s to %s after %s", ok, a.Note.At, a.Note.End(), tonesText(Figure{Tones: a.Added}))
	}
	at := theory.Dur(0)
	for _, x := range a.Added {
		if x.At != at || x.Dur != theory.Eighth {
			t.Errorf("%s at %s for %s", x.Pitch, x.At, x.Dur)
		}
		at = x.End()
	}
	short := note("E5")
	short.Note.Dur = theory.Quarter
	if _, ok := enclosure.Scale.Put(short); ok {
		t.Error("a note of one beat has no room for an enclosure")
	}
}

// A chord struck whole: what the bass has not, in the right hand; a second in it costs, a
// half step more; a note more than the hand likes costs much.
func TestStruckShapes(t *testing.T) {
	c := barOf(t, "Cmaj7", 4, "")
	seen := map[string]int{}
	for _, f := range (Struck{Degrees: FourNotes, Most: 4}).Right(c) {
		if f.Drop == 0 {
			seen[tonesText(f)] = f.Cost
		}
		for i, x := range f.Tones {
			if !c.Chord.HasClass(x.Pitch.Class()) || x.At != c.At || x.End() != c.End || i > 0 && x.Pitch.MIDI() <= f.Tones[i-1].Pitch.MIDI() {
				t.Errorf("%s: %s", tonesText(f), x.Pitch)
			}
		}
	}
	open, second := seen["C4 E4 G4 B4"], seen["B3 C4 E4 G4"]
	if _, ok := seen["B3 C4 E4 G4"]; !ok || seen["C4 E4 G4 B4"] == 0 {
		t.Fatalf("%v", seen)
	}
	if guide := guideOnTop; second-(open-guide) < 1 { // the seventh on top costs, too
		t.Errorf("with a half step %d, without %d", second, open)
	}
	few := map[string]int{}
	for _, f := range (Struck{Degrees: FourNotes, Most: 3}).Right(c) {
		few[tonesText(f)] = f.Cost
	}
	if few["B3 C4 E4 G4"] != second+beyond {
		t.Errorf("a fourth note costs %d more, want %d", few["B3 C4 E4 G4"]-second, beyond)
	}
	for _, f := range (Struck{Degrees: GuideTones, Most: 3}).Left(c) {
		if f.Tones[0].Kind != score.Bass || f.Tones[0].Pitch.Class() != 0 || len(f.Tones) > 2 {
			t.Errorf("%s", tonesText(f))
		}
		if len(f.Tones) == 2 && f.Tones[1].Pitch.MIDI()-f.Tones[0].Pitch.MIDI() <= 4 && f.Tones[0].Pitch.MIDI() < 48 {
			t.Errorf("%s: a third so low", tonesText(f))
		}
	}
	sung := barOf(t, "Cmaj7", 4, "E5")
	for _, f := range (Struck{Degrees: GuideTones, Most: 3}).Right(sung) {
		for _, x := range f.Tones {
			if x.Pitch.Class() == 4 || x.Pitch.MIDI() > 74 {
				t.Errorf("%s under E5", x.Pitch)
			}
		}
	}
}

// The root in a cluster costs: the bass has it.
func TestClustersWithoutRoot(t *testing.T) {
	with, without := 99, 99
	for _, f := range clusters.Right(barOf(t, "Cmaj9", 4, "G5")) {
		root := slices.ContainsFunc(f.Tones, func(x Tone) bool { return x.Pitch.Class() == 0 })
		if root {
			with = min(with, f.Cost)
		} else {
			without = min(without, f.Cost)
		}
	}
	if with == 99 || without == 99 || with <= without {
		t.Errorf("with the root %d, without %d", with, without)
	}
}

// A fill stays above the left hand by more than a half step.
func TestFillsLeaveRoom(t *testing.T) {
	made := 0
	for room := 60; room < 76; room++ {
		for _, next := range strings.Fields("D5 F5 A5") {
			s := spotOf(t, "C", "C5", next, false)
			s.Room = room
			line := fillLine(s, s.Until-3*theory.Eighth, theory.Eighth, 3)
			// The lowest is followed by a turn upwards, so only the line as a whole is bound.
			for i, x := range line {
				made++
				if x.Pitch.MIDI() <= room+1 {
					t.Errorf("note %d of %s is %s over %d", i, tonesText(Figure{Tones: line}), x.Pitch, room)
				}
			}
		}
	}
	if made < 20 {
		t.Errorf("only %d notes", made)
	}
}

// withTensions counts what the tune has and refuses what a rule forbids.
func TestWithTensions(t *testing.T) {
	ninth, sharp := theory.Degree{Number: 9}, theory.Degree{Number: 11, Alter: 1}
	colour := harmony.Colour{Tensions: []harmony.Tension{{Degree: ninth, Use: harmony.Available, InMelody: true}, {Degree: sharp, Use: harmony.Avoid}, {Degree: deg13, Use: harmony.Available}}}
	ch, heard, ok := withTensions(chordNamed(t, "C7"), []theory.Degree{ninth, deg13}, colour, false)
	if !ok || heard != 1 || !ch.Tones.Has(ninth) || !ch.Tones.Has(deg13) {
		t.Errorf("%s, %d heard, %v", ch, heard, ok)
	}
	for d, want := range map[theory.Degree]int{ninth: 1, deg13: 0} {
		if _, heard, _ := withTensions(chordNamed(t, "C7"), []theory.Degree{d}, colour, false); heard != want {
			t.Errorf("%s: the tune has %d of it", d, heard)
		}
	}
	if _, _, ok := withTensions(chordNamed(t, "C7"), []theory.Degree{ninth, sharp}, colour, false); ok {
		t.Error("what is to avoid is taken")
	}
	if got, _, ok := withTensions(chordNamed(t, "C7"), nil, colour, false); !ok || got != chordNamed(t, "C7") {
		t.Error(fmt.Sprint("nothing added: ", got))
	}
}
