package musicxml

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// TestLilyPondRepeats has Debian's lilypond (2.24) play pages with repeats and endings,
// read by its musicxml2ly: what it plays is what Played writes out. (It reads no jumps.)
func TestLilyPondRepeats(t *testing.T) {
	convert, lily, csv := sharedtest.Tool(t, "musicxml2ly"), sharedtest.Tool(t, "lilypond"), sharedtest.Tool(t, "midicsv")
	one, two := leadsheet.PassesOf(1), leadsheet.PassesOf(2)
	dir, pages, args := t.TempDir(), map[string]score.Score{}, []string{"-dno-print-pages"}
	for name, signs := range map[string][8]leadsheet.Signs{
		"repeat":  {2: {Start: true}, 5: {Times: 2}},
		"endings": {2: {Start: true}, 4: {Ending: one, EndingOpens: true, Times: 2}, 5: {Ending: two, EndingOpens: true}},
		"two":     {1: {Start: true}, 2: {Times: 2}, 4: {Start: true}, 6: {Ending: one, EndingOpens: true, Times: 2}, 7: {Ending: two, EndingOpens: true}},
	} {
		s := scoretest.MustParse("meter 4/4\nbars 8\nR1 C5:1 D5:1 E5:1 F5:1 G5:1 A5:1 B5:1 C6:1\nL1 C3:1/2 C4:1/2 D3:1 E3:1 F3:1 G3:1 A3:1 B3:1 C3:1")
		for i := range s.Bars {
			s.Bars[i].Signs = signs[i]
		}
		data, err := Write(s)
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
		ly = chordNames.ReplaceAll(bytes.ReplaceAll(ly, []byte(`\articulate {`), []byte("{")), nil)
		if err := os.WriteFile(out, ly, 0o644); err != nil {
			t.Fatal(err)
		}
		pages[name], args = s, append(args, out)
	}
	cmd := exec.Command(lily, args...)
	cmd.Dir = dir
	if log, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("lilypond: %v\n%s", err, log)
	}
	for name, s := range pages {
		heard, err := exec.Command(csv, filepath.Join(dir, name+".midi")).Output()
		if err != nil {
			t.Fatal(err)
		}
		full, _ := s.Played()
		if full.End() <= s.End() {
			t.Fatalf("%s: nothing is repeated", name)
		}
		t.Run(name, func(t *testing.T) { comparePlaying(t, full, string(heard)) })
	}
}
