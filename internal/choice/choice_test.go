package choice_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/choice"
	"gradatim/internal/ladder"
	"gradatim/internal/technique"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// sheet reads a tune with a pick-up, a repeat with two endings and a repeat that splits
// a bar: on the sheet it has the bars 0 to 9.
const sheet = "X:1\nT:Test\nM:%s\nL:1/8\nK:F\n%s"

var songs = map[string]string{
	"4/4": `C2|:"F"A2c2f2c2|"Bb"B2d2f2d2|"C7"c2e2g2e2|1"F"f8:|2"F"f6C2||"Dm"d4f4|"Gm"g4b4|"C7"c8|"F"f6|]`,
	"6/8": `"F"A3c3|:"Bb"B3d3|"C7"c2ec3:|"F"f6|]`,
	"2/2": `"F"A4c4|"C7"(3c2d2e2 c4|"F"f8|]`,
	"3/4": `C|:"F"A2c2f2|"C7"c2e2g2|"F"f4C2:|"F"f5|]`,
}

var levels = ladder.Levels()

func song(t testing.TB, meter string) leadsheet.Song {
	t.Helper()
	s, err := abc.Read([]byte(fmt.Sprintf(sheet, meter, songs[meter])), abc.Options{File: "test.abc"})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func parse(t testing.TB, s leadsheet.Song, text string) []choice.Choice {
	t.Helper()
	cs, told, err := choice.Parse("c.toml", []byte(text), s, levels, nil)
	if err != nil || len(told) > 0 {
		t.Fatalf("%v %v\n%s", err, told, text)
	}
	return cs
}

// TestPlaces holds where choices by the sheet's bars lie in the order of playing.
func TestPlaces(t *testing.T) {
	for _, tt := range []struct{ meter, choice, want string }{
		{"4/4", "bar = 0\nbeat = 4", "0@4-0@5"}, // the pick-up counts from the end of its bar
		{"4/4", "bar = 0\nbeat = 4.5", "0@4.5-0@5"},
		{"4/4", "bar = 1", "1@1-1@5 5@1-5@5"},
		{"4/4", "bar = 1\npass = 2", "5@1-5@5"},
		{"4/4", "bar = 2\nbeat = 3\nbeats = 1", "2@3-2@4 6@3-6@4"},
		{"4/4", "bar = 2\nbars = 2", "2@1-3@5 6@1-7@5"},
		{"4/4", "bar = 3\nbars = 3", "3@1-4@5 7@1-8@5"}, // each pass with its own ending
		{"4/4", "bar = 3\nbars = 3\npass = 2", "7@1-8@5"},
		{"4/4", "bar = 4", "4@1-4@5"}, // the first ending
		{"4/4", "bar = 5", "8@1-8@5"}, // the second, with the pick-up of what follows
		{"4/4", "bar = 6\nbeat = \"1+1/3\"\nlength = \"1/6\"", "9@1 1/3-9@2"},
		{"6/8", "bar = 2\nbeat = 2", "2@2-2@3 4@2-4@3"},
		{"3/4", "bar = 3", "3@1-3@4 6@1-6@4"}, // once with the pick-up of the repeat
		{"3/4", "bar = 3\nbeat = 3", "3@3-3@4 6@3-6@4"},
	} {
		s := song(t, tt.meter)
		var got []string
		for _, c := range parse(t, s, "version = 2\n[[choice]]\nlevel = 1\navoid = \"anticipation\"\n"+tt.choice) {
			b := s.Bars[s.BarAt(c.At)]
			off := c.Until - b.At
			if b.Pickup {
				off += b.Meter.Bar() - b.Dur
			}
			last := s.Bars[s.BarAt(c.Until-1)]
			if last.At != b.At {
				off = c.Until - last.At
			}
			got = append(got, fmt.Sprintf("%d@%s-%d@%s", b.Number, s.PosAt(c.At).Beat, last.Number, b.Meter.BeatAt(off)))
		}
		if g := strings.Join(got, " "); g != tt.want {
			t.Errorf("%s, %q: %s, want %s", tt.meter, tt.choice, g, tt.want)
		}
	}
}

// TestFirstVersion holds that a file without a version counts as it did: in the order
// of playing, and that this is told where it matters.
func TestFirstVersion(t *testing.T) {
	const text = "[[choice]]\nlevel = 1\nbar = 5\navoid = \"anticipation\""
	s := song(t, "4/4")
	cs, told, err := choice.Parse("c.toml", []byte(text), s, levels, nil)
	if err != nil || len(told) != 1 || told[0].Code != "choice-version" || told[0].Severity != leadsheet.Warning {
		t.Fatalf("%v %v", told, err)
	}
	if len(cs) != 1 || cs[0].At != s.Bars[5].At {
		t.Errorf("%+v, want the fifth bar that is played", cs)
	}
	if _, told, err := choice.Parse("c.toml", []byte(text), song(t, "2/2"), levels, nil); err == nil || len(told) > 0 {
		t.Errorf("%v %v: a tune without repeats has nothing to tell, and no fifth bar", told, err)
	}
	if _, _, err := choice.Parse("c.toml", []byte("[[choice]]\nlevel = 1\nbar = 1\noctave = 1"), s, levels, nil); err == nil {
		t.Error("what version 1 did not have was read as version 1")
	}
}

// A dynamic is written as it is read.
func TestLoudIsWritten(t *testing.T) {
	s := song(t, "2/2")
	cs, told, err := choice.Parse("c.toml", []byte("version = 2\n[[choice]]\nlevel = 3\nbar = 1\nbars = 2\ndynamic = \"mp\"\n"), s, levels, nil)
	if err != nil || len(told) > 0 || len(cs) != 1 || cs[0].Fix != (choice.Loud{Sign: "mp"}) {
		t.Fatalf("%v %v %v", cs, told, err)
	}
	again, _, err := choice.Parse("c.toml", choice.Format(s, cs), s, levels, nil)
	if err != nil || len(again) != 1 || again[0].Fix != cs[0].Fix || again[0].At != cs[0].At || again[0].Until != cs[0].Until {
		t.Errorf("%v %v", again, err)
	}
}

func TestRefused(t *testing.T) {
	for _, tt := range []struct{ text, code string }{
		{"level = 1\nbar = 1\nhand = \"left\"\nfigure = \"F2@9:1/4\"", "choice-note"},
		{"level = 1\nbar = 1\nfigure = \"F2@1:1/4\"", "choice-note"},
		{"level = 1\nbar = 1\nhand = \"left\"\nfigure = \"juggling: F2@1:1/4\"", "choice-note"},
		{"level = 1\nbar = 1\nhand = \"left\"\nfigure = \"F2@1\"", "choice-note"},
		{"level = 1\nbar = 1\nhand = \"foot\"\ntake = \"F2\"", "choice-hand"},
		{"level = 1\nbar = 1\nmove = \"F2\"", "choice-note"},
		{"level = 1\nbar = 1\nnote = \"F2\"", "choice-note"},
		{"level = 1\nbar = 1\nnote = \"F2\"\nfinger = 6", "choice-note"},
		{"level = 1\nbar = 1\noctave = 7", "choice-octave"},
		{"level = 1\nbar = 1\ndynamic = \"sfz\"", "choice-dynamic"},
		{"level = 1\nbar = 1\ndynamic = \"p\"\n[[choice]]\nlevel = 1\nbar = 1\ndynamic = \"f\"", "choice-overlap"},
		{"level = 1\nbar = 1\npass = 3\navoid = \"slide\"", "choice-place"},
		{"level = 1\npart = \"introduction\"\nbar = 1\navoid = \"slide\"", "choice-place"},
		{"level = 1\nbar = 1\nadd = \"F2:1/4:grace1\"\nhand = \"left\"", "choice-note"},
		{"level = 1\nbar = 1\nchord = \"F\"\n[[choice]]\nlevel = 1\nbar = 1\npass = 2\nchord = \"Dm\"", "choice-overlap"},
		{"level = 1\nbar = 1\noctave = 1\n[[choice]]\nlevel = 1\nbar = 1\noctave = 1", "choice-overlap"},
		{"level = 1\nbar = 1\ntake = \"F2\"\n[[lock]]\nlevel = 1\nnotes = \"\"\"\nbar 1 pass 1\nleft rest\n\"\"\"", "choice-overlap"},
		{"level = 1\nbar = 1\navoid = \"slide\"\n[[lock]]\nlevel = 1\nnotes = \"\"\"\nbar 1 pass 1\nfoot rest\n\"\"\"", "choice-lock"},
		{"level = 1\nbar = 1\navoid = \"slide\"\n[[lock]]\nlevel = 1\nnotes = \"\"\"\nbar 1 pass 1\nbar 1 pass 1\n\"\"\"", "choice-lock"},
		{"level = 1\nbar = 1\navoid = \"slide\"\n[[lock]]\nlevel = 1\nfile = \"there.txt\"", "choice-file"},
	} {
		_, _, err := choice.Parse("c.toml", []byte("version = 2\n[[choice]]\n"+tt.text), song(t, "4/4"), levels, nil)
		ps, _ := err.(leadsheet.Problems)
		if !slices.ContainsFunc(ps, func(p leadsheet.Problem) bool { return p.Code == tt.code && p.Pos.Line > 0 }) {
			t.Errorf("%q: %v, want %s with a line", tt.text, err, tt.code)
		}
	}
}

// any builds a choice of every kind at random for a bar of a song.
func anyChoices(r *rand.Rand, s leadsheet.Song) []choice.Choice {
	bar := func() leadsheet.Bar { return s.Bars[r.IntN(len(s.Bars))] }
	pitch := func() theory.Pitch {
		return theory.Name{Letter: theory.Letter(r.IntN(7)), Alter: int8(r.IntN(3) - 1)}.At(2 + r.IntN(4))
	}
	moment := func(b leadsheet.Bar) theory.Dur {
		grid := []theory.Dur{theory.Quarter, theory.Eighth, theory.Quarter / 3, theory.Sixteenth, theory.Quarter / 5, theory.SixtyFourth}[r.IntN(6)]
		return b.At + grid*theory.Dur(r.IntN(max(1, int(b.Dur/grid))))
	}
	tone := func(b leadsheet.Bar) technique.Tone {
		t := technique.Tone{At: moment(b), Pitch: pitch(), Dur: theory.Sixteenth * theory.Dur(1+r.IntN(20)), Kind: score.Kind(2 + r.IntN(10))}
		if r.IntN(4) == 0 {
			t.Marks, t.Velocity = score.Rolled|score.Staccato, -20
		}
		if r.IntN(6) == 0 {
			t.Dur, t.Grace, t.Kind, t.Marks = 0, 1, score.Ornamental, score.Slashed
		}
		return t
	}
	tones := func(b leadsheet.Bar) []technique.Tone {
		var out []technique.Tone
		for range 1 + r.IntN(4) {
			out = append(out, tone(b))
		}
		f := choice.Figure{Tones: out}
		f, err := choice.ParseFigure(b, 0, f.Text(b)) // in order
		if err != nil {
			panic(err)
		}
		return f.Tones
	}
	hands := []score.Hand{score.Left, score.Right}
	chord := func() theory.Chord {
		sym, _ := theory.ParseSymbol([]string{"F", "Bbm7", "C7(b9,#11)", "Eb6/9", "F#m7b5", "D/F#", "Gsus4", "Abmaj7"}[r.IntN(8)])
		return sym.Chord
	}
	var out []choice.Choice
	add := func(at, until theory.Dur, f choice.Fix) {
		out = append(out, choice.Choice{Level: 1 + r.IntN(5), At: at, Until: until, Fix: f})
	}
	for _, make := range []func(b leadsheet.Bar) choice.Fix{
		func(leadsheet.Bar) choice.Fix { return choice.Chord{Chord: chord()} },
		func(leadsheet.Bar) choice.Fix { return choice.Use{Technique: "walking-bass"} },
		func(leadsheet.Bar) choice.Fix { return choice.Avoid{Technique: "slide"} },
		func(leadsheet.Bar) choice.Fix { return choice.Octave{By: 1 - 2*r.IntN(2)} },
	} {
		b := bar()
		add(moment(b), b.End(), make(b))
	}
	b := bar()
	add(b.At, b.End(), choice.Figure{Hand: hands[r.IntN(2)], By: "walking-bass", Tones: tones(b)})
	b = bar()
	a := choice.Added{Hand: hands[r.IntN(2)], Tone: tone(b)}
	if r.IntN(2) == 0 && a.Tone.Grace == 0 {
		a.Tone.Dur = 0
	}
	add(a.Tone.At, b.End(), a)
	b = bar()
	add(moment(b), b.End(), choice.TakenAway{Hand: hands[r.IntN(2)], Pitch: pitch()})
	b = bar()
	add(moment(b), b.End(), choice.Moved{From: pitch(), To: tone(b)})
	b = bar()
	add(moment(b), b.End(), choice.Finger{Pitch: pitch(), Finger: uint8(1 + r.IntN(5))})
	b = bar()
	l := choice.Bar{At: b.At, Chords: []choice.Symbol{{At: b.At, Chord: chord()}}, Pedal: [][2]theory.Dur{{b.At, b.End()}}}
	for _, part := range []choice.Part{choice.Tune, choice.RightHand, choice.LeftHand} {
		line := choice.Line{Part: part}
		for _, t := range tones(b) {
			line.Tones = append(line.Tones, choice.Tone{Tone: t, Finger: uint8(r.IntN(6))})
		}
		l.Lines = append(l.Lines, line)
	}
	add(b.At, b.End(), choice.Lock{Bar: l})
	return out
}

// TestRoundTrip writes choices of every kind and reads them again, in all twelve keys.
func TestRoundTrip(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 6))
	for range 60 {
		for meter := range songs {
			s := song(t, meter)
			for _, c := range anyChoices(r, s) {
				text := choice.Format(s, []choice.Choice{c})
				back := parse(t, s, string(text))
				for i := range back {
					back[i].Pos = leadsheet.Pos{}
				}
				if !reflect.DeepEqual(back, []choice.Choice{c}) {
					t.Fatalf("%s:\n%s\nread as\n%#v\nwas\n%#v", meter, text, back, c)
				}
				for f := -6; f <= 6; f++ {
					iv := theory.NameInterval(theory.Name{Letter: theory.F}, theory.NameOnFifths(f))
					if got := c.In(iv).In(iv.Neg()); !reflect.DeepEqual(got, c) {
						t.Fatalf("moved by %v and back: %#v, was %#v", iv, got, c)
					}
				}
			}
		}
	}
}

// TestMoves holds that everything that has a pitch moves with the tune, and nothing
// else does.
func TestMoves(t *testing.T) {
	s := song(t, "4/4")
	const text = `version = 2
[[choice]]
level = 1
bar = 6
chord = "D7(b9)"

[[choice]]
level = 2
bar = 6
hand = "left"
figure = "D3@1:1/2:bass F#3@3:1/2:chord"

[[choice]]
level = 3
bar = 6
beat = 2
hand = "left"
add = "F#3"

[[choice]]
level = 4
bar = 6
move = "D3"
to = "F#3"

[[choice]]
level = 5
bar = 6
note = "F#4"
finger = 2

[[lock]]
level = 1
notes = '''
bar 7
chords D7@1
left D2@1:1/1:bass
'''
`
	up := choice.In(parse(t, s, text), theory.Interval{Steps: 1, Semitones: 2})
	got := string(choice.Format(s, up))
	want := strings.NewReplacer("D7", "E7", "D3", "E3", "F#3", "G#3", "F#4", "G#4", "D2", "E2", "1/1", "1").Replace(text)
	norm := func(s string) []string {
		return slices.DeleteFunc(strings.Split(s, "\n"), func(l string) bool { return l == "" || strings.HasPrefix(l, "beat") })
	}
	for _, l := range norm(want) {
		if !slices.Contains(norm(got), l) {
			t.Errorf("%q is missing in\n%s", l, got)
		}
	}
}

func FuzzParse(f *testing.F) {
	s := song(f, "4/4")
	r := rand.New(rand.NewPCG(7, 8))
	for range 20 {
		for _, c := range anyChoices(r, s) {
			f.Add(choice.Format(s, []choice.Choice{c}))
		}
	}
	f.Fuzz(func(t *testing.T, text []byte) {
		cs, _, err := choice.Parse("c.toml", text, s, levels, nil)
		if err != nil {
			return
		}
		again, _, err := choice.Parse("c.toml", choice.Format(s, cs), s, levels, nil)
		if err != nil {
			t.Fatalf("what was written cannot be read: %v\n%s", err, choice.Format(s, cs))
		}
		if len(again) != len(cs) {
			t.Fatalf("%d choices became %d", len(cs), len(again))
		}
	})
}
