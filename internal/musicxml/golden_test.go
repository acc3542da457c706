package musicxml

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

var updateRead = flag.Bool("update-read", false, "write what was read into testdata/read")

// The files of testdata/read are of our own invention. Each is read as a song
// and as a score, and what was understood stands beside it.
func TestGoldenRead(t *testing.T) {
	files, err := filepath.Glob("testdata/read/*xml")
	if err != nil || len(files) < 10 {
		t.Fatal(err, len(files))
	}
	seen := map[string]bool{}
	for _, f := range files {
		name := filepath.Base(f)
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		t.Run(name, func(t *testing.T) {
			var b strings.Builder
			song, err := ReadSong(data, Options{File: name})
			if err != nil {
				fmt.Fprintf(&b, "no song:\n%s\n", words.Must("en").Err(err))
			} else {
				checkSong(t, song)
				dumpSong(&b, song)
			}
			b.WriteString("\n")
			sc, problems, err := ReadScore(data, Options{File: name})
			if err != nil {
				fmt.Fprintf(&b, "no score:\n%s\n", words.Must("en").Err(err))
			} else {
				checkScore(t, sc)
				dumpScore(&b, sc, problems)
			}
			compareGolden(t, f+".golden", b.String())
		})
		seen[f+".golden"] = true
	}
	goldens, _ := filepath.Glob("testdata/read/*.golden")
	for _, g := range goldens {
		if !seen[g] {
			t.Errorf("%s belongs to no file", g)
		}
	}
}

func compareGolden(t *testing.T, path, got string) {
	t.Helper()
	if *updateRead {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
		return
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err, "(run with -update-read)")
	}
	if got != string(want) {
		g, w := strings.Split(got, "\n"), strings.Split(string(want), "\n")
		for i := range max(len(g), len(w)) {
			a, b := "", ""
			if i < len(g) {
				a = g[i]
			}
			if i < len(w) {
				b = w[i]
			}
			if a != b {
				t.Fatalf("%s:%d\n got %s\nwant %s", path, i+1, a, b)
			}
		}
	}
}

// dumpSong writes a song bar by bar.
func dumpSong(b *strings.Builder, s leadsheet.Song) {
	fmt.Fprintf(b, "song %q, %s (declared %v), %s (declared %v), tempo %s=%d %q, feel %s, rhythm %q, form %q\n",
		s.Title, s.Key, s.KeyDeclared, s.Meter, s.MeterDeclared, s.Tempo.Beat, s.Tempo.PerMinute, s.Tempo.Words, s.Feel, s.Rhythm, s.Form)
	fmt.Fprintf(b, "rights %v %v %q %q\n", s.Rights.Composers, s.Rights.Lyricists, s.Rights.Text, s.Notes)
	n, c := 0, 0
	for _, bar := range s.Bars {
		fmt.Fprintf(b, "bar %d %s %s %s", bar.Number, bar.Meter, bar.Key, bar.Dur)
		if bar.Pickup {
			b.WriteString(" pick-up")
		}
		if bar.Section != "" {
			fmt.Fprintf(b, " section %s", bar.Section)
		}
		fmt.Fprintf(b, " (written %d, line %d)\n ", bar.Written, bar.Line)
		for ; c < len(s.Chords) && s.Chords[c].At < bar.End(); c++ {
			m := s.Chords[c]
			fmt.Fprintf(b, " [%s %s=%s", m.At-bar.At, m.Text, m.Chord)
			if m.Unknown {
				b.WriteString(" unknown")
			}
			if m.Optional {
				b.WriteString(" optional")
			}
			b.WriteString("]")
		}
		for ; n < len(s.Melody) && s.Melody[n].At < bar.End(); n++ {
			m := s.Melody[n]
			for _, g := range m.Graces {
				fmt.Fprintf(b, " (%s)", g)
			}
			fmt.Fprintf(b, " %s@%s/%s", m.Pitch, m.At-bar.At, m.Dur)
			for _, y := range m.Sung {
				fmt.Fprintf(b, " %d:%q", y.Verse, y.String())
			}
		}
		b.WriteString("\n")
	}
	for _, p := range words.Must("en").Problems(s.Problems) {
		fmt.Fprintf(b, "%s\n", p)
	}
}

// dumpScore writes a score bar by bar.
func dumpScore(b *strings.Builder, s score.Score, problems leadsheet.Problems) {
	fmt.Fprintf(b, "score %q %q, composer %q, arranger %q, rights %q, level %d %q, tempo %s=%d %q, feel %s %d:%d\n", s.Title, s.Subtitle, s.Composer,
		s.Arranger, s.Rights, s.Level, s.LevelName, s.Tempo.Beat, s.Tempo.PerMinute, s.Tempo.Words, s.Feel, s.Swing.First, s.Swing.Second)
	n, c, d := 0, 0, 0
	for i, bar := range s.Bars {
		fmt.Fprintf(b, "bar %d %s %s %s", bar.Number, bar.Meter, bar.Key, bar.Dur)
		if bar.Pickup {
			b.WriteString(" pick-up")
		}
		if bar.Section != "" {
			fmt.Fprintf(b, " section %s", bar.Section)
		}
		if bar.LineBreak {
			b.WriteString(" new line")
		}
		b.WriteString("\n")
		last := i == len(s.Bars)-1
		for ; c < len(s.Chords) && (last || s.Chords[c].At < bar.End()); c++ {
			fmt.Fprintf(b, "  %s chord %s %q\n", s.Chords[c].At-bar.At, s.Chords[c].Chord, s.Chords[c].Text)
		}
		for ; d < len(s.Directions) && (last || s.Directions[d].At < bar.End()); d++ {
			x := s.Directions[d]
			fmt.Fprintf(b, "  %s direction %d %s %q\n", x.At-bar.At, x.Kind, x.Hand, x.Text)
		}
		for ; n < len(s.Notes) && (last || s.Notes[n].At < bar.End()); n++ {
			x := s.Notes[n]
			fmt.Fprintf(b, "  %s %s %s%d %s/%s", x.At-bar.At, x.ID, x.Hand, x.Voice, x.Pitch, x.Dur)
			if x.Staff != 0 {
				fmt.Fprintf(b, " on %s staff", x.Staff)
			}
			for _, f := range []struct {
				name string
				v    int
			}{{"grace", int(x.Grace)}, {"finger", int(x.Finger)}, {"to", int(x.FingerTo)}, {"marks", int(x.Marks)}, {"ornament", int(x.Ornament)}, {"velocity", int(x.Velocity)}} {
				if f.v != 0 {
					fmt.Fprintf(b, " %s %d", f.name, f.v)
				}
			}
			b.WriteString("\n")
		}
	}
	for _, p := range words.Must("en").Problems(problems) {
		fmt.Fprintf(b, "%s\n", p)
	}
}
