package musicxml

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"gradatim/internal/notate"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// readSeeds are the files of the goldens and the small ones of the hostile
// table, so that fuzzing never starts from nothing.
func readSeeds(f *testing.F) {
	files, err := filepath.Glob("testdata/read/*xml")
	if err != nil || len(files) < 10 {
		f.Fatal("no seeds", err)
	}
	for _, name := range files {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, h := range hostile {
		if data := h.make(f); len(data) < 4096 {
			f.Add(data)
		}
	}
}

// FuzzReadSong: a file gives a whole song or placed Problems, the same each
// time, and a song that notation can write exactly is read back as it was.
func FuzzReadSong(f *testing.F) {
	readSeeds(f)
	f.Fuzz(songProperty)
}

func songProperty(t *testing.T, data []byte) {
	s, err := ReadSong(data, Options{File: "fuzz"})
	if err != nil {
		refused(t, err)
		return
	}
	checkSong(t, s)
	if _, problems := notate.Song(s); len(problems) > 0 {
		return
	}
	if s.Melody[0].At > 0 {
		return // rests at the beginning may be read as padding
	}
	for _, b := range s.Bars[1:max(1, len(s.Bars)-1)] {
		if b.Dur < b.Meter.Bar() {
			return // a short bar between others is read as one that lacks a rest
		}
	}
	out, err := WriteSong(s)
	if err != nil {
		t.Fatal(err)
	}
	back, err := ReadSong(out, Options{File: "fuzz"})
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	if len(back.Melody) != len(s.Melody) {
		t.Fatalf("%d notes, %d before\n%s", len(back.Melody), len(s.Melody), out)
	}
	for i, n := range s.Melody {
		if g := back.Melody[i]; g.At != n.At || g.Dur != n.Dur || g.Pitch != n.Pitch {
			t.Fatalf("note %d: %+v, before %+v\n%s", i, g, n, out)
		}
	}
}

// FuzzReadScore: the same for piano scores.
func FuzzReadScore(f *testing.F) {
	readSeeds(f)
	f.Fuzz(scoreProperty)
}

func scoreProperty(t *testing.T, data []byte) {
	s, problems, err := ReadScore(data, Options{File: "fuzz"})
	if err != nil {
		refused(t, err)
		return
	}
	checkScore(t, s)
	checkProblems(t, problems)
	if _, problems := notate.Of(s); len(problems) > 0 {
		return
	}
	for _, n := range s.Notes {
		if n.Ornament == score.Tremolo {
			return // written as struck anew after a bar line
		}
	}
	out, err := Write(s)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := ReadScore(out, Options{File: "fuzz"})
	if err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	count := map[string]int{}
	for _, n := range s.Notes {
		count[heard(n)]++
	}
	for _, n := range back.Notes {
		count[heard(n)]--
	}
	var lost []string
	for k, n := range count {
		if n != 0 {
			lost = append(lost, fmt.Sprintf("%s: %+d", k, n))
		}
	}
	if slices.Sort(lost); len(lost) > 0 {
		t.Fatalf("%s\n%s", strings.Join(lost, "\n"), out)
	}
}

// heard is what of a note is heard, and by which hand.
func heard(n score.Note) string {
	return n.At.String() + " " + n.Dur.String() + " " + n.Pitch.String() + " " + n.Hand.String()
}

func refused(t *testing.T, err error) {
	t.Helper()
	ps, ok := err.(leadsheet.Problems)
	if !ok || ps.Err() == nil {
		t.Fatalf("refused with %T %v", err, err)
	}
}

// Bytes changed at random seldom stay XML; elements taken out, doubled, moved
// and given other numbers do, and reach deeper.
func TestMutations(t *testing.T) {
	files, _ := filepath.Glob("testdata/read/*xml")
	rnd := rand.New(rand.NewPCG(1, 2))
	for range 2000 / sharedtest.Every(8, 4) {
		data, err := os.ReadFile(files[rnd.IntN(len(files))])
		if err != nil {
			t.Fatal(err)
		}
		for range 1 + rnd.IntN(4) {
			data = mutate(rnd, data)
		}
		songProperty(t, data)
		scoreProperty(t, data)
		if t.Failed() {
			t.Fatalf("%s", data)
		}
	}
}

var (
	element = regexp.MustCompile(`<([a-z-]+)[^<>]*?(/>|>)`)
	number  = regexp.MustCompile(`\d+`)
)

// mutate changes one element of a file.
func mutate(rnd *rand.Rand, data []byte) []byte {
	all := element.FindAllSubmatchIndex(data, -1)
	digits := number.FindAllIndex(data, -1)
	if len(all) == 0 || len(digits) == 0 {
		return data
	}
	pick := func() (from, to int) {
		m := all[rnd.IntN(len(all))]
		from, to = m[0], m[1]
		if string(data[m[4]:m[5]]) == ">" {
			closing := []byte("</" + string(data[m[2]:m[3]]) + ">")
			if i := bytes.Index(data[to:], closing); i >= 0 {
				to += i + len(closing)
			}
		}
		return from, to
	}
	from, to := pick()
	switch rnd.IntN(4) {
	case 0: // out
		return slices.Concat(data[:from], data[to:])
	case 1: // twice
		return slices.Concat(data[:to], data[from:to], data[to:])
	case 2: // elsewhere
		at, _ := pick()
		return slices.Concat(data[:at], data[from:to], data[at:])
	}
	d := digits[rnd.IntN(len(digits))]
	other := []string{"0", "1", "2", "3", "5", "7", "-1", "0.5", "100", "1000000", "999999999999"}[rnd.IntN(11)]
	return slices.Concat(data[:d[0]], []byte(other), data[d[1]:])
}
