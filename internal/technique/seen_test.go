package technique_test

import (
	"cmp"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/internal/sight"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

var update = flag.Bool("update", false, "write the goldens anew")

// smallest holds for each technique the smallest music that shows it, in the form of
// scoretest with semicolons for line ends.
var smallest = map[string]string{
	"plain-triads":    "chord 0 C; chord 1 F; R1 G4:1 A4:1; L1 <C3+E3+G3>:1 <F3+A3>:1",
	"broken-triad":    "chord 0 C; chord 1/2 F; L1 C3:1/4 <E3+G3>:1/4 F3:1/12 A3:1/12 C4:1/12 r:1/4",
	"inverted-triad":  "chord 0 F; chord 1 G; L1 C3:1/4 <F3+A3>:1/4 C3:1/4 <F3+A3>:1/4 B2:1/12 D3:1/12 G3:1/12 r:3/4",
	"root-and-fifth":  "chord 0 C; chord 1 F; L1 C3:1/2 G3:1/2 F3:1/4 C4:1/4 F3:1/4 C4:1/4",
	"held-root":       "chord 0 C; chord 1/2 F; L1 C3:1/2 <F2+C3>:1/2",
	"added-notes":     "chord 0 Cadd9; chord 1/2 Dmadd4; L1 <C3+D3+E3>:1/2 <D3+F3+G3>:1/2",
	"suspended-delay": "chord 0 Gsus4; chord 1/2 G; chord 1 C; L1 <G2+C3>:1/2 <G2+B2>:1/2 C3:1",
	"common-tone-pad": "chord 0 C; chord 1 Fadd9; chord 2 Am7; L1 C3:1 F2:1 A2:1; R1 G4:1 G4:1 G4:1",
	"anticipation":    "R1 C5:3/8 E5:1/2 r:1/8; bars 2",
	"ballad-spread":   "chord 0 C; L1 C3:1/8 G3:1/8 D4:1/8 E4:5/8",
	"bass-and-chord":  "meter 3/4; chord 0 C; chord 3/4 G7; L1 C3:1/4 <G3+C4+E4>:1/4 <G3+C4+E4>:1/4 G2:1/4 <D3+F3+B3>:1/2",
	"three-three-two": "straight; chord 0 C; L1 C3:3/8 G3:3/8 C4:1/4 C3:3/8 G3:1/8 r:1/2",
	"alberti":         "chord 0 C; L1 C3:1/8 G3:1/8 E3:1/8 G3:1/8 r:1/2",
	"one-five-eight":  "chord 0 C; L1 C3:1/4 G3:1/4 C4:1/2",
	"open-fifths":     "chord 0 C; L1 <C3+G3>:1/2 <C3+G3>:1/2",
	"two-voices":      "chord 0 C; R1 G4:1/4 A4:1/4 G4:1/2; L1 <C3+E3>:1/4 <C3+F3>:1/4 <C3+G3>:1/2",
	"compound-spread": "meter 6/8; chord 0 C; L1 C3:1/8 G3:1/8 D4:1/8 E4:3/8",
	"third-or-sixth":  "chord 0 C; R1 <E4+G4>:1/2 <E4+C5>:1/2",
	"echo":            "chord 0 C; R1 C5:1; R2 = 1/4 E4:1/4",
	"repeated-chords": "chord 0 C; L1 C3:1/4 <E3+G3>:1/4 <E3+G3>:1/4 <E3+G3>:1/4",
	"second-voice":    "chord 0 C; R1 <E4+G4>:1/4 <F4+A4>:1/4 <G4+B4>:1/4 <E4+C5>:1/4",
	"inner-voice":     "chord 0 C; R1 C5:1; R2 G4:1/2 F4:1/4 E4:1/4",

	"seventh-chords":        "chord 0 C7; chord 1 F6; L1 <C3+Bb3>:1 <F2+D3>:1",
	"extensions":            "chord 0 Dm9; chord 1 G13; L1 <D3+F3+C4>:1 <G2+F3>:1; R1 E5:1 <E4+B4>:1",
	"alterations":           "chord 0 G7b9; chord 1 C7#5; L1 <G2+F3>:1 <C3+Bb3>:1; R1 <Ab4+B4>:1 <G#4+E5>:1",
	"style-dominants":       "swing 2:1; chord 0 C7; chord 1/2 A7; chord 1 D7; chord 3/2 G7; L1 C3:1/2 A2:1/2 D3:1/2 G2:1/2",
	"diatonic-substitution": "chord 0 C; chord 1/2 Am7; chord 1 F; chord 3/2 Dm7; L1 C3:1/2 A2:1/2 F2:1/2 D3:1/2",
	"line-cliche":           "chord 0 Am; chord 1/4 AmMaj7; chord 1/2 Am7; chord 3/4 Am6; L1 A2:1",
	"stepping-bass":         "chord 0 C; chord 1/2 G/B; chord 1 Am; L1 C3:1/2 B2:1/2 A2:1",
	"pedal-point":           "chord 0 Dm/G; chord 1/2 G; chord 1 C; L1 G2:1 C3:1",
	"shells":                "chord 0 C7; L1 <C3+Bb3>:1/2 <C3+E3>:1/2",
	"root-then-guides":      "chord 0 C7; L1 C3:1/4 <E3+Bb3>:3/4",
	"comping":               "chord 0 Dm9; L1 <F3+A3+C4+E4>:1/4 r:1/4 <C4+E4+F4>:1/2",
	"bass-run":              "L1 C3:1/2 D3:1/4 E3:1/4 F3:1",
	"habanera":              "straight; chord 0 C; L1 C3:3/8 G3:1/8 C4:1/4 G3:1/4",
	"bossa":                 "straight; chord 0 C; L1 C3:3/8 G3:1/8 G3:3/8 C3:1/8",
	"shuffle":               "chord 0 C7; L1 <C3+G3>:1/4 <C3+A3>:1/4 r:1/2",
	"guide-tones":           "chord 0 C7; chord 1 F7; R1 <E4+Bb4+D5>:1 C5:1; R2 = 1 <Eb4+A4>:1",
	"chord-fill":            "chord 0 C; R1 C5:1/2 F5:1/2; R2 = 1/4 G4:1/8 E4:1/8",
	"slide":                 "R1 F#4:0*grace G4:1/2 B4:0*grace C5:1/2",
	"crush":                 "R1 F#4:0*grace G4:1/2 B4:0*grace C5:1/2",
	"ending":                "chord 0 C6; L1 <C3+G3+A3>:1; R1 C5:1",

	"secondary-dominant":     "chord 0 A7; chord 1 Dm; L1 A2:1 D3:1",
	"inserted-dominant":      "chord 0 C; chord 1/2 A7; chord 1 Dm; L1 C3:1/2 A2:1/2 D3:1",
	"related-ii":             "chord 0 Em7; chord 1/2 A7; chord 1 Bm7b5; chord 3/2 E7; L1 E2:1/2 A2:1/2 B2:1/2 E2:1/2",
	"tritone-substitution":   "chord 0 Db7; chord 1 C; L1 Db3:1 C3:1",
	"half-step-above":        "chord 0 G7; chord 1/2 Db7; chord 1 C; L1 G2:1/2 Db3:1/2 C3:1",
	"leading-diminished":     "chord 0 G; chord 1/2 C#dim7; chord 1 Dm; L1 G2:1/2 C#3:1/2 D3:1",
	"passing-diminished":     "chord 0 C; chord 1/2 C#dim7; chord 1 Dm; L1 C3:1/2 C#3:1/2 D3:1",
	"common-tone-diminished": "chord 0 C; chord 1/2 Cdim7; chord 1 C; L1 C3:1/2 C3:1/2 C3:1",
	"backdoor":               "chord 0 Fm7; chord 1/2 Bb7; chord 1 C; L1 F2:1/2 Bb2:1/2 C3:1",
	"turnaround":             "chord 0 C; chord 1/2 Am7; chord 1 Dm7; chord 3/2 G7; chord 2 C; L1 C3:1/2 A2:1/2 D3:1/2 G2:1/2 C3:1",
	"modal-interchange":      "chord 0 F; chord 1/2 Fm6; chord 1 C; chord 2 Dm7b5; L1 F2:1/2 F2:1/2 C3:1 D3:1",
	"walking-bass":           "chord 0 C; chord 1 F; L1 C3:1/4 E3:1/4 G3:1/4 E3:1/4 F3:1/4 A3:1/4 G3:1/4 Gb3:1/4",
	"ghost-notes":            "L1 C3:1/6 C3:1/12*ghost r:3/4",
	"two-feel":               "chord 0 C; chord 1 F; L1 C3:1/2 G2:1/4 E3:1/4 F3:1",
	"flowing-arpeggio":       "chord 0 C; L1 C3:1/8 G3:1/8 C4:1/8 E4:1/8 C4:1/8 G3:1/8 r:1/4",
	"bass-line":              "chord 0 C; chord 1 F; L1 C3:1/4 <G3+C4+E4>:1/4 D3:1/4 <G3+C4+E4>:1/4 E3:1",
	"octave-bass":            "chord 0 C; L1 <C2+C3>:1/4 <G3+C4+E4>:1/4 r:1/2",
	"spread-tenth":           "chord 0 C7; chord 1 F7; L1 C3:1/4 Bb3:1/4 E4:1/2 F2:1/4 C3:1/4 A3:1/4 Eb3:1/4",
	"mordent":                "R1 C5:1/2*mordent D5:1/2*umordent",
	"turn":                   "R1 C5:1/2*turn D5:1/2",
	"enclosure":              "chord 0 C; R1 C5:1/4 D5:1/8 B4:1/8 C5:1/2",
	"block-chords":           "chord 0 C6; R1 <G4+A4+C5>:1/4 <A4+C5+E5>:1/4 r:1/2",
	"octaves":                "R1 <C4+C5>:1/2 <C4+G4+C5>:1/2",
	"drop-two":               "chord 0 C6; R1 <A4+C5+G5>:1; L1 C3:1/2 E4:1/2",
	"drop-two-bass":          "chord 0 C6; sign 0 L pedal down; sign 1 L pedal up; R1 <A4+C5+G5>:1; L1 C3:1/2 E4:1/2",

	"stride":          "chord 0 C7; L1 C2:1/4 <E3+Bb3+C4>:1/4 <G1+G2>:1/4 <E3+Bb3+C4>:1/4",
	"stride-tenths":   "L1 <C3+E4>:1/2 <A2+C4>:1/2",
	"root-seventh":    "chord 0 C7; chord 1/4 F7; chord 1/2 Bb7; L1 <C3+Bb3>:1/4 <F2+Eb3>:1/4 r:1/2",
	"tenor-line":      "chord 0 C; L1 G3:1/2 A3:1/4 B3:1/4; L2 = 0 C3:1",
	"clusters":        "chord 0 C69; R1 <D4+E4+A4+C5>:1/2 <E4+A4+D5+G5>:1/2",
	"full-chords":     "chord 0 C7; R1 <E4+G4+Bb4+C5>:1/2; R2 = 1/2 <E4+G4+Bb4>:1/2; R1 = 1/2 C5:1/2",
	"upper-structure": "chord 0 C13#11; R1 <F#4+A4+D5>:1",
	"run":             "R1 C5:1/16 D5:1/16 E5:1/16 F5:1/16 G5:1/16 A5:1/16 C6:1/8 C5:1/2; R2 = 3/4 E4:1/16 F4:1/16 G4:1/16 A4:1/16",
	"tremolo":         "R1 C5:1*trem",
}

// TestSmallest finds each technique in the smallest music that shows it, and holds
// what the finding hangs on: of each note, chord and sign what becomes of it when
// that is changed. A dot: it stays; a dash: it is gone; a tilde: it lies elsewhere.
func TestSmallest(t *testing.T) {
	for id := range smallest {
		if _, ok := technique.ByID(id); !ok {
			t.Errorf("%s is no technique", id)
		}
	}
	for _, x := range technique.All() {
		text, ok := smallest[x.ID]
		if !ok {
			t.Errorf("%s has no smallest music", x.ID)
			continue
		}
		s, err := scoretest.Parse(strings.ReplaceAll(text, "; ", "\n"))
		if err != nil {
			t.Errorf("%s: %v", x.ID, err)
			continue
		}
		if places(x, s) == "" {
			t.Errorf("%s is not found in %q", x.ID, text)
			continue
		}
		golden(t, filepath.Join("testdata", "seen", x.ID+".txt"), text+"\n\n"+seen(x, s)+"\n"+hangsOn(x, s))
	}
	orphans(t, filepath.Join("testdata", "seen"))
}

// seen writes what a technique's recogniser finds, a line each.
func seen(x *technique.Technique, s score.Score) string {
	names := map[string]string{}
	for _, n := range s.Notes {
		names[n.ID] = n.Pitch.String()
	}
	var out strings.Builder
	for _, f := range x.Recognise(sight.Read(s)) {
		fmt.Fprintf(&out, "%v–%v", f.At, f.End)
		for _, id := range f.Notes {
			out.WriteString(" " + names[id])
		}
		if f.Detail != "" {
			out.WriteString(": " + f.Detail)
		}
		out.WriteString("\n")
	}
	return out.String()
}

// places writes where a technique is found and in which notes, whatever they are.
func places(x *technique.Technique, s score.Score) string {
	var out strings.Builder
	for _, f := range x.Recognise(sight.Read(s)) {
		fmt.Fprintln(&out, f.At, f.End, f.Notes)
	}
	return out.String()
}

// change is one way to change a score.
type change struct {
	name string
	do   func(*score.Score)
}

// hangsOn writes, for each part of a score, which changes to it the finding bears.
func hangsOn(x *technique.Technique, s score.Score) string {
	var out strings.Builder
	found := places(x, s)
	line := func(what string, cs []change) {
		fmt.Fprintf(&out, "%-14s", what)
		for _, c := range cs {
			m := s
			m.Notes, m.Chords, m.Bars, m.Directions = slices.Clone(s.Notes), slices.Clone(s.Chords), slices.Clone(s.Bars), slices.Clone(s.Directions)
			c.do(&m)
			sign := "~"
			switch places(x, m.Finish()) {
			case found:
				sign = "."
			case "":
				sign = "–"
			}
			out.WriteString(" " + c.name + sign)
		}
		out.WriteString("\n")
	}
	line("page", pageChanges(s))
	for i, c := range s.Chords {
		line(fmt.Sprintf("%s@%v", c.Chord, c.At), chordChanges(i))
	}
	for i, n := range s.Notes {
		line(fmt.Sprintf("%v@%v", n.Pitch, n.At), noteChanges(i))
	}
	for i, d := range s.Directions {
		line(fmt.Sprintf("sign@%v", d.At), []change{
			{"gone", func(s *score.Score) { s.Directions = slices.Delete(s.Directions, i, i+1) }},
			{"late", func(s *score.Score) { s.Directions[i].At += theory.Half }}})
	}
	return out.String()
}

func pageChanges(s score.Score) []change {
	meter := func(beats, unit int) func(*score.Score) {
		return func(s *score.Score) {
			for i := range s.Bars {
				s.Bars[i].Meter = leadsheet.Meter{Beats: beats, Unit: unit}
			}
		}
	}
	return []change{
		{"swing", func(s *score.Score) { s.Feel = leadsheet.Swing }},
		{"straight", func(s *score.Score) { s.Feel = leadsheet.Straight }},
		{"minor", func(s *score.Score) {
			for i := range s.Bars {
				s.Bars[i].Key = theory.Key{Tonic: s.Bars[i].Key.Tonic, Mode: theory.Minor}
			}
		}},
		{"in-G", func(s *score.Score) {
			for i := range s.Bars {
				s.Bars[i].Key.Tonic = theory.Name{Letter: theory.G}
			}
		}},
		{"keyless", func(s *score.Score) {
			for i := range s.Bars {
				s.Bars[i].Key = theory.Key{}
			}
		}},
		{"12/8", meter(12, 8)}, {"6/8", meter(6, 8)}, {"2/2", meter(2, 2)}, {"3/4", meter(3, 4)},
		{"chordless", func(s *score.Score) { s.Chords = nil }},
		{"barless", func(s *score.Score) { s.Bars = nil }},
	}
}

func chordChanges(i int) []change {
	with := func(name, suffix string) change {
		return change{name, func(s *score.Score) {
			c := &s.Chords[i].Chord
			sym, err := theory.ParseSymbol(c.Root.String() + suffix)
			if err != nil {
				panic(err)
			}
			*c = sym.Chord
		}}
	}
	root := func(name string, iv theory.Interval) change {
		return change{name, func(s *score.Score) {
			c := &s.Chords[i].Chord
			c.Root = c.Root.Up(iv).Reading()
		}}
	}
	return []change{
		{"gone", func(s *score.Score) { s.Chords = slices.Delete(s.Chords, i, i+1) }},
		{"late", func(s *score.Score) { s.Chords[i].At += theory.Quarter }},
		{"early", func(s *score.Score) { s.Chords[i].At = max(0, s.Chords[i].At-theory.Quarter) }},
		root("up1", theory.Interval{Steps: 1, Semitones: 1}), root("down1", theory.Interval{Steps: -1, Semitones: -1}), root("up5", theory.Interval{Steps: 4, Semitones: 7}),
		with("maj", ""), with("m", "m"), with("7", "7"), with("m7", "m7"), with("maj7", "maj7"), with("6", "6"), with("dim7", "dim7"), with("m7b5", "m7b5"), with("sus4", "sus4"), with("add9", "add9"), with("9", "9"), with("aug", "+"),
		{"over", func(s *score.Score) {
			c := &s.Chords[i].Chord
			if third, ok := c.Third(); ok {
				c.Slash, c.Bass = true, third.On(c.Root)
			}
		}},
	}
}

func noteChanges(i int) []change {
	note := func(name string, do func(*score.Note)) change {
		return change{name, func(s *score.Score) { do(&s.Notes[i]) }}
	}
	key := func(name string, by int) change {
		return note(name, func(n *score.Note) {
			n.Pitch = theory.HarmonicSpelling(theory.Key{Mode: theory.Major}, theory.Chord{}, n.Pitch.MIDI()+by)
		})
	}
	return []change{
		{"gone", func(s *score.Score) { s.Notes = slices.Delete(s.Notes, i, i+1) }},
		key("+1", 1), key("-1", -1), key("+2", 2), key("-2", -2), key("+5", 5), key("+12", 12), key("-12", -12),
		note("half", func(n *score.Note) { n.Dur /= 2 }), note("double", func(n *score.Note) { n.Dur *= 2 }), note("short", func(n *score.Note) { n.Dur -= theory.Sixteenth / 2 }),
		note("late", func(n *score.Note) { n.At += theory.Eighth }), note("later", func(n *score.Note) { n.At += theory.Quarter }), note("early", func(n *score.Note) { n.At = max(0, n.At-theory.Eighth) }),
		note("other-hand", func(n *score.Note) { n.Hand = score.Left + score.Right - n.Hand }),
		note("voice2", func(n *score.Note) { n.Voice = 2 }), note("voice1", func(n *score.Note) { n.Voice = 1 }), note("soft", func(n *score.Note) { n.Velocity = -20 }),
		note("plain", func(n *score.Note) { n.Ornament, n.Marks, n.Grace = 0, 0, 0; n.Dur = cmp.Or(n.Dur, theory.Eighth) }),
		{"third-above", func(s *score.Score) {
			n := s.Notes[i]
			n.Pitch, n.ID = n.Pitch.Up(theory.Interval{Steps: 2, Semitones: 4}), "x"
			s.Notes = append(s.Notes, n)
		}},
		{"octave-below", func(s *score.Score) {
			n := s.Notes[i]
			n.Pitch.Octave--
			n.ID = "x"
			s.Notes = append(s.Notes, n)
		}},
		{"again", func(s *score.Score) {
			n := s.Notes[i]
			n.Dur /= 2
			s.Notes[i].Dur, n.At, n.ID = n.Dur, n.At+n.Dur, "x"
			s.Notes = append(s.Notes, n)
		}},
	}
}

// golden compares a text with its file, or writes it.
func golden(t *testing.T, file, got string) {
	t.Helper()
	if *update {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Error(err)
		return
	}
	if got != string(want) {
		t.Errorf("%s has changed; read the difference, then run with -update:\n%s", file, firstDifference(string(want), got))
	}
}

func firstDifference(want, got string) string {
	w, g := strings.Split(want, "\n"), strings.Split(got, "\n")
	for i := range max(len(w), len(g)) {
		a, b := "", ""
		if i < len(w) {
			a = w[i]
		}
		if i < len(g) {
			b = g[i]
		}
		if a != b {
			return fmt.Sprintf("line %d\nwas %s\nis  %s", i+1, a, b)
		}
	}
	return ""
}

// orphans reports goldens of no technique.
func orphans(t *testing.T, dir string) {
	t.Helper()
	files, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if _, ok := technique.ByID(strings.TrimSuffix(f.Name(), ".txt")); !ok {
			t.Errorf("%s belongs to no technique", filepath.Join(dir, f.Name()))
		}
	}
}
