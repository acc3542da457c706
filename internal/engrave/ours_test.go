package engrave

import (
	"path/filepath"
	"testing"

	"gradatim/internal/abc"
	"gradatim/internal/musicxml"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
)

// Arrangements of our own tunes, as the program wrote them: in every layout
// nothing collides.
func TestArrangements(t *testing.T) {
	files, err := filepath.Glob("testdata/*.musicxml")
	if err != nil || len(files) != 5 {
		t.Fatalf("%d files, want 5 (%v)", len(files), err)
	}
	for _, f := range files {
		score := readFile(t, f)
		for _, name := range []string{"A4", "letter", "tablet, degrees", "large print"} {
			l := layouts[name]
			d := pages(t, score, l)
			for _, c := range d.collisions() {
				t.Errorf("%s, %s: %s", filepath.Base(f), name, c)
			}
		}
	}
}

// The lead sheets of our own tunes, through the reader and the writer.
func TestLeadSheets(t *testing.T) {
	tunes := []byte(readFile(t, filepath.Join(sharedtest.Path(t, "tunes"), "original.abc")))
	n := 0
	for _, h := range abc.Tunes(tunes) {
		song, err := abc.Read(tunes, abc.Options{Tune: h.Number})
		if err != nil {
			t.Fatal(err)
		}
		score, err := musicxml.WriteSong(song)
		if err != nil {
			t.Fatal(err)
		}
		n++
		for name, l := range map[string]Layout{"A4": {}, "letter": {Paper: Letter}, "tablet": {Paper: Tablet, Degrees: true}} {
			d := pages(t, string(score), l)
			for _, c := range d.collisions() {
				t.Errorf("%s, %s: %s", h.Title, name, c)
			}
			if len(d.Chords) < len(song.Chords)/2 {
				t.Errorf("%s: %d chord symbols of %d", h.Title, len(d.Chords), len(song.Chords))
			}
		}
	}
	if n != 4 {
		t.Errorf("%d tunes, want 4", n)
	}
}

// One of every sign that a score can hold, in a crowded bar or two.
func TestSigns(t *testing.T) {
	s := scoretest.MustParse(`
title Signs
meter 4/4
key Bb
section A @ 1
break @ 5
tempo 120
swing 2:1
bars 8
R1 C5:1/4*f1 D5:1/8*f2 Eb5:1/8*f3 F5:1/4*f4 D5:1/4 G5:1/4*f5 F5:1/4 Eb5:1/4*ghost D5:1/4 C5:1/2 D5:1/4*mordent Bb4:1/4*turn C5:1/1 Bb5:1/8*f5 A5:1/8 Bb5:1/8 C6:1/8 D6:1/4 F6:1/4*accent G6:1/2 F6:1/4*stacc D6:1/4*tenuto C6:1/2 <D5+F5+Bb5>:1/2*roll Bb4:1/1
L1 Bb2:1/2*f5 <Eb3+G3>:1/2 F2:1/4*f5 C3:1/4*f2 A3:1/4*f1 C3:1/4 Bb2:1/8 F3:1/8 Bb3:1/8 D4:1/8 F4:1/4 D4:1/4 <C3+Eb3+A3>:1/1 <Eb3+G3+Bb3+D4>:1/2 <E3+G3+Bb3+Db4>:1/2 F3:1/1 <F3+A3+Eb4>:1/1 <Bb2+F3+D4>:1/1
chord 0 Bbmaj7
chord 1/2 Ebmaj7
chord 1/1 Cm7
chord 3/2 F7(b9)
chord 2/1 Bb6
chord 3/1 F7alt/Eb
chord 4/1 Ebmaj9
chord 9/2 Edim7
chord 5/1 Bb/F
chord 6/1 F13(#11)
chord 7/1 N.C.
sign 0 R dynamic mp
sign 0 L pedal down
sign 1/1 L pedal up
sign 1/1 L pedal down
sign 2/1 L pedal up
`)
	score, err := musicxml.Write(s)
	if err != nil {
		t.Fatal(err)
	}
	for name, l := range layouts {
		d := pages(t, string(score), l)
		for _, c := range d.collisions() {
			t.Errorf("%s: %s", name, c)
		}
		last := ""
		for _, ts := range d.things() {
			for _, x := range ts {
				if x.kind == "chord symbol" {
					last = x.text
				}
			}
		}
		if !l.HideChords && last != "N.C." {
			t.Errorf("%s: the last symbol is %q", name, last)
		}
	}
}
