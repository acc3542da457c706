package musicxml

import (
	"bufio"
	"bytes"
	"cmp"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gradatim/internal/notate"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/score"
	"gradatim/theory"
)

// printAccidentals makes LilyPond tell where it prints accidentals, which it
// decides by itself from pitches, key and bar lines.
const printAccidentals = `#(define (tell-accidental engraver grob source)
  (let* ((p (ly:event-property (event-cause grob) 'pitch))
         (m (ly:context-current-moment (ly:translator-context engraver))))
    (format (current-error-port) "\nACC ~a ~a ~a ~a ~a\n" (grob::name grob) (ly:moment-main m)
      (ly:pitch-octave p) (ly:pitch-notename p) (ly:pitch-alteration p))))
#(define (accidental-teller context)
  (make-engraver (acknowledgers ((accidental-interface engraver grob source) (tell-accidental engraver grob source)))))
`

var chordNames = regexp.MustCompile(`(?m)^\s*\\context ChordNames.*$`)

// TestLilyPond has Debian's lilypond (2.24) read the golden scores (in CI about every
// second), and some random ones, through its musicxml2ly. Compared are what it plays,
// from its MIDI file by midicsv, and the accidentals and courtesy accidentals that it
// prints.
func TestLilyPond(t *testing.T) {
	if testing.Short() {
		t.Skip("the other program takes a minute")
	}
	convert, lily, csv := sharedtest.Tool(t, "musicxml2ly"), sharedtest.Tool(t, "lilypond"), sharedtest.Tool(t, "midicsv")
	scores := pages(t)
	maps.DeleteFunc(scores, func(name string, _ score.Score) bool { return !sharedtest.Takes(name, 2, 2) })
	for seed := range uint64(2) {
		s := scoretest.Random(rand.New(rand.NewPCG(seed, 11)))
		s.Notes = slices.DeleteFunc(s.Notes, func(n score.Note) bool { return n.Grace > 0 })
		for i := range s.Notes {
			s.Notes[i].Marks &^= score.Staccato // LilyPond plays those short
		}
		scores[fmt.Sprintf("random%d", seed)] = s
	}
	dir := t.TempDir()
	var names, files []string
	for name, s := range scores {
		if _, problems := notate.Of(s); len(problems) == 0 {
			names = append(names, name)
		}
	}
	slices.Sort(names)
	for _, name := range names {
		data, err := Write(scores[name])
		if err != nil {
			t.Fatal(err)
		}
		in, out := filepath.Join(dir, name+".musicxml"), filepath.Join(dir, name+".ly")
		if err := os.WriteFile(in, data, 0o644); err != nil {
			t.Fatal(err)
		}
		if msg, err := exec.Command(convert, "-m", "-o", out, in).CombinedOutput(); err != nil {
			t.Fatalf("musicxml2ly %s: %v\n%s", name, err, msg)
		}
		ly, err := os.ReadFile(out)
		if err != nil {
			t.Fatal(err)
		}
		// Play as written, without the chord symbols, and tell the accidentals.
		head, midi, _ := bytes.Cut(ly, []byte(`\unfoldRepeats \articulate {`))
		ly = append(append(head, '{'), chordNames.ReplaceAll(midi, nil)...)
		ly = bytes.ReplaceAll(ly, []byte(`\layout {}`), []byte(`\layout { \context { \Staff \consists #accidental-teller } }`))
		if err := os.WriteFile(out, append([]byte(printAccidentals), ly...), 0o644); err != nil {
			t.Fatal(err)
		}
		files = append(files, out)
	}
	cmd := exec.Command(lily, append([]string{"-dno-print-pages"}, files...)...)
	cmd.Dir = dir
	log, err := cmd.CombinedOutput()
	if err != nil {
		t.Fatalf("lilypond: %v\n%s", err, log)
	}
	printed := map[string][]string{}
	name := ""
	for sc := bufio.NewScanner(bytes.NewReader(log)); sc.Scan(); {
		l := sc.Text()
		if strings.HasPrefix(l, "Processing") {
			name = strings.TrimSuffix(filepath.Base(strings.Trim(strings.Fields(l)[1], "`'")), ".ly")
		}
		if a, ok := strings.CutPrefix(l, "ACC "); ok {
			printed[name] = append(printed[name], a)
		}
	}
	for _, name := range names {
		t.Run(name, func(t *testing.T) {
			out, err := exec.Command(csv, filepath.Join(dir, name+".midi")).Output()
			if err != nil {
				t.Fatal(err)
			}
			comparePlaying(t, scores[name], string(out))
			compareAccidentals(t, scores[name], printed[name])
		})
	}
}

// played is a note in ticks of LilyPond, 384 to the quarter.
type played struct{ on, off, key int }

func readPlaying(csv string) []played {
	var out []played
	type key struct{ track, channel, key string }
	down := map[key]int{}
	for _, l := range strings.Split(csv, "\n") {
		f := strings.Split(l, ", ")
		if len(f) < 6 || !strings.HasPrefix(f[2], "Note_o") {
			continue
		}
		at, _ := strconv.Atoi(f[1])
		k := key{f[0], f[3], f[4]}
		if f[2] == "Note_on_c" && f[5] != "0" {
			down[k] = at
			continue
		}
		n, _ := strconv.Atoi(f[4])
		out = append(out, played{down[k], at, n})
	}
	return out
}

// comparePlaying: every note begins, and ends, where the score has it. Notes of
// one key that meet are let off their ends, since a MIDI file cannot tell those
// apart; so are notes before grace notes, whose time LilyPond takes from them,
// and tremolos, of which it plays the halves.
func comparePlaying(t *testing.T, s score.Score, csv string) {
	t.Helper()
	ticks := func(d theory.Dur) int { return int((d*384 + theory.Quarter/2) / theory.Quarter) }
	got := readPlaying(csv)
	extra := map[int]bool{}
	graces := false
	for _, n := range s.Notes {
		if n.Grace > 0 || n.Marks.Has(score.Hidden) || n.Ornament == score.Tremolo {
			extra[n.Pitch.MIDI()] = true
		}
		graces = graces || n.Grace > 0
	}
	near := func(a, b int) bool { return a-b <= 2 && b-a <= 2 } // 384 has no fifth and no seventh
	for _, n := range s.Notes {
		if n.Grace > 0 || n.Marks.Has(score.Hidden) || n.Ornament == score.Tremolo {
			continue
		}
		meets := graces
		for _, o := range s.Notes {
			if o.ID != n.ID && o.Pitch.MIDI() == n.Pitch.MIDI() && o.At <= n.End() && n.At <= o.End() {
				meets = true
			}
		}
		end := ticks(n.End())
		if n.Marks.Has(score.Staccato) { // LilyPond 2.24, script-init.ly: half its length
			end = ticks(n.At) + (end-ticks(n.At))/2
		}
		if !slices.ContainsFunc(got, func(p played) bool {
			return p.key == n.Pitch.MIDI() && near(p.on, ticks(n.At)) && (meets || near(p.off, end))
		}) {
			t.Errorf("%s at %s for %s is not played", n.Pitch, n.At, n.Dur)
		}
	}
	for _, p := range got {
		if !extra[p.key] && !slices.ContainsFunc(s.Notes, func(n score.Note) bool {
			return p.key == n.Pitch.MIDI() && near(p.on, ticks(n.At))
		}) {
			t.Errorf("key %d is played at tick %d, and is not in the score", p.key, p.on)
		}
	}
}

// compareAccidentals: LilyPond prints the same ones. Left out are tied notes, for
// which it makes accidentals that it hides, and lines that carry two notes at
// once, where it is content with one accidental.
func compareAccidentals(t *testing.T, s score.Score, told []string) {
	t.Helper()
	page, _ := notate.Of(s)
	type place struct {
		at             theory.Dur
		octave, letter int
	}
	type sign struct {
		place
		alter string
		kind  string
	}
	var want, got []sign
	skip := map[place]bool{}
	// Of two forms of a letter in one chord we give each its sign; the converter hands on no
	// sign that the octave does without.
	both := map[[2]int64]map[int8]bool{}
	forms := func(at theory.Dur, p theory.Pitch) map[int8]bool {
		k := [2]int64{int64(at), int64(p.Letter)}
		if both[k] == nil {
			both[k] = map[int8]bool{}
		}
		return both[k]
	}
	alters := map[place]int8{}
	alterNames := map[int8]string{-2: "-1", -1: "-1/2", 0: "0", 1: "1/2", 2: "1"}
	lineOf := func(bar notate.Bar, p theory.Pitch) place { return place{bar.At, int(p.Octave), int(p.Letter)} }
	for _, bar := range page.Bars {
		for _, v := range bar.Voices {
			for _, e := range v.Events {
				heads := slices.Clone(e.Heads)
				for _, g := range e.Graces {
					heads = append(heads, g.Heads...)
				}
				for _, h := range heads {
					at := place{e.At, int(h.Pitch.Octave), int(h.Pitch.Letter)}
					if a, ok := alters[at]; ok && a != h.Pitch.Alter {
						skip[lineOf(bar, h.Pitch)] = true
					}
					alters[at] = h.Pitch.Alter
					if !h.First || v.Hidden {
						skip[at] = true
					}
					forms(e.At, h.Pitch)[h.Pitch.Alter] = true
					kind := [...]string{"", "Accidental", "AccidentalCautionary"}[h.Accidental]
					if kind != "" {
						want = append(want, sign{at, alterNames[h.Pitch.Alter], kind})
					}
				}
			}
		}
	}
	for _, l := range told {
		f := strings.Fields(l)
		if len(f) != 5 {
			t.Fatalf("LilyPond says %q", l)
		}
		num, den, _ := strings.Cut(f[1], "/")
		n, _ := strconv.ParseInt(num, 10, 64)
		d, err := strconv.ParseInt(den, 10, 64)
		if err != nil {
			d = 1
		}
		at, _ := theory.Fraction(n, d)
		octave, _ := strconv.Atoi(f[2])
		letter, _ := strconv.Atoi(f[3])
		got = append(got, sign{place{at, octave + 4, letter}, f[4], f[0]})
	}
	usable := func(list []sign) []string {
		var out []string
		for _, x := range list {
			if len(both[[2]int64{int64(x.at), int64(x.letter)}]) > 1 {
				continue
			}
			bar := page.Bars[s.BarAt(x.at)]
			if !skip[x.place] && !skip[place{bar.At, x.octave, x.letter}] {
				out = append(out, fmt.Sprintf("%s at %s: %s%d alter %s", x.kind, x.at, theory.Letter(x.letter), x.octave, x.alter))
			}
		}
		slices.SortFunc(out, func(a, b string) int { return cmp.Compare(a, b) })
		return slices.Compact(out)
	}
	if g, w := usable(got), usable(want); !slices.Equal(g, w) {
		t.Errorf("LilyPond prints\n%s\nwe\n%s\n%s", strings.Join(g, "\n"), strings.Join(w, "\n"), page)
	}
}
