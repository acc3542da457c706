package arrange

import (
	"context"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/choice"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// locks makes choices of bars of a page, by their text.
func locks(t testing.TB, s leadsheet.Song, p score.Score, n int, bars ...int) []choice.Choice {
	t.Helper()
	var out []choice.Choice
	for _, i := range bars {
		text := choice.BarOf(s, p, i).Text(s)
		for _, b := range choice.ParseBars(s, text, func(_ int, what string) { t.Fatalf("%s in\n%s", what, text) }) {
			out = append(out, choice.Choice{Level: n, At: b.At, Until: s.Bars[i].End(), Fix: choice.Lock{Bar: b}})
		}
	}
	return out
}

// denser is the plan at another density, which stands for a newer program: it would
// write other notes.
func denser(t testing.TB, s leadsheet.Song, n, density int, cs []choice.Choice) Plan {
	t.Helper()
	pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: level(n), Density: density, Choices: cs})
	if err != nil {
		t.Fatal(err)
	}
	return pl
}

// impossible lists the choices that a page tells it could not follow, in words.
func impossible(a Arrangement) []string {
	var out []string
	for _, r := range a.Remarks {
		if r.Code == "choice-impossible" {
			out = append(out, r.Pos.String()+": "+words.Must("en").Problem(r).Text)
		}
	}
	return out
}

// TestLockKeeps locks bars of random pages and makes the pages again by a program that
// would write others: what is locked is the same, note for note, chord for chord.
func TestLockKeeps(t *testing.T) {
	r := rand.New(rand.NewPCG(41, 42))
	changed, kept := 0, 0
	for range 10 {
		s, n := corpusSheet(t, r, 40), 1+r.IntN(5)
		a := paged(t, planned(t, s, n))
		was := barTexts(s, a.Score)
		would := barTexts(s, paged(t, denser(t, s, n, 12, nil)).Score)
		all := make([]int, len(s.Bars))
		for i := range all {
			all[i] = i
		}
		some := []int{r.IntN(len(s.Bars)), r.IntN(len(s.Bars))}
		for _, bars := range [][]int{all, some[:1], slices.Compact(some)} {
			b := paged(t, denser(t, s, n, 12, locks(t, s, a.Score, n, bars...)))
			if told := impossible(b); len(told) > 0 {
				t.Errorf("%s, level %d, bars %v: %v", s.Title, n, bars, told)
			}
			now := barTexts(s, b.Score)
			for _, i := range bars {
				kept++
				if would[i] != was[i] {
					changed++
				}
				if now[i] != was[i] {
					t.Errorf("%s, level %d, %d locked: bar\n%swas locked and became\n%s", s.Title, n, len(bars), was[i], now[i])
				}
			}
		}
	}
	if changed < kept/6 {
		t.Errorf("only %d of %d bars would have become others: too few to tell", changed, kept)
	}
}

// TestLockOfAnotherTune holds that a lock over a tune that was changed since is told,
// with bar and beat.
func TestLockOfAnotherTune(t *testing.T) {
	s := tune(t, fourFour, "F", turnaroundTune)
	cs := locks(t, s, paged(t, planned(t, s, 2)).Score, 2, 1)
	s.Melody[1].Pitch = theory.Name{Letter: theory.D}.At(5)
	s.Melody[2].Pitch = theory.Name{Letter: theory.E}.At(5)
	told := impossible(paged(t, planned(t, s, 2, cs...)))
	if len(told) != 1 || !strings.Contains(told[0], "bar 2, beat 1") || !strings.Contains(told[0], "F5 is not the tune's") {
		t.Errorf("%v", told)
	}
}

// notesAt lists what a hand strikes at a beat of a bar, low before high.
func notesAt(a Arrangement, h score.Hand, at theory.Dur) string {
	var ps []theory.Pitch
	for _, n := range a.Score.Notes {
		if n.Hand == h && n.At == at && n.Grace == 0 {
			ps = append(ps, n.Pitch)
		}
	}
	slices.SortFunc(ps, theory.ComparePitch)
	return strings.Trim(fmt.Sprint(ps), "[]")
}

// TestSingleNotes moves, adds and takes away notes of a page of level 1, whose first bar
// has the broken triad of F. Everything else stays.
func TestSingleNotes(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	pl := planned(t, s, 1, choice.Choice{Level: 1, At: 0, Until: s.Bars[0].End(), Fix: mustFigure(t, s, "F3@1:1/4:bass A3@2:1/4:chord C4@3:1/4:chord A3@4:1/4:chord")})
	before := barTexts(s, paged(t, pl).Score)
	p := func(text string) theory.Pitch {
		q, err := theory.ParsePitch(text)
		if err != nil {
			t.Fatal(err)
		}
		return q
	}
	beat := theory.Quarter
	for _, tt := range []struct {
		name string
		at   theory.Dur
		fix  choice.Fix
		want string // at its moment; "told …": refused with this
	}{
		{"taken away", 2 * beat, choice.TakenAway{Pitch: p("C4")}, ""},
		{"taken from the left hand", 2 * beat, choice.TakenAway{Hand: score.Left, Pitch: p("C4")}, ""},
		{"not in the right hand", 2 * beat, choice.TakenAway{Hand: score.Right, Pitch: p("C4")}, "told no hand strikes that note there"},
		{"no such note", 2 * beat, choice.TakenAway{Pitch: p("D4")}, "told no hand strikes that note there"},
		{"the tune's", 0, choice.TakenAway{Pitch: p("C5")}, "told the note is the tune's"},
		{"moved", 2 * beat, moved1(t, s, 2*beat, "C4", "F3"), "F3"},
		{"moved in time", 2 * beat, moved1(t, s, 2*beat, "C4", "F3@3.5:1/8"), ""},
		{"moved out of reach of the ear", 2 * beat, moved1(t, s, 2*beat, "C4", "C5"), "told the note cannot be changed"},
		{"added", beat, added1(t, s, beat, "C4"), "A3 C4"},
		{"added above the tune", beat, added1(t, s, beat, "D5"), "told the note cannot be changed: it crosses the tune"},
		{"added too far away", beat, added1(t, s, beat, "F2"), "told the note cannot be changed: the level asks for no chord so wide"},
		{"added where there is none", beat + beat/2, added1(t, s, beat+beat/2, "C4"), "told the note cannot be changed: the level asks for no more notes a second"},
	} {
		now := paged(t, with(t, pl, choice.Choice{Level: 1, At: tt.at, Until: tt.at + beat, Fix: tt.fix}))
		if want, refused := strings.CutPrefix(tt.want, "told "); refused {
			told := impossible(now)
			if len(told) != 1 || !strings.Contains(told[0], want) || !strings.Contains(told[0], "bar 1, beat ") {
				t.Errorf("%s: told %v, want %q", tt.name, told, want)
			}
			if got := barTexts(s, now.Score); !slices.Equal(got, before) {
				t.Errorf("%s: refused, and the page became\n%s", tt.name, got[0])
			}
			continue
		}
		if told := impossible(now); len(told) > 0 {
			t.Errorf("%s: %v", tt.name, told)
		}
		if got := notesAt(now, score.Left, tt.at); got != tt.want {
			t.Errorf("%s: %q is struck, want %q", tt.name, got, tt.want)
		}
		if got := barTexts(s, now.Score); !slices.Equal(got[1:], before[1:]) || got[0] == before[0] {
			t.Errorf("%s: the bar is\n%s", tt.name, got[0])
		}
	}
}

func mustFigure(t testing.TB, s leadsheet.Song, text string) choice.Figure {
	t.Helper()
	f, err := choice.ParseFigure(s.Bars[0], score.Left, text)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

func moved1(t testing.TB, s leadsheet.Song, at theory.Dur, from, to string) choice.Moved {
	t.Helper()
	p, err := theory.ParsePitch(from)
	if err != nil {
		t.Fatal(err)
	}
	a := added1(t, s, at, to)
	return choice.Moved{From: p, To: a.Tone}
}

// added1 is a note more in the first bar, for the left hand.
func added1(t testing.TB, s leadsheet.Song, at theory.Dur, text string) choice.Added {
	t.Helper()
	cs, _, err := choice.Parse("", fmt.Appendf(nil, "version = 2\n[[choice]]\nlevel = 1\nbar = 1\nbeat = %q\nhand = \"left\"\nadd = %q", s.PosAt(at).Beat, text), s, []ladder.Level{level(1)}, nil)
	if err != nil {
		t.Fatal(err)
	}
	return cs[0].Fix.(choice.Added)
}

// TestFigureThatCannotBe holds that figures which a hand cannot play are told with the
// rule, and the page is what it would be without.
func TestFigureThatCannotBe(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	for _, tt := range []struct{ figure, want string }{
		{"F2@1:1:bass F4@1:1:chord", "the level asks for no"},
		{"F2@1:1/2:bass A2@1:1/2:chord F2@3:1/2:bass", "[low-interval]"},
		{"C5@1:1:chord", "[hands-cross, minor-ninth]"},
		{"F1@1:1/4:bass C4@2:1/4:chord F1@3:1/4:bass C4@4:1/4:chord", "[jump]"},
		{"F3@1:1/32:bass", "the level writes no notes so short"},
	} {
		c := choice.Choice{Level: 1, At: 0, Until: s.Bars[0].End(), Fix: mustFigure(t, s, tt.figure)}
		a := paged(t, planned(t, s, 1, c))
		told := impossible(a)
		if len(told) != 1 || !strings.Contains(told[0], tt.want) || !strings.Contains(told[0], "bar 1, beat ") {
			t.Errorf("%s: told %v, want %q", tt.figure, told, tt.want)
		}
		if got, want := barTexts(s, a.Score), barTexts(s, paged(t, planned(t, s, 1)).Score); !slices.Equal(got, want) {
			t.Errorf("%s was refused, and the page became\n%s", tt.figure, got[0])
		}
	}
}

// TestFiguresThatClash fixes two figures with no way from one to the other: the first is
// played, the second told.
func TestFiguresThatClash(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | F C5:8 | F C5:8 | F C5:8")
	far := func(bar int, text string) choice.Choice {
		f, err := choice.ParseFigure(s.Bars[bar], score.Left, text)
		if err != nil {
			t.Fatal(err)
		}
		return choice.Choice{Level: 1, At: s.Bars[bar].At, Until: s.Bars[bar].End(), Fix: f}
	}
	a := paged(t, planned(t, s, 1, far(1, "F2@1:3/4:bass A2@4:1/4:bass"), far(2, "F4@1:1:bass")))
	told := impossible(a)
	if len(told) != 1 || !strings.Contains(told[0], "bar 3, beat 1") || !strings.Contains(told[0], "[jump]") {
		t.Errorf("%v", told)
	}
	if got := notesAt(a, score.Left, s.Bars[1].At); got != "F2" {
		t.Errorf("%s is struck in bar 2", got)
	}
}

// TestOctave moves the tune of a section, and refuses to move it in the middle of one.
func TestOctave(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8 | F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	s.Bars[0].Section, s.Bars[4].Section = "A", "B"
	up := func(from, to int) choice.Choice {
		return choice.Choice{Level: 1, At: s.Bars[from].At, Until: s.Bars[to].End(), Fix: choice.Octave{By: 1}}
	}
	a := paged(t, planned(t, s, 1, up(4, 7)))
	for i, want := range []string{"C5", "D5", "C5", "A4", "C6", "D6", "C6", "A5"} {
		if got := notesAt(a, score.Right, s.Bars[i].At); got != want {
			t.Errorf("bar %d: %s, want %s", i+1, got, want)
		}
	}
	for _, c := range []choice.Choice{up(2, 7), up(4, 5)} {
		a := paged(t, planned(t, s, 1, c))
		if told := impossible(a); len(told) != 1 || !strings.Contains(told[0], "[melody-octave]") {
			t.Errorf("%v", told)
		}
		if got := notesAt(a, score.Right, s.Bars[5].At); got != "D5" {
			t.Errorf("refused, and bar 6 begins on %s", got)
		}
	}
}

// TestSetOctave holds where the whole tune is moved: as little as leaves the hands their
// room at the level, down only where there are ledger lines and no need for them.
func TestSetOctave(t *testing.T) {
	for _, tt := range []struct {
		low, high string
		room      string
		want      int
	}{
		{"C4", "C5", "C4", 0},
		{"B3", "C5", "C4", 1},
		{"C3", "C4", "C4", 1},
		{"B2", "C4", "C4", 2},
		{"B3", "A5", "C4", 1},
		{"B3", "Bb5", "C4", 0}, // an octave up would lie too high
		{"G5", "E6", "C4", -1},
		{"F#5", "E6", "C4", 0},
		{"G5", "D6", "C4", 0},
	} {
		s := tune(t, fourFour, "C", "C "+tt.low+":4 "+tt.high+":4 | C "+tt.low+":8")
		l := level(3)
		var err error
		if l.Room, err = theory.ParsePitch(tt.room); err != nil {
			t.Fatal(err)
		}
		pl, err := Prepare(context.Background(), s, harmony.Analyse(s), Options{Level: l})
		if err != nil {
			t.Fatal(err)
		}
		if pl.p.octave != tt.want {
			t.Errorf("%s to %s with room from %s: moved by %d octaves, want %d", tt.low, tt.high, tt.room, pl.p.octave, tt.want)
		}
		if got := pl.p.line[0].Pitch.Octave - s.Melody[0].Pitch.Octave; int(got) != tt.want {
			t.Errorf("%s to %s: the line is moved by %d", tt.low, tt.high, got)
		}
	}
}

// TestFingers holds that a finger is the teacher's, and that one which leaves none for
// the rest of the chord is told.
func TestFingers(t *testing.T) {
	s := tune(t, fourFour, "F", "F C5:8 | Bb D5:8 | C C5:8 | F A4:8")
	fix := mustFigure(t, s, "F3@1:1:bass A3@1:1:chord C4@1:1:chord")
	l := 2
	pl := planned(t, s, l, choice.Choice{Level: l, At: 0, Until: s.Bars[0].End(), Fix: fix})
	finger := func(pitch string, n uint8) choice.Choice {
		p, err := theory.ParsePitch(pitch)
		if err != nil {
			t.Fatal(err)
		}
		return choice.Choice{Level: l, At: 0, Until: theory.Quarter, Fix: choice.Finger{Pitch: p, Finger: n}}
	}
	a := paged(t, with(t, pl, finger("A3", 2), finger("C5", 4)))
	if told := impossible(a); len(told) > 0 {
		t.Error(told)
	}
	got := map[string]uint8{}
	for _, n := range a.Score.Notes {
		if n.At == 0 && n.Finger > 0 {
			got[n.Pitch.String()] = n.Finger
			if !n.Marks.Has(score.Fingered) {
				t.Errorf("%s would not be printed with its finger", n.Pitch)
			}
		}
	}
	if len(got) != 2 || got["A3"] != 2 || got["C5"] != 4 {
		t.Errorf("%v", got)
	}
	for _, c := range []choice.Choice{finger("F3", 2), finger("C4", 4), finger("A3", 5)} { // two lie above F3, two below C4
		if told := impossible(paged(t, with(t, pl, c))); len(told) != 1 || !strings.Contains(told[0], "[fingers]") {
			t.Errorf("%+v: %v", c.Fix, told)
		}
	}
	if told := impossible(paged(t, with(t, pl, finger("B3", 2)))); len(told) != 1 || !strings.Contains(told[0], "no hand strikes B3 there") {
		t.Error(told)
	}
}
