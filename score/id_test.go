package score

import (
	"math/rand/v2"
	"regexp"
	"slices"
	"testing"

	"gradatim/leadsheet"
	"gradatim/theory"
)

var common = leadsheet.Meter{Beats: 4, Unit: 4}

// repeated is a pick-up of a quarter and two bars, the bars played twice, between an
// introduction of a bar and a tag.
func repeated() Score {
	s := Score{Bars: []Bar{{Dur: theory.Whole, Number: 1, Part: Introduction, Sheet: 1}, {Dur: theory.Quarter, Pickup: true}}}
	for pass := 1; pass <= 2; pass++ {
		for n := 1; n <= 2; n++ {
			s.Bars = append(s.Bars, Bar{Dur: theory.Whole, Number: 2*pass + n - 1, Sheet: n, Pass: pass})
		}
	}
	s.Bars = append(s.Bars, Bar{Dur: theory.Whole, Number: 6, Part: Tag, Sheet: 1})
	at := theory.Dur(0)
	for i := range s.Bars {
		s.Bars[i].At, s.Bars[i].Meter = at, common
		at += s.Bars[i].Dur
	}
	return s
}

func pitch(t *testing.T, text string) theory.Pitch {
	t.Helper()
	p, err := theory.ParsePitch(text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestIDs(t *testing.T) {
	s := repeated()
	for _, n := range []struct {
		bar    int
		off    theory.Dur
		hand   Hand
		grace  uint8
		pitch  string
		id, is string
	}{
		{bar: 0, hand: Left, pitch: "C3", is: "i1-l0"},
		{bar: 1, hand: Right, pitch: "C5", is: "b0-r0"},
		{bar: 2, hand: Right, pitch: "C5", is: "b1-r0"},
		{bar: 2, hand: Right, pitch: "A4", is: "b1-r0-2"},
		{bar: 2, hand: Right, pitch: "F4", is: "b1-r0-3"},
		{bar: 2, hand: Left, pitch: "F2", is: "b1-l0"},
		{bar: 2, hand: Left, pitch: "C3", is: "b1-l0-2"},
		{bar: 2, off: 3 * theory.Eighth, hand: Right, pitch: "D5", is: "b1-r3_8"},
		{bar: 2, off: 3 * theory.Eighth, hand: Right, grace: 1, pitch: "B4", is: "b1-r3_8g1"},
		{bar: 2, off: 3 * theory.Eighth, hand: Right, grace: 2, pitch: "C5", is: "b1-r3_8g2"},
		{bar: 2, off: theory.Quarter / 3, hand: Left, pitch: "A2", is: "b1-l1_12"},
		{bar: 4, hand: Right, pitch: "C5", is: "b1x2-r0"},
		{bar: 5, off: theory.Half, hand: Left, pitch: "C3", id: "mine", is: "mine"},
		{bar: 5, off: theory.Half, hand: Right, pitch: "C5", id: "b2x2-r1_2", is: "b2x2-r1_2"},
		{bar: 5, off: theory.Half, hand: Right, pitch: "E5", is: "b2x2-r1_2-2"}, // that name is taken
		{bar: 6, hand: Right, pitch: "C5", is: "t1-r0"},
		{bar: 6, hand: Right, pitch: "C5", is: "t1-r0-2"},
	} {
		s.Notes = append(s.Notes, Note{ID: n.id, Hand: n.hand, Voice: 1, At: s.Bars[n.bar].At + n.off, Dur: theory.Eighth, Grace: n.grace,
			Pitch: pitch(t, n.pitch), Origin: Origin{Technique: n.is}})
	}
	for _, n := range s.Finish().Notes {
		if n.ID != n.Origin.Technique {
			t.Errorf("%s of the %s hand at %s is called %s, want %s", n.Pitch, n.Hand, n.At, n.ID, n.Origin.Technique)
		}
	}
}

// TestIDsStay: what is added, moved or left out in one bar renames nothing in the
// others, and no order of the notes does.
func TestIDsStay(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	random := func(b Bar) Note {
		return Note{Hand: Hand(1 + rng.IntN(2)), Voice: uint8(1 + rng.IntN(2)), At: b.At + theory.Dur(rng.IntN(8))*b.Dur/8, Dur: theory.Eighth,
			Grace: uint8(max(0, rng.IntN(8)-5)), Pitch: theory.Pitch{Name: theory.Name{Letter: theory.Letter(rng.IntN(7))}, Octave: int8(2 + rng.IntN(4))}}
	}
	name := regexp.MustCompile(`^[bit]\d+(x\d+)?-[rl]\d+(_\d+)?(g\d+)?(-\d+)?$`)
	for range 200 {
		s := repeated()
		changed := rng.IntN(len(s.Bars))
		var kept []Note
		for i, b := range s.Bars {
			for range rng.IntN(9) {
				n := random(b)
				if s.Notes = append(s.Notes, n); i != changed {
					kept = append(kept, n)
				}
			}
		}
		after := repeated()
		after.Notes = slices.Clone(kept)
		for range rng.IntN(9) {
			after.Notes = append(after.Notes, random(s.Bars[changed]))
		}
		rng.Shuffle(len(after.Notes), func(i, j int) { after.Notes[i], after.Notes[j] = after.Notes[j], after.Notes[i] })
		elsewhere := func(s Score) (ids []string) {
			seen := map[string]bool{}
			for _, n := range s.Notes {
				if seen[n.ID] || !name.MatchString(n.ID) {
					t.Fatalf("the id %q", n.ID)
				}
				seen[n.ID] = true
				if s.BarAt(n.At) != changed {
					ids = append(ids, n.ID+" "+n.Pitch.String())
				}
			}
			slices.Sort(ids)
			return ids
		}
		if a, b := elsewhere(s.Finish()), elsewhere(after.Finish()); !slices.Equal(a, b) {
			t.Fatalf("bar %d changed; elsewhere\n%v became\n%v", changed, a, b)
		}
	}
}
