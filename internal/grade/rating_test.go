package grade_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"gradatim/internal/account"
	"gradatim/internal/grade"
	"gradatim/internal/hand"
	"gradatim/internal/scoretest"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/reason"
	"gradatim/score"
	"gradatim/theory"
)

var english = words.Must("en")

func parse(t testing.TB, text string) score.Score {
	t.Helper()
	s, err := scoretest.Parse(text)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func ExampleRate() {
	s, err := scoretest.Parse(`
title Small Thing
meter 4/4
tempo 96
R1 C5:1/4 D5:1/4 E5:1/2 F5:1/4 E5:1/4 D5:1/2
L1 C2:1/4 <E3+G3>:1/4 C2:1/4 <E3+G3>:1/4 G1:1/4 <F3+B3>:1/4 G1:1/4 <F3+B3>:1/4
`)
	if err != nil {
		panic(err)
	}
	r := grade.Rate(s, grade.Options{})
	fmt.Println(r.Number.Whole(), "of 100,", english.Value(r.Number.Place()))
	for _, f := range r.Features {
		if f.ID == "moves" || f.ID == "compass" {
			fmt.Println(f.Text(english))
		}
	}
	for _, x := range r.Techniques {
		fmt.Println(x.ID, x.Bars)
	}
	// Output:
	// 12 of 100, like level 1
	// The right hand stays where it is.
	// The left hand moves an octave or more every beat.
	// The right hand goes from C5 to F5, 5 half steps.
	// The left hand goes from G1 to B3, 28 half steps.
	// plain-triads [1]
	// bass-and-chord [1]
	// seventh-chords [2]
	// stride [2]
}

// A hand that keeps its highest note in place while notes below it come and go does
// not move, however far its next lowest note lies; and what is said of a hard place
// is said as a teacher says it, of music that comes again once.
func TestReasonsAreTrueOfTheHand(t *testing.T) {
	calm := " C5:1 D5:1 E5:1 D5:1"
	under := " C5+E4+C4:1 D5:1 E5+G4+C4:1 D5:1"
	left := "\nL1" + strings.Repeat(" C3:4", 24) + "\n"
	r := grade.Rate(parse(t, "meter 4/4\ntempo 100\nR1"+strings.Repeat(calm, 8)+strings.Repeat(strings.ReplaceAll(strings.ReplaceAll(under, "C5+E4+C4", "<C4+E4+C5>"), "E5+G4+C4", "<C4+G4+E5>"), 8)+strings.Repeat(calm, 8)+left), grade.Options{})
	f := featureOf(t, r, "moves", score.Right)
	if f.Value == 0 || strings.Contains(f.Text(english), "moves") {
		t.Errorf("%d: %q", f.Value, f.Text(english))
	}
	if len(r.Hardest) != 1 || r.Hardest[0].Text(english) != "the right hand plays chords of three notes" {
		t.Errorf("%+v", r.Hardest)
	}
}

// A teacher must find the place: leaps put into bars 9 to 16 are told as there.
func TestWorstPlaces(t *testing.T) {
	calm, wild := " C3:1/4 E3:1/4 G3:1/4 E3:1/4", " C2:1/4 <E3+G3>:1/4 C2:1/4 <E3+G3>:1/4"
	text := "meter 4/4\ntempo 100\nR1" + strings.Repeat(" C5:1/2 E5:1/2", 24) + "\nL1" + strings.Repeat(calm, 8) + strings.Repeat(wild, 8) + strings.Repeat(calm, 8) + "\n"
	r := grade.Rate(parse(t, text), grade.Options{})
	f := featureOf(t, r, "moves", score.Left)
	if f.First != 9 || f.Last != 16 || f.Text(english) != "The left hand moves an octave or more every beat in bars 9–16." {
		t.Errorf("bars %d to %d: %q", f.First, f.Last, f.Text(english))
	}
	if len(r.Hardest) == 0 || r.Hardest[0].First < 9 || r.Hardest[0].Last > 16 || !strings.Contains(r.Hardest[0].Text(english), "left hand moves an octave or more") {
		t.Errorf("hardest: %+v", r.Hardest)
	}
	every2 := " C2:1/2 C3:1/2"
	r = grade.Rate(parse(t, "meter 4/4\ntempo 100\nR1"+strings.Repeat(" C5:1", 8)+"\nL1"+strings.Repeat(every2, 8)+"\n"), grade.Options{})
	if f := featureOf(t, r, "moves", score.Left); f.Text(english) != "The left hand moves an octave or more every two beats." {
		t.Errorf("%q", f.Text(english))
	}
}

// Faster, wider, fuller is harder: each change alone raises the sum.
func TestHarderIsHigher(t *testing.T) {
	base := "meter 4/4\ntempo 80\nR1" + strings.Repeat(" C5:1/4 D5:1/4 E5:1/4 C5:1/4", 8) + "\nL1" + strings.Repeat(" C3:1/2 G3:1/2", 8) + "\n"
	low := grade.Rate(parse(t, base), grade.Options{}).Sum
	for name, change := range map[string][2]string{
		"faster":      {"tempo 80", "tempo 140"},
		"leaps":       {" C3:1/2 G3:1/2", " C2:1/2 G3:1/2"},
		"chords":      {" C3:1/2", " <C3+E3>:1/2"},
		"accidentals": {" D5:1/4", " Db5:1/4"},
		"triplets":    {" C5:1/4 D5:1/4", " C5:1/6 E5:1/6 D5:1/6"},
		"more notes":  {" G3:1/2", " G3:1/4 G2:1/4"},
	} {
		text := strings.ReplaceAll(base, change[0], change[1])
		if high := grade.Rate(parse(t, text), grade.Options{}).Sum; high <= low {
			t.Errorf("%s: %d, plain %d", name, high, low)
		}
	}
}

// The rating reads what is on the page: not who wrote it, for which level, in
// which order the notes were listed, or under which ids.
func TestRatingReadsThePageAlone(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 7))
	for range 60 {
		s := scoretest.Random(rng)
		want := plain(grade.Rate(s, grade.Options{Fingering: grade.ByHand(hand.Default())}))
		o := s
		o.Notes = slices.Clone(s.Notes)
		o.Level, o.LevelName, o.Composer = 5, "advanced", "Somebody"
		for i := range o.Notes {
			o.Notes[i].Origin = score.Origin{Kind: score.Run, Technique: "run", Why: reason.Figure("run.up")}
		}
		if got := plain(grade.Rate(o, grade.Options{Fingering: grade.ByHand(hand.Default())})); !bytes.Equal(got, want) {
			t.Fatalf("origins and level change the rating\n%s\n%s", want, got)
		}
		rng.Shuffle(len(o.Notes), func(i, j int) { o.Notes[i], o.Notes[j] = o.Notes[j], o.Notes[i] })
		if a, b := grade.Rate(o, grade.Options{WithoutTechniques: true}), grade.Rate(s, grade.Options{WithoutTechniques: true}); a.Sum != b.Sum {
			t.Fatalf("the order of notes changes the rating: %d, %d", a.Sum, b.Sum)
		}
	}
}

func plain(r grade.Rating) []byte {
	b, err := r.JSON()
	if err != nil {
		panic(err)
	}
	return b
}

func TestNothingToPlay(t *testing.T) {
	for name, s := range map[string]score.Score{
		"zero":     {},
		"no notes": parse(t, "bars 4\ntempo 100"),
	} {
		r := grade.Rate(s, grade.Options{})
		if r.Number != 0 || len(r.Features) != 0 || len(r.Hardest) != 0 {
			t.Errorf("%s: %+v", name, r)
		}
		if b := plain(r); !bytes.Contains(b, []byte(`"features": []`)) || !bytes.Contains(b, []byte(`"rating": 0`)) {
			t.Errorf("%s: %s", name, b)
		}
	}
	// One hand, one note, no bars, no tempo, notes before and after the bars.
	for name, text := range map[string]string{"one note": "R1 C4:1/4", "left hand alone": "tempo 60\nL1 C3:1/4 D3:1/4 E3:1/2"} {
		r := grade.Rate(parse(t, text), grade.Options{})
		if r.Number < 0 || r.Number > 150 || len(r.Features) == 0 {
			t.Errorf("%s: %+v", name, r)
		}
	}
	s := parse(t, "R1 C4:1/4 E4:1/4")
	s.Bars = nil
	if r := grade.Rate(s, grade.Options{}); !r.Assumed || len(r.Features) == 0 {
		t.Errorf("without bars: %+v", r)
	}
	s = parse(t, "R1 C4:1/4 E4:1/4")
	s.Notes = append(s.Notes, score.Note{ID: "far", Hand: score.Left, At: 50 * theory.Whole, Dur: theory.Whole, Pitch: s.Notes[0].Pitch},
		score.Note{ID: "early", Hand: score.Left, At: -theory.Whole, Dur: -theory.Whole, Pitch: s.Notes[0].Pitch})
	grade.Rate(s, grade.Options{Fingering: grade.ByHand(hand.Default())})
}

// Ten times as many bars take about ten times as long: tens of thousands of
// bars must not take minutes.
func TestLongScores(t *testing.T) {
	if testing.Short() {
		t.Skip("takes a second")
	}
	one := parse(t, "meter 4/4\ntempo 100\nR1 C5:1/4 <E5+G5>:1/4 D5:1/8 E5:1/8 F5:1/4\nL1 C2:1/4 <G3+Bb3+E4>:1/4 G1:1/4 <G3+Bb3+D4>:1/4\nchord 0 C7\nchord 1/2 G9")
	long := func(bars int) score.Score {
		s := score.Score{Tempo: one.Tempo}
		for b := range bars {
			shift := theory.Dur(b) * theory.Whole
			bar := one.Bars[0]
			bar.At, bar.Number = shift, b+1
			s.Bars = append(s.Bars, bar)
			for _, n := range one.Notes {
				n.At += shift
				n.ID = fmt.Sprint(n.ID, "-", b)
				s.Notes = append(s.Notes, n)
			}
			for _, c := range one.Chords {
				c.At += shift
				s.Chords = append(s.Chords, c)
			}
		}
		return s
	}
	took := func(bars int) time.Duration {
		s := long(bars)
		start := time.Now()
		if r := grade.Rate(s, grade.Options{}); len(r.Features) == 0 || len(r.Techniques) == 0 {
			t.Error("nothing was found")
		}
		return time.Since(start)
	}
	few, many := took(3_000), took(30_000)
	if many > 30*time.Second || many > 40*few+time.Second {
		t.Errorf("3 000 bars took %v, 30 000 bars %v", few, many)
	}
	t.Logf("3 000 bars %v, 30 000 bars %v", few, many)
}

func TestJSON(t *testing.T) {
	s := parse(t, "title A Page\nmeter 3/4\ntempo 100\nR1 C5:3/4 D5:3/4\nL1 C3:1/4 <E3+G3>:1/4 <E3+G3>:1/4 G2:1/4 <F3+B3>:1/4 <F3+B3>:1/4\nchord 0 C\nchord 3/4 G7")
	b, err := grade.Rate(s, grade.Options{Fingering: grade.ByHand(hand.Default())}).JSON()
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Version  int
		Title    string
		Rating   float64
		Scale    int `json:"scale_version"`
		Place    string
		Levels   []int
		Features []struct {
			ID, Hand, Unit, Text string
			Value, Number        float64
			Bars                 []int
		}
		Hardest    []struct{ Bars []int }
		Techniques []struct {
			ID, Name string
			Level    int
			Times    int
			Bars     []int
		}
		Problems []leadsheet.Problem
	}
	if err := json.Unmarshal(b, &got); err != nil {
		t.Fatal(err)
	}
	if got.Version != account.FormatVersion || got.Title != "A Page" || got.Rating <= 0 || got.Rating >= 100 || got.Scale != grade.ScaleVersion || got.Place == "" || got.Levels == nil || len(got.Features) != 16 || got.Problems == nil {
		t.Errorf("%+v", got)
	}
	for _, f := range got.Features {
		if f.ID == "" || f.Unit == "" || f.Text == "" || f.Number < 0 || f.Number > 100 {
			t.Errorf("%+v", f)
		}
	}
	if !slices.ContainsFunc(got.Techniques, func(f struct {
		ID, Name string
		Level    int
		Times    int
		Bars     []int
	}) bool {
		return f.ID == "broken-triad" && reflect.DeepEqual(f.Bars, []int{1})
	}) {
		t.Errorf("%+v", got.Techniques)
	}
}

// Climbs tells which steps rise and what falls.
func TestClimbs(t *testing.T) {
	rate := func(tempo int, left string) grade.Rating {
		return grade.Rate(parse(t, fmt.Sprintf("meter 4/4\ntempo %d\nR1%s\nL1%s\n", tempo, strings.Repeat(" C5:1/4 D5:1/4 E5:1/2", 8), strings.Repeat(left, 8))), grade.Options{})
	}
	rs := []grade.Rating{rate(60, " C3:1/2 E3:1/2"), rate(120, " C2:1/4 <E3+G3>:1/4 C2:1/4 <E3+G3>:1/4"), rate(60, " C3:1")}
	steps := grade.Climbs(rs)
	if len(steps) != 2 || !steps[0].Rises || steps[0].Rise <= 0 || steps[1].Rises || steps[1].Rise >= 0 {
		t.Fatalf("%+v", steps)
	}
	for _, id := range []string{"moves", "speed", "polyphony", "variety"} {
		if !slices.ContainsFunc(steps[1].Falls, func(f grade.Fall) bool {
			return f.ID == id && f.Hand == score.Left && f.To < f.From && f.Cost > 0
		}) {
			t.Errorf("%s of the left hand does not fall: %+v", id, steps[1].Falls)
		}
	}
	if grade.Climbs(rs[:1]) != nil || grade.Climbs(nil) != nil {
		t.Error("a single level has no steps")
	}
}

// What Hear names is compared with the chords printed on our own pages, which it
// does not see: roots mostly, thirds nearly always.
func TestHear(t *testing.T) {
	_, all := sampled(t)
	var n, root, third int
	for _, as := range all {
		for _, a := range as {
			if a.Level.Number != 1 && a.Level.Number != 5 {
				continue
			}
			bare := a.Score
			bare.Chords = nil
			heard := bare
			heard.Chords = grade.Hear(bare)
			for _, b := range bare.Bars {
				for at := b.At; at < b.End(); at += theory.Quarter {
					p, ok := a.Score.ChordAt(at)
					if !ok || p.Chord.Silent() {
						continue
					}
					n++
					h, _ := heard.ChordAt(at)
					if h.Chord.Root.Class() == p.Chord.Root.Class() {
						root++
					}
					if d, ok := p.Chord.Third(); ok && h.Chord.HasClass(d.On(p.Chord.Root).Class()) {
						third++
					}
				}
			}
		}
	}
	t.Logf("%d quarters: root %d %%, third %d %%", n, percent(root, n), percent(third, n))
	if n < 1000 || root*100 < 75*n || third*100 < 85*n {
		t.Errorf("of %d quarters the root is heard in %d, the third in %d", n, root, third)
	}
	// By hand: I–IV–V7–I in broken triads.
	s := parse(t, "meter 4/4\ntempo 90\nL1 C3:1/4 E3:1/4 G3:1/4 E3:1/4 F3:1/4 A3:1/4 C4:1/4 A3:1/4 G3:1/4 B3:1/4 D4:1/4 F4:1/4 C3:1/4 E3:1/4 G3:1/4 E3:1/4\nR1 C5:1 A4:1 B4:1 C5:1")
	var got []string
	for _, c := range grade.Hear(s) {
		got = append(got, c.Chord.String())
	}
	if want := []string{"C", "F", "G7", "C"}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
	if grade.Hear(score.Score{}) != nil {
		t.Error("chords are heard in nothing")
	}
}

func FuzzRate(f *testing.F) {
	for seed := range uint64(8) {
		b := make([]byte, 64)
		rng := rand.New(rand.NewPCG(seed, 1))
		for i := range b {
			b[i] = byte(rng.Uint32())
		}
		f.Add(b)
	}
	f.Add([]byte{})
	f.Fuzz(func(t *testing.T, data []byte) {
		s := scoretest.Wild(data)
		opt := grade.Options{Fingering: grade.ByHand(hand.Default())}
		r := grade.Rate(s, opt)
		if r.Number < 0 || r.Number > 1000 {
			t.Fatalf("%d tenths", r.Number)
		}
		for _, x := range r.Features {
			if x.Number < 0 || x.Number > 1000 || x.Text(english) == "" {
				t.Fatalf("%+v", x)
			}
		}
		if !bytes.Equal(plain(r), plain(grade.Rate(s, opt))) {
			t.Fatal("the same score is rated differently")
		}
	})
}
