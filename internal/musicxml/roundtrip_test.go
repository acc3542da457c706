package musicxml

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// comparable strips what a file cannot say or says otherwise: how a note came to
// be, which of the file's voices it took, and signs that stand once for a chord.
func comparable(n score.Note, plainMarks bool) score.Note {
	n.Origin.Technique, n.Origin.Why, n.Voice = "", nil, 0
	if n.Staff == n.Hand {
		n.Staff = 0
	}
	if plainMarks {
		n.Marks &= score.Ghost | score.Slashed | score.Hidden
	}
	if n.Grace > 1 {
		n.Marks &^= score.Slashed // one slash stands for the group
	}
	if n.Ornament != score.Tremolo {
		n.Ornament = 0
	}
	return n
}

func ordered(notes []score.Note, plainMarks bool) []score.Note {
	var out []score.Note
	for _, n := range notes {
		out = append(out, comparable(n, plainMarks))
	}
	slices.SortFunc(out, func(a, b score.Note) int { return cmp.Or(score.Compare(a, b), cmp.Compare(a.ID, b.ID)) })
	return out
}

// keeps tests that a score survives being written and read: every note with its
// id, hand, staff, time, pitch, fingers and loudness; bars, chords, hairpins, tempo
// and feel.
func keeps(t *testing.T, name string, s score.Score) {
	t.Helper()
	data, err := Write(s)
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	back, problems, err := ReadScore(data, Options{File: name})
	if err != nil {
		t.Fatalf("%s: %v\n%s", name, err, data)
	}
	for _, p := range problems {
		if p.Severity >= leadsheet.Warning {
			t.Errorf("%s: read with %s", name, p)
		}
	}
	got, want := ordered(back.Notes, true), ordered(s.Notes, true)
	if len(got) != len(want) {
		t.Errorf("%s: %d notes, want %d", name, len(got), len(want))
	}
	for i := range min(len(got), len(want)) {
		if got[i] != want[i] {
			t.Errorf("%s: note\n%+v, want\n%+v", name, got[i], want[i])
			break
		}
	}
	if len(back.Bars) != len(s.Bars) {
		t.Fatalf("%s: %d bars, want %d", name, len(back.Bars), len(s.Bars))
	}
	if !slices.Equal(back.Lyrics, s.Finish().Lyrics) {
		t.Errorf("%s: sung\n%+v, want\n%+v", name, back.Lyrics, s.Finish().Lyrics)
	}
	for i, b := range s.Bars {
		g := back.Bars[i]
		if g.At != b.At || g.Dur != b.Dur || g.Meter != b.Meter || g.Key.Fifths() != b.Key.Fifths() || g.Number != b.Number ||
			g.Pickup != b.Pickup || g.Section != b.Section || g.LineBreak != b.LineBreak || g.PhraseStart != b.PhraseStart {
			t.Errorf("%s: bar %+v, want %+v", name, g, b)
		}
	}
	if len(back.Chords) != len(s.Chords) {
		t.Errorf("%s: %d chords, want %d", name, len(back.Chords), len(s.Chords))
	}
	for i := range min(len(back.Chords), len(s.Chords)) {
		if g, w := back.Chords[i], s.Chords[i]; g.At != w.At || g.Chord != w.Chord {
			t.Errorf("%s: chord %s at %s, want %s at %s", name, g.Chord, g.At, w.Chord, w.At)
		}
	}
	if got, want := back.Hairpins(), s.Hairpins(); !slices.Equal(got, want) {
		t.Errorf("%s: hairpins %v, want %v", name, got, want)
	}
	for _, h := range []score.Hand{score.Right, score.Left} {
		if got, want := back.Loudness(h), s.Loudness(h); !slices.Equal(got, want) {
			t.Errorf("%s: the %s hand's loudness %v, want %v", name, h, got, want)
		}
	}
	if back.Tempo != s.Tempo || back.Feel != s.Feel || back.Title != s.Title || back.Level != s.Level ||
		back.StaffHeight != cmp.Or(s.StaffHeight, 70) || back.Pedal != s.Pedal {
		t.Errorf("%s: %v %v %q level %d, staves %d, pedal %d, want %v %v %q level %d, staves %d, pedal %d", name, back.Tempo, back.Feel, back.Title, back.Level,
			back.StaffHeight, back.Pedal, s.Tempo, s.Feel, s.Title, s.Level, s.StaffHeight, s.Pedal)
	}
	// What was read is written as the same page.
	first, _ := notate.Of(s)
	second, _ := notate.Of(back)
	if a, b := bare(first), bare(second); a != b {
		t.Errorf("%s: read and written again as\n%s\nwas\n%s", name, b, a)
	}
}

// bare is the page's text without what reading makes explicit.
func bare(p notate.Page) string {
	for i := range p.Bars {
		p.Bars[i].Clefs = nil
		p.Bars[i].Signs = nil
		for _, v := range p.Bars[i].Voices {
			for j := range v.Events {
				for k := range v.Events[j].Heads {
					h := &v.Events[j].Heads[k]
					h.SlurFrom, h.SlurTo, h.SlurOver = 0, 0, false
				}
				for k := range v.Events[j].Graces {
					for l := range v.Events[j].Graces[k].Heads {
						h := &v.Events[j].Graces[k].Heads[l]
						h.SlurFrom, h.SlurTo, h.SlurOver = 0, 0, false
					}
				}
			}
		}
	}
	return p.String()
}

func TestRoundTrip(t *testing.T) {
	for name, s := range pages(t) {
		if _, problems := notate.Of(s); len(problems) > 0 || name == "tremolo" {
			continue // written otherwise than it sounds, or struck anew after a bar line
		}
		keeps(t, name, s)
	}
	for seed := range uint64(200) {
		keeps(t, "random", scoretest.Random(rand.New(rand.NewPCG(seed, 5))))
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
}

// TestRoundTripSong: a lead sheet survives too, with all that its verses have.
func TestRoundTripSong(t *testing.T) {
	want := sheet()
	data, err := WriteSong(want)
	if err != nil {
		t.Fatal(err)
	}
	got, err := ReadSong(data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(got.Melody) != len(want.Melody) || len(got.Bars) != len(want.Bars) {
		t.Fatalf("%d notes, %d bars", len(got.Melody), len(got.Bars))
	}
	for i, n := range want.Melody {
		g := got.Melody[i]
		if g.At != n.At || g.Dur != n.Dur || g.Pitch != n.Pitch || !slices.Equal(g.Graces, n.Graces) || !slices.Equal(g.Sung, n.Sung) {
			t.Errorf("note %d: %+v, want %+v", i, g, n)
		}
	}
	for i, b := range want.Bars {
		if g := got.Bars[i]; g.At != b.At || g.Dur != b.Dur || g.Pickup != b.Pickup || g.Section != b.Section {
			t.Errorf("bar %d: %+v, want %+v", i, g, b)
		}
	}
	var known []leadsheet.ChordMark
	for _, c := range want.Chords {
		if !c.Unknown {
			known = append(known, c)
		}
	}
	for i, c := range known {
		if i >= len(got.Chords) || got.Chords[i].At != c.At || got.Chords[i].Chord != c.Chord {
			t.Errorf("chord %s at %s is lost: %+v", c.Chord, c.At, got.Chords)
			break
		}
	}
	if !slices.Equal(got.Words, want.Words) {
		t.Errorf("the verses below are %q, want %q", got.Words, want.Words)
	}
	if got.Feel != want.Feel || got.Tempo != want.Tempo || got.Title != want.Title || got.Key != want.Key {
		t.Errorf("%v %v %q %v", got.Feel, got.Tempo, got.Title, got.Key)
	}
}
