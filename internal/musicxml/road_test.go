package musicxml_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/musicxml"
	"gradatim/internal/scoretest"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

var one, two = leadsheet.PassesOf(1), leadsheet.PassesOf(2)

// roads are signs that bars may have, by name.
var roads = map[string][8]leadsheet.Signs{
	"repeat":        {1: {Start: true}, 4: {Times: 2}},
	"three times":   {3: {Times: 3}},
	"endings":       {0: {Start: false}, 3: {Ending: one, EndingOpens: true, Times: 2}, 4: {Ending: two, EndingOpens: true}},
	"long endings":  {2: {Start: true}, 4: {Ending: leadsheet.PassesOf(1, 2), EndingOpens: true}, 5: {Ending: leadsheet.PassesOf(1, 2), Times: 3}, 6: {Ending: leadsheet.PassesOf(3), EndingOpens: true}, 7: {Ending: leadsheet.PassesOf(3)}},
	"two repeats":   {1: {Times: 2}, 2: {Start: true}, 7: {Times: 2}},
	"back to Fine":  {3: {Fine: true}, 7: {DaCapo: true}},
	"sign and coda": {1: {Segno: true}, 3: {ToCoda: true}, 5: {DalSegno: true}, 6: {Coda: true}},
}

func road(signs [8]leadsheet.Signs) score.Score {
	s := scoretest.MustParse("meter 4/4\nbars 8\nR1 C5:8\nL1 C3:1 C3:1 C3:1 C3:1 C3:1 C3:1 C3:1 C3:1")
	for i := range s.Bars {
		s.Bars[i].Signs = signs[i]
	}
	return s
}

// What a page says of the order of playing is read back as it was written.
func TestSignsRoundTrip(t *testing.T) {
	for name, signs := range roads {
		s := road(signs)
		data, err := musicxml.Write(s)
		if err != nil {
			t.Fatal(err)
		}
		back, told, err := musicxml.ReadScore(data, musicxml.Options{})
		if err != nil || len(told) > 0 {
			t.Fatal(name, err, told)
		}
		for i, b := range back.Bars {
			if b.Signs != signs[i] {
				t.Errorf("%s, bar %d: %+v, was %+v", name, i+1, b.Signs, signs[i])
			}
		}
		again, err := musicxml.Write(back)
		if err != nil || string(again) != string(data) {
			t.Errorf("%s: written again it is another file (%v)", name, err)
		}
	}
}

// TestSignsValid holds pages with signs to the XSD of MusicXML 4.0.
func TestSignsValid(t *testing.T) {
	lint, dir := sharedtest.Tool(t, "xmllint"), t.TempDir()
	args := []string{"--noout", "--nonet", "--schema", musicxml.Schema(t)}
	for name, signs := range roads {
		data, err := musicxml.Write(road(signs))
		if err != nil {
			t.Fatal(err)
		}
		file := filepath.Join(dir, strings.ReplaceAll(name, " ", "-")+".musicxml")
		if err := os.WriteFile(file, data, 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, file)
	}
	if out, err := exec.Command(lint, args...).CombinedOutput(); err != nil {
		t.Errorf("%v\n%s", err, out)
	}
}
