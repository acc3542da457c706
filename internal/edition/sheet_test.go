package edition_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"gradatim"
	"gradatim/internal/audit"
	"gradatim/internal/choice"
	"gradatim/internal/edition"
	"gradatim/internal/hand"
	"gradatim/internal/idiom"
	"gradatim/internal/ladder"
	"gradatim/internal/musicxml"
	"gradatim/internal/roadmap"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

func played(a edition.Page) score.Score {
	s, _ := a.Played()
	return s
}

// repeating is a tune whose sheet has endings, then a repeat; each letter of its bars is
// a quarter.
const repeating = "X:1\nT:Twice\nM:4/4\nL:1/4\nK:C\n" +
	`|: "C"CDEG | "F"AGFE | "C"EDCE |1 "G"D4 :|2 "C"C4 |: "F"FGAc | "C"GEGc | "G"dBGB | "C"c4 :|` + "\n"

func sheetOf(t *testing.T, text string) leadsheet.Song {
	t.Helper()
	s, err := gradatim.Read("twice.abc", []byte(text), 0)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func made(t *testing.T, song leadsheet.Song, opt edition.Options) []edition.Page {
	t.Helper()
	as, err := edition.Make(context.Background(), song, opt)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range as {
		if a.Failed {
			t.Fatalf("level %d: %v", a.Level.Number, a.Problems)
		}
	}
	return as
}

// Levels 1 and 2 print once what is repeated, in some kinds of tune 3 and 4 as well, the
// others write it out, and either way on request. A page that slows down has one bar more
// for that, which a dance never does. What is played is the sheet, and each note knows
// which of the tune it is.
func TestRepeatsPrinted(t *testing.T) {
	song := sheetOf(t, repeating)
	for _, tt := range []struct {
		kind string
		how  edition.Repeats
		bars []int
	}{
		{"ballad", edition.RepeatsByLevel, []int{10, 11, 16, 16, 16}},
		{"folk-song", edition.RepeatsByLevel, []int{10, 11, 11, 11, 16}},
		{"reel", edition.RepeatsByLevel, []int{10, 10, 10, 10, 16}},
		{"ballad", edition.RepeatsFolded, []int{10, 11, 11, 11, 11}},
		{"reel", edition.RepeatsFolded, []int{10, 10, 10, 10, 10}},
		{"folk-song", edition.RepeatsWritten, []int{16, 16, 16, 16, 16}},
	} {
		var bars []int
		for _, a := range made(t, song, edition.Options{Idiom: tt.kind, Manner: idiom.Stay, Repeats: tt.how, Introduction: idiom.NoLength, Ending: idiom.NoLength}) {
			bars = append(bars, len(a.Score.Bars))
			if a.Score.Repeats() != (len(a.Score.Bars) < 16) {
				t.Errorf("level %d: repeat signs: %t", a.Level.Number, a.Score.Repeats())
			}
			s, as := a.Played()
			if s.End() != song.End() || len(as.Melody) != len(song.Melody) {
				t.Errorf("level %d: %d notes to %s as played", a.Level.Number, len(as.Melody), s.End())
			}
			next := 0
			for _, n := range s.Notes {
				if e, ok := n.Origin.Event(); ok && n.Origin.Kind == score.Melody {
					if e != next || n.Pitch.Name != song.Melody[e].Pitch.Name {
						t.Fatalf("level %d: %s in bar %d is note %d of the tune, want %d", a.Level.Number, n.ID, s.PosAt(n.At).Bar, e, next)
					}
					next++
				}
			}
			if found := audit.Check(a.Score, audit.Options{Song: &song}); len(found) > 0 {
				t.Errorf("level %d: %v", a.Level.Number, found)
			}
		}
		if !slices.Equal(bars, tt.bars) {
			t.Errorf("%s, repeats %d: %v bars, want %v", tt.kind, tt.how, bars, tt.bars)
		}
	}
}

// A dance ends in time at every level, another tune slows down and holds its last chord
// from level 2 on.
func TestEndsInTime(t *testing.T) {
	song := sheetOf(t, repeating)
	for kind, lingers := range map[string]bool{"reel": false, "jig": false, "march": false, "folk-song": true, "waltz": true} {
		for _, a := range made(t, song, edition.Options{Idiom: kind}) {
			slows := slices.ContainsFunc(a.Score.Directions, func(d score.Direction) bool { return d.Text == "rit." })
			holds := slices.ContainsFunc(a.Score.Notes, func(n score.Note) bool { return n.Marks.Has(score.Fermata) })
			if slows != (lingers && a.Level.Number > 1) || holds != lingers {
				t.Errorf("%s, level %d: slows down: %t, holds: %t", kind, a.Level.Number, slows, holds)
			}
		}
	}
}

// A choice for a bar that is printed once holds there; one for another time through has
// no place, and that is told.
func TestChoicesOnFoldedPages(t *testing.T) {
	song := sheetOf(t, repeating)
	page := func(text string) edition.Page {
		cs, _, err := choice.Parse("choices.toml", []byte("version = 2\n"+text), song, ladder.Levels(), nil)
		if err != nil {
			t.Fatal(err)
		}
		return made(t, song, edition.Options{Levels: ladder.Levels()[:1], Choices: cs})[0]
	}
	chordAt := func(a edition.Page, bar int) string {
		sym, _ := a.Score.ChordAt(theory.Dur(bar-1) * theory.Whole)
		return sym.Chord.String()
	}
	each := page("[[choice]]\nlevel = 1\nbar = 7\nchord = \"Am\"\n")
	if got := chordAt(each, 7); got != "Am" || count(each, "choice-folded") != 0 {
		t.Errorf("bar 7 is over %s, %v", got, each.Problems)
	}
	later := page("[[choice]]\nlevel = 1\nbar = 7\npass = 2\nchord = \"Am\"\n")
	if got := chordAt(later, 7); got != "C" || count(later, "choice-folded") != 1 {
		t.Errorf("bar 7 is over %s, %v", got, later.Problems)
	}
}

func count(a edition.Page, code string) int {
	n := 0
	for _, p := range a.Problems {
		if p.Code == code {
			n++
		}
	}
	return n
}

// A page of every shared sheet that folds is read back from its file as it was, and what
// is written out again is the tune of the sheet.
func TestFoldedPagesReadBack(t *testing.T) {
	files, err := filepath.Glob(filepath.Join(sharedtest.Path(t, "data/leadsheets"), "*", "*.abc"))
	if err != nil || len(files) < 50 {
		t.Fatal(len(files), err)
	}
	folded := 0
	for i, f := range files {
		if i%8 != 0 {
			continue
		}
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		song, err := gradatim.Read(filepath.Base(f), data, 0)
		if err != nil {
			continue
		}
		if _, ok := roadmap.Fold(song, 0); !ok {
			continue
		}
		folded++
		a := made(t, song, edition.Options{Levels: ladder.Levels()[:1]})[0]
		back := readBack(t, a.Score)
		for i, b := range back.Bars {
			if b.Signs != a.Score.Bars[i].Signs {
				t.Errorf("%s, bar %d: %+v, was %+v", f, b.Number, b.Signs, a.Score.Bars[i].Signs)
			}
		}
		if found := audit.Check(back, audit.Options{Song: &song}); len(found) > 0 {
			t.Errorf("%s: %v", f, found[0])
		}
	}
	if folded < 5 {
		t.Errorf("%d sheets fold", folded)
	}
}

func readBack(t *testing.T, s score.Score) score.Score {
	t.Helper()
	data, err := musicxml.Write(s)
	if err != nil {
		t.Fatal(err)
	}
	back, _, err := gradatim.ReadScore("page.musicxml", data)
	if err != nil {
		t.Fatal(err)
	}
	return back
}

// A lesson sees each page as it is played, with every chord decided on once at a time.
func TestLessonOfFoldedPages(t *testing.T) {
	song := sheetOf(t, repeating)
	in := edition.Lesson(t.Context(), made(t, song, edition.Options{}), hand.Default())
	if in.Song.End() != song.End() {
		t.Fatalf("the lesson's tune ends at %s", in.Song.End())
	}
	for _, p := range in.Pages {
		if p.Score.End() != song.End() {
			t.Errorf("level %d: the page ends at %s", p.Level.Number, p.Score.End())
		}
		at := theory.Dur(0)
		for _, c := range p.Decisions {
			if c.At != at || c.End <= c.At || len(c.Chords) == 0 || c.Chords[0].At != c.At || c.Chords[len(c.Chords)-1].End != c.End {
				t.Errorf("level %d: %+v after %s", p.Level.Number, c, at)
			}
			at = c.End
		}
		if at != song.End() {
			t.Errorf("level %d: chords decided to %s", p.Level.Number, at)
		}
	}
}
