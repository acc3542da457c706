package musicxml

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/musicxml/markup"
	"gradatim/internal/sharedtest"
	"gradatim/theory"
)

// struck is a note of a MIDI file, its place in our units.
type struck struct {
	at  theory.Dur
	key int
}

// Every melody note of some sheets, with repeats and endings played out, and
// every chord symbol's notes, against musicxml2ly and LilyPond (Debian
// lilypond): two programs that share no code with ours read the same file and
// play it. Of a chord the pitch classes are compared; LilyPond 2.24 plays a triad
// as musicxml2ly writes it (f:5) without its third, so of a triad only root,
// fifth and bass tell. Lengths are not: its
// articulation shortens them. (A short first bar that is not marked implicit is
// filled up by musicxml2ly, so sheets with one are not among them.)
func TestSheetsAsLilyPondPlaysThem(t *testing.T) {
	if testing.Short() {
		t.Skip("the other program takes a minute")
	}
	ly, lilypond, midicsv := sharedtest.Tool(t, "musicxml2ly"), sharedtest.Tool(t, "lilypond"), sharedtest.Tool(t, "midicsv")
	dir := sharedtest.Path(t, "data/leadsheets/openewld")
	tmp := t.TempDir()
	sheets := []struct {
		name   string
		notes  int  // at least
		chords bool // comparable: not stacked over one note, nor lost at repeats by musicxml2ly
	}{
		{"funiculi_funicula", 120, true},        // padded pick-up, 6/8, ties
		{"annie_laurie", 50, true},              // dotted notes
		{"american_patrol", 130, true},          // padded pick-up, triplets
		{"carolina_in_the_morning", 250, false}, // repeat with endings
		{"school_days", 250, false},             // a repeat from the beginning
		{"reverie", 150, true},                  // ties, slash chords
	}
	args := []string{"-dno-point-and-click", "--loglevel=ERROR"}
	for _, sh := range sheets {
		data, err := os.ReadFile(filepath.Join(dir, sh.name+".mxl"))
		if err != nil {
			t.Fatal(err)
		}
		args = append(args, forLilyPond(t, ly, tmp, sh.name, data))
	}
	cmd := exec.Command(lilypond, args...)
	cmd.Dir = tmp
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	for _, sh := range sheets {
		t.Run(sh.name, func(t *testing.T) {
			csv, err := exec.Command(midicsv, filepath.Join(tmp, sh.name+".midi")).Output()
			if err != nil {
				t.Fatal(err)
			}
			tune, chords := midiTracks(t, string(csv))
			data, err := os.ReadFile(filepath.Join(dir, sh.name+".mxl"))
			if err != nil {
				t.Fatal(err)
			}
			s, err := ReadSong(data, Options{File: sh.name})
			if err != nil {
				t.Fatal(err)
			}
			if len(s.Melody) < sh.notes || len(s.Melody) != len(tune) {
				t.Fatalf("%d notes, LilyPond plays %d, at least %d expected", len(s.Melody), len(tune), sh.notes)
			}
			shift := s.Melody[0].At - tune[0].at
			for i, n := range s.Melody {
				want := struck{tune[i].at + shift, tune[i].key}
				if got := (struck{n.At, n.Pitch.MIDI()}); got != want {
					t.Fatalf("note %d: %v, LilyPond %v", i, got, want)
				}
			}
			if !sh.chords {
				return
			}
			sounding := map[theory.Dur][]int{}
			for _, n := range chords {
				sounding[n.at+shift] = append(sounding[n.at+shift], n.key%12)
			}
			compared := 0
			for i, c := range s.Chords {
				if c.Chord.Silent() {
					continue
				}
				keys, ok := sounding[c.At]
				if !ok { // LilyPond does not strike a chord again that goes on
					if i == 0 || s.Chords[i-1].Chord != c.Chord {
						t.Errorf("chord %s at %s: none in LilyPond", c.Text, c.At)
					}
					continue
				}
				slices.Sort(keys)
				keys = slices.Compact(keys)
				third := -1
				if d, ok := c.Chord.Third(); ok && c.Chord.Tones == c.Chord.Triad().Tones {
					third = d.On(c.Chord.Root).Class()
				}
				keys = slices.DeleteFunc(keys, func(k int) bool { return k == third })
				var ours []int
				for class := range 12 {
					if class != third && c.Chord.HasClass(class) {
						ours = append(ours, class)
					}
				}
				compared++
				if got, want := fmt.Sprint(ours), fmt.Sprint(keys); got != want {
					t.Errorf("chord %s at %s: %s, LilyPond %s", c.Text, c.At, got, want)
				}
			}
			if compared < 10 {
				t.Errorf("only %d chords compared", compared)
			}
			t.Logf("%d notes, %d chords agree", len(s.Melody), compared)
		})
	}
}

// Two piano parts, struck note by struck note, against the same programs: ties,
// voices, chords, triplets, a pick-up. (Parts with grace notes, arpeggios or
// ornaments are not compared: LilyPond plays them.)
func TestPianoPartsAsLilyPondPlaysThem(t *testing.T) {
	if testing.Short() {
		t.Skip("the other program takes a minute")
	}
	ly, lilypond, midicsv := sharedtest.Tool(t, "musicxml2ly"), sharedtest.Tool(t, "lilypond"), sharedtest.Tool(t, "midicsv")
	dir := sharedtest.Path(t, "data/accompaniment_cc0")
	tmp := t.TempDir()
	names := []string{"hensel_1_das_heimweh_lc6022316", "brahms_4_nachklang_lc5058194"}
	args := []string{"-dno-point-and-click", "--loglevel=ERROR"}
	for _, name := range names {
		data, err := os.ReadFile(filepath.Join(dir, name+".mxl"))
		if err != nil {
			t.Fatal(err)
		}
		args = append(args, forLilyPond(t, ly, tmp, name, data))
	}
	cmd := exec.Command(lilypond, args...)
	cmd.Dir = tmp
	if b, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			csv, err := exec.Command(midicsv, filepath.Join(tmp, name+".midi")).Output()
			if err != nil {
				t.Fatal(err)
			}
			data, err := os.ReadFile(filepath.Join(dir, name+".mxl"))
			if err != nil {
				t.Fatal(err)
			}
			s, _, err := ReadScore(data, Options{File: name})
			if err != nil {
				t.Fatal(err)
			}
			var pianoOnly []string // the voice is the first part
			voice := ""
			for _, line := range strings.Split(string(csv), "\n") {
				f := strings.Split(line, ", ")
				if len(f) >= 4 && f[2] == "Title_t" && strings.Contains(f[3], "PartPOne") {
					voice = f[0]
				}
			}
			for _, line := range strings.Split(string(csv), "\n") {
				if voice == "" || !strings.HasPrefix(line, voice+",") {
					pianoOnly = append(pianoOnly, line)
				}
			}
			theirs, _ := midiTracks(t, strings.Join(pianoOnly, "\n"))
			var ours []struck
			for _, n := range s.Notes {
				ours = append(ours, struck{n.At, n.Pitch.MIDI()})
			}
			order := func(list []struck) []struck {
				slices.SortFunc(list, func(a, b struck) int {
					if a.at != b.at {
						return int(a.at - b.at)
					}
					return a.key - b.key
				})
				return slices.Compact(list) // a unison of two voices is one key
			}
			ours, theirs = order(ours), order(theirs)
			if len(theirs) == 0 {
				t.Fatal("LilyPond plays no piano")
			}
			late := theirs[0].at - ours[0].at // musicxml2ly lets the piano begin after the voice has ended
			for i := range theirs {
				theirs[i].at -= late
			}
			if len(ours) < 300 || !slices.Equal(ours, theirs) {
				for i := range min(len(ours), len(theirs)) {
					if ours[i] != theirs[i] {
						t.Fatalf("%d and %d struck keys; the first to differ: %v in bar %v, LilyPond %v", len(ours), len(theirs), ours[i], s.PosAt(ours[i].at), theirs[i])
					}
				}
				t.Fatalf("%d struck keys, LilyPond %d", len(ours), len(theirs))
			}
			t.Logf("%d struck keys agree", len(ours))
		})
	}
}

// forLilyPond converts a file and returns the name of the result.
func forLilyPond(t *testing.T, ly, dir, name string, data []byte) string {
	t.Helper()
	text, told := markup.Text(data)
	if told.Err() != nil {
		t.Fatal(name, told)
	}
	// musicxml2ly writes some words between the staves in a way that LilyPond cannot
	// read; no note depends on them.
	text = regexp.MustCompile(`(?s)<direction[ >].*?</direction>`).ReplaceAll(text, nil)
	in, out := filepath.Join(dir, name+".xml"), filepath.Join(dir, name+".ly")
	if err := os.WriteFile(in, text, 0o644); err != nil {
		t.Fatal(err)
	}
	if b, err := exec.Command(ly, "-m", "--nb", "-o", out, in).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, b)
	}
	src, err := os.ReadFile(out)
	if err != nil {
		t.Fatal(err)
	}
	src = bytes.ReplaceAll(src, []byte(`\layout {}`), nil) // no page is needed
	if err := os.WriteFile(out, src, 0o644); err != nil {
		t.Fatal(err)
	}
	return out
}

// midiTracks returns the notes of the tune and of the chord symbols, in order.
func midiTracks(t *testing.T, csv string) (tune, chords []struck) {
	t.Helper()
	division := 0
	symbols := map[string]bool{}
	for _, line := range strings.Split(csv, "\n") {
		f := strings.Split(line, ", ")
		switch {
		case len(f) >= 6 && f[2] == "Header":
			division, _ = strconv.Atoi(f[5])
		case len(f) >= 4 && f[2] == "Title_t":
			symbols[f[0]] = strings.Contains(f[3], "Chords")
		case len(f) >= 6 && f[2] == "Note_on_c" && f[5] != "0":
			tick, err1 := strconv.Atoi(f[1])
			key, err2 := strconv.Atoi(f[4])
			if err1 != nil || err2 != nil || division == 0 {
				t.Fatalf("bad line %q", line)
			}
			n := struck{theory.Dur(tick) * theory.Quarter / theory.Dur(division), key}
			if symbols[f[0]] {
				chords = append(chords, n)
			} else {
				tune = append(tune, n)
			}
		}
	}
	return tune, chords
}
