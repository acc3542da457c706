package teach_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"gradatim"
	"gradatim/internal/audit"
	"gradatim/internal/hand"
	"gradatim/leadsheet"
	"gradatim/theory"
)

func read(t testing.TB, abc string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read("edge.abc", []byte(abc), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

const fourBars = `"C"CDEF|"F"A2"G7"GF|"C"E2"Am"C2|"C"C4|`

// Odd tunes get a decent lesson: every level has its parts, every drill passes,
// and nothing panics.
func TestOddTunes(t *testing.T) {
	long := "X:1\nT:Long Way Round\nM:4/4\nL:1/4\nK:C\n" + strings.Repeat(fourBars, 100) + "]\n"
	flats, err := theory.ParseKey("Cb")
	if err != nil {
		t.Fatal(err)
	}
	four := "X:1\nT:Four\nM:4/4\nL:1/4\nK:C\n" + fourBars + "]\n"
	inFlats := read(t, four)
	inFlats = inFlats.Transpose(theory.NameInterval(inFlats.Key.Tonic, flats.Tonic))
	for _, tt := range []struct {
		name  string
		song  leadsheet.Song
		title string
	}{
		{"four bars", read(t, four), "Four"},
		{"400 bars", read(t, long), "Long Way Round"},
		{"one chord", read(t, "X:1\nT:Drone\nM:4/4\nL:1/4\nK:G\n\"G\"GABc|d2B2|cBAG|G4|GABc|d2B2|cBAG|G4|]\n"), "Drone"},
		{"no title", read(t, "X:1\nM:3/4\nL:1/4\nK:D\n\"D\"DFA|\"G\"B2A|\"A7\"GFE|\"D\"D3|]\n"), "Untitled"},
		{"C flat major", inFlats, "Four"},
		{"F sharp minor", read(t, "X:1\nT:Thorn\nM:4/4\nL:1/4\nK:F#m\n\"F#m\"FGAB|\"Bm\"d2\"C#7\"c2|\"F#m\"A2F2|\"C#7\"^E2C2|\"D\"D2F2|\"Bm\"B2d2|\"C#7\"c2^E2|\"F#m\"F4|]\n"), "Thorn"},
		{"no chords", read(t, "X:1\nT:Bare\nM:4/4\nL:1/4\nK:C\nCDEF|A2GF|E2C2|C4|GGAB|c2G2|FEDB,|C4|]\n"), "Bare"},
		{"twelve eight", read(t, "X:1\nT:Slow Wheel\nM:12/8\nL:1/8\nK:Eb\n\"Eb\"E3G3B3G3|\"Ab\"A3c3A3F3|\"Bb7\"F3A3D3F3|\"Eb\"E6E6|]\n"), "Slow Wheel"},
		{"cut time", read(t, "X:1\nT:Cut\nM:2/2\nL:1/4\nK:F\n\"F\"F2A2|\"Bb\"B2d2|\"C7\"c2B2|\"F\"A4|\"Gm\"G2B2|\"C7\"E2G2|\"F\"F4|\"F\"F4|]\n"), "Cut"},
		{"two four", read(t, "X:1\nT:Two\nM:2/4\nL:1/8\nK:A\n\"A\"A2c2|\"D\"d2f2|\"E7\"e2d2|\"A\"c4|\"F#m\"c2A2|\"Bm\"B2d2|\"E7\"G2B2|\"A\"A4|]\n"), "Two"},
		{"title in another script", read(t, "X:1\nT:"+strings.Repeat("песня ", 33)+"\nM:4/4\nL:1/4\nK:C\n"+fourBars+"]\n"), strings.TrimSpace(strings.Repeat("песня ", 33))},
	} {
		t.Run(tt.name, func(t *testing.T) {
			in := inputOf(t, tt.song)
			l := prepare(t, in)
			if l.Title != tt.title || len(l.Levels) != 5 {
				t.Fatalf("%q with %d levels", l.Title, len(l.Levels))
			}
			for _, v := range l.Levels {
				if len(v.Bring) == 0 || len(v.Chords) == 0 || len(v.Plan.Phrases) == 0 || len(v.Talk) == 0 || len(v.Changes) == 0 {
					t.Errorf("level %d: %d bring, %d chords, %d phrases, %d talk, %d changes", v.Number, len(v.Bring), len(v.Chords), len(v.Plan.Phrases), len(v.Talk), len(v.Changes))
				}
				if v.Number < 4 && (len(v.New) == 0 || len(v.Drills) == 0) {
					t.Errorf("level %d: %d new, %d drills", v.Number, len(v.New), len(v.Drills))
				}
				for _, d := range v.Drills {
					checkDrill(t, in.Hand, d)
				}
				for _, n := range v.New {
					if w := len(strings.Fields(n.Example.Why)); w == 0 || w > 40 {
						t.Errorf("level %d, %s: %d words: %s", v.Number, n.Technique, w, n.Example.Why)
					}
				}
			}
			if text := textOf(l); strings.Contains(text, "%!") {
				t.Error("a format went wrong")
			}
			if _, err := json.Marshal(l); err != nil {
				t.Error(err)
			}
		})
	}
}

// A ladder that begins above level 1 teaches what its first page uses, and an
// empty one gives an empty lesson.
func TestShortLadders(t *testing.T) {
	in, _ := lessonOf(t, "lantern")
	in.Pages = in.Pages[2:]
	l := prepare(t, in)
	if len(l.Levels) != 3 || l.Levels[0].Below != "the sheet" || len(l.Levels[0].Given) != 0 {
		t.Errorf("%d levels, first from %s with %d known", len(l.Levels), l.Levels[0].Below, len(l.Levels[0].Given))
	}
	taught := map[string]bool{}
	for _, n := range l.Levels[0].New {
		taught[n.Technique] = true
	}
	for _, want := range []string{"anticipation", "root-then-guides", "comping"} {
		if !taught[want] {
			t.Errorf("a ladder from level 3 does not teach %s there", want)
		}
	}
	in.Pages = nil
	if l := prepare(t, in); len(l.Levels) != 0 || l.Title == "" {
		t.Errorf("%+v", l)
	}
}

// A hand that reaches an octave gets no drill wider than that.
func TestSmallHand(t *testing.T) {
	in, _ := lessonOf(t, "lantern")
	small, err := hand.ParseProfile("octave")
	if err != nil {
		t.Fatal(err)
	}
	in.Hand = small
	for _, v := range prepare(t, in).Levels {
		for _, d := range v.Drills {
			for _, p := range audit.Check(d.Music.Score, audit.Options{Hand: small}) {
				t.Errorf("level %d, %s: %s", v.Number, d.Name, p.Problem)
			}
		}
	}
}

func BenchmarkPrepare(b *testing.B) {
	for _, bars := range []int{32, 400} {
		if testing.Short() && bars > 32 {
			continue
		}
		abc := "X:1\nT:Long\nM:4/4\nL:1/4\nK:C\n" + strings.Repeat(fourBars, bars/4) + "]\n"
		in := inputOf(b, read(b, abc))
		b.Run(fmt.Sprintf("bars=%d/levels=5", bars), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				prepare(b, in)
			}
		})
	}
}
