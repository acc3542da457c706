package arrange_test

import (
	"testing"

	"gradatim/internal/arrange"
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func studyIn(t *testing.T, h hand.Profile, level ladder.Level, key string) arrange.Study {
	t.Helper()
	k, err := theory.ParseKey(key)
	if err != nil {
		t.Fatal(err)
	}
	return arrange.Study{Level: level, Hand: h, Key: k, Meter: leadsheet.Meter{Beats: 4, Unit: 4}, Tempo: leadsheet.Tempo{Beat: theory.Quarter, PerMinute: 120}}
}

func chord(t *testing.T, text string) theory.Chord {
	t.Helper()
	sym, err := theory.ParseSymbol(text)
	if err != nil {
		t.Fatal(err)
	}
	return sym.Chord
}

// struck is a part of a bar in which a chord is struck whole.
func struck(s technique.Struck, c theory.Chord) arrange.Part {
	return arrange.Part{Dur: theory.Whole, Chord: c, Left: arrange.Play{Figures: s.Left}, Right: arrange.Play{Figures: s.Right}}
}

// Whatever chord a page may have, on any root, a study can strike it with all that it
// promises over its bass, for a hand of ordinary reach and for one that reaches an
// octave.
func TestEveryChordHasAVoicing(t *testing.T) {
	small, err := hand.ParseProfile("octave")
	if err != nil {
		t.Fatal(err)
	}
	how := technique.Struck{Degrees: technique.PromisedAndFifth, Most: 3}
	for _, h := range []hand.Profile{hand.Default(), small} {
		for _, level := range ladder.Levels() {
			for _, root := range []string{"C", "Db", "D", "Eb", "E", "F", "F#", "Gb", "G", "Ab", "A", "Bb", "B"} {
				for _, suffix := range []string{"", "m", "dim", "aug", "sus4", "sus2", "add9", "m(add4)", "6", "m6", "7", "maj7", "m7", "m7b5", "dim7", "m(maj7)", "7sus4",
					"9", "maj9", "m9", "9sus4", "6/9", "m6/9", "m11", "13", "7b9", "7#9", "13b9", "7(#9,b13)", "7(b9,b13)", "9(#11)", "maj7(#11)", "13(#11)", "m7b5(add11)", "7#5", "7b5"} {
					c := chord(t, root+suffix)
					st := studyIn(t, h, level, "F")
					st.Whole, st.Parts = true, []arrange.Part{struck(how, c)}
					s, ok := st.Score()
					if !ok {
						t.Errorf("level %d: no voicing of %s", level.Number, c)
						continue
					}
					for _, v := range audit.Check(s, audit.Options{Hand: h}) {
						t.Errorf("level %d, %s: %v\n%s", level.Number, c, v, score.Text(s))
					}
					low := 128
					classes := map[int]bool{}
					for _, n := range s.Notes {
						low = min(low, n.Pitch.MIDI())
						classes[n.Pitch.Class()] = true
					}
					if low%12 != c.Lowest().Class() {
						t.Errorf("%s does not stand on its bass", c)
					}
					for _, d := range technique.Promised(c) {
						if !classes[d.On(c.Root).Class()] {
							t.Errorf("%s lacks its %s", c, d)
						}
					}
				}
			}
		}
	}
}

// A voice that a study is about goes on in one hand by the nearest way, whatever lies
// above it.
func TestStudyFollowsItsVoice(t *testing.T) {
	how := technique.Struck{Degrees: technique.PromisedAndFifth, Most: 3}
	st := studyIn(t, hand.Default(), ladder.Levels()[4], "Bb")
	st.Whole = true
	keys := []int{}
	for _, x := range []struct{ chord, voice string }{{"Eb6", "G"}, {"Ebm6/9", "Gb"}, {"Bb6/D", "F"}} {
		n, err := theory.ParseName(x.voice)
		if err != nil {
			t.Fatal(err)
		}
		p := struck(how, chord(t, x.chord))
		p.Voice = technique.Voice{Name: n, In: true}
		st.Parts = append(st.Parts, p)
	}
	s, ok := st.Score()
	if !ok {
		t.Fatal("the study cannot be played")
	}
	for i, want := range []int{7, 6, 5} {
		for _, n := range s.Notes {
			if n.At == s.Bars[i].At && n.Hand == score.Right && n.Pitch.Class() == want {
				keys = append(keys, n.Pitch.MIDI())
			}
		}
	}
	if len(keys) != 3 || keys[0]-keys[1] != 1 || keys[1]-keys[2] != 1 {
		t.Errorf("the voice goes %v:\n%s", keys, score.Text(s))
	}
}

// The figures of a study lead on as those of a page do: a line that approaches a key
// arrives there.
func TestStudyLeadsOn(t *testing.T) {
	walking, _ := technique.ByID("walking-bass")
	st := studyIn(t, hand.Default(), ladder.Levels()[4], "F")
	for _, c := range []string{"Gm7", "C7", "Fmaj7", "Fmaj7"} {
		st.Parts = append(st.Parts, arrange.Part{Dur: theory.Whole, Chord: chord(t, c), Left: arrange.Play{By: walking.ID, Figures: walking.Left}})
	}
	s, ok := st.Score()
	if !ok {
		t.Fatal("the study cannot be played")
	}
	for _, v := range audit.Check(s, audit.Options{}) {
		t.Error(v)
	}
	for i, n := range s.Notes {
		if n.Origin.Kind == score.Approach && i+1 < len(s.Notes) {
			if by := s.Notes[i+1].Pitch.MIDI() - n.Pitch.MIDI(); by < -7 || by > 7 || by == 0 {
				t.Errorf("%s approaches %s", n.Pitch, s.Notes[i+1].Pitch)
			}
		}
		if n.Origin.Technique == "" || n.Origin.Why == nil {
			t.Errorf("%s has no reason", n.Pitch)
		}
	}
	if len(s.Notes) < 12 || len(walking.Find(s)) == 0 {
		t.Errorf("nobody walks:\n%s", score.Text(s))
	}
}

// What no hand can play is refused, not bent.
func TestStudyRefuses(t *testing.T) {
	st := studyIn(t, hand.Default(), ladder.Levels()[4], "F")
	apart := func(c technique.Cell) []technique.Figure {
		var f technique.Figure
		for _, p := range []theory.Pitch{{Name: c.Chord.Root, Octave: 2}, {Name: c.Chord.Root, Octave: 4}} {
			f.Tones = append(f.Tones, technique.Tone{At: c.At, Dur: c.Dur(), Pitch: p, Kind: score.Bass})
		}
		return []technique.Figure{f}
	}
	st.Parts = []arrange.Part{{Dur: theory.Whole, Chord: chord(t, "F"), Left: arrange.Play{Figures: apart}}}
	if s, ok := st.Score(); ok {
		t.Errorf("two octaves in one hand:\n%s", score.Text(s))
	}
}

// Thirds going up, sixths coming back, all of the key.
func TestStudyOnScale(t *testing.T) {
	pairs, _ := technique.ByID("third-or-sixth")
	for _, key := range []string{"C", "Eb", "F#", "Dm"} {
		s, n, ok := studyIn(t, hand.Default(), ladder.Levels()[1], key).OnScale(pairs)
		if !ok || n != 5 || len(s.Notes) != 18 {
			t.Fatalf("%s: %d notes, %d different", key, len(s.Notes), n)
		}
		for i := 0; i < len(s.Notes); i += 2 {
			a, b := s.Notes[i].Pitch.MIDI(), s.Notes[i+1].Pitch.MIDI()
			by := max(a, b) - min(a, b)
			if back := i/2 > 4; !back && by != 3 && by != 4 || back && by != 8 && by != 9 {
				t.Errorf("%s: pair %d is %d half steps wide", key, i/2, by)
			}
			for _, x := range s.Notes[i : i+2] {
				if !s.Bars[0].Key.Contains(x.Pitch.Name) {
					t.Errorf("%s has no %s", key, x.Pitch)
				}
			}
		}
	}
}

// A left hand put under a line keeps below it, names each chord, and rests in a pick-up.
func TestStudyUnder(t *testing.T) {
	st := studyIn(t, hand.Default(), ladder.Levels()[0], "F")
	st.Whole = true
	key := st.Key
	s := score.Score{Tempo: st.Tempo, Bars: []score.Bar{
		{Dur: theory.Quarter, Meter: st.Meter, Key: key, Pickup: true},
		{At: theory.Quarter, Dur: theory.Whole, Meter: st.Meter, Key: key, Number: 1},
		{At: theory.Quarter + theory.Whole, Dur: theory.Whole, Meter: st.Meter, Key: key, Number: 2}}}
	for i, p := range []string{"C4", "F4", "A4", "G4", "C4", "E4"} {
		q, err := theory.ParsePitch(p)
		if err != nil {
			t.Fatal(err)
		}
		at := theory.Quarter + theory.Dur(i-1)*theory.Half
		n := score.Note{Hand: score.Right, Voice: 1, At: max(0, at), Dur: theory.Half, Pitch: q, Origin: score.Origin{Kind: score.Melody}}
		if i == 0 {
			n.Dur = theory.Quarter
		}
		if i < 5 {
			s.Notes = append(s.Notes, n)
		}
	}
	s.Chords = []score.Symbol{{At: 0, Chord: chord(t, "F")}, {At: s.Bars[2].At, Chord: chord(t, "C7")}}
	out := st.Under(s.Finish(), arrange.Play{Figures: technique.CloseChord})
	for _, v := range audit.Check(out, audit.Options{}) {
		t.Error(v)
	}
	classes := [3]map[int]bool{{}, {}, {}}
	for _, n := range out.Notes {
		if n.Hand == score.Left {
			classes[out.BarAt(n.At)][n.Pitch.Class()] = true
		}
	}
	if len(classes[0]) != 0 || len(classes[1]) != 3 || !classes[2][0] || !classes[2][4] {
		t.Errorf("chords %v under\n%s", classes, score.Text(out))
	}
}
