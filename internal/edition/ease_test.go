package edition_test

import (
	"slices"
	"strings"
	"testing"

	"gradatim/internal/audit"
	"gradatim/internal/edition"
	"gradatim/internal/harmony"
	"gradatim/internal/ladder"
	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Level 1 has the dotted pairs of a tune in eighths, says so, and is judged by the sheet's
// own rhythm with a sixteenth to spare; without it, or with the written rhythm asked for,
// nothing has moved.
func TestEasedRhythm(t *testing.T) {
	song := load(t, song(t, "wexford_carol"))
	opt := edition.Options{Levels: ladder.Levels()[:2], Repeats: edition.RepeatsWritten}
	pages := made(t, song, opt)
	if count(pages[0], "tune-eased") != 1 || count(pages[1], "tune-eased") != 0 {
		t.Errorf("levels 1 and 2 tell %d and %d times of an easier rhythm, want once and never", count(pages[0], "tune-eased"), count(pages[1], "tune-eased"))
	}
	off := func(ns []leadsheet.Note) (k int) {
		for _, n := range ns {
			if n.At%theory.Eighth != 0 {
				k++
			}
		}
		return k
	}
	if was, now := off(song.Melody), off(pages[0].Song.Melody); 2*now > was || off(pages[1].Song.Melody) != was {
		t.Errorf("%d notes stand between eighths, of %d on the sheet", now, was)
	}
	codes := func(s edition.Page, moves theory.Dur) (out []string) {
		law := song
		law.Chords = s.Song.Chords
		for _, v := range audit.Check(s.Score, audit.Options{Song: &law, Moves: moves}) {
			out = append(out, v.Code)
		}
		return out
	}
	if found := codes(pages[0], theory.Sixteenth); len(found) > 0 {
		t.Errorf("with a sixteenth to spare: %v", found)
	}
	if found := codes(pages[0], 0); !slices.Contains(found, "melody-missing") {
		t.Errorf("without it: %v, want melody-missing", found)
	}
	opt.WrittenRhythm = true
	page := made(t, song, opt)[0]
	if found := codes(page, 0); len(found) > 0 || count(page, "tune-eased") > 0 {
		t.Errorf("with the rhythm of the sheet: %v", found)
	}
}

// song is the path of a sheet of the corpus by its name.
func song(t *testing.T, name string) string {
	t.Helper()
	all := sharedtest.Sheets(t)
	i := slices.IndexFunc(all, func(p string) bool { return p[len(p)-4-len(name):len(p)-4] == name })
	if i < 0 {
		t.Fatalf("no sheet %s", name)
	}
	return all[i]
}

// Levels 1 and 2 begin with the root, or the printed bass, of their first chord as the left
// hand's lowest note; a thirtieth of the sheets.
func TestOpensOnTheRoot(t *testing.T) {
	for i, path := range sharedtest.Sheets(t) {
		if i%30 != 4 {
			continue
		}
		for _, a := range made(t, load(t, path), edition.Options{Levels: ladder.Levels()[:2]}) {
			first := score.Note{At: 1 << 62}
			for _, n := range a.Score.Notes {
				if n.Hand == score.Left && n.Grace == 0 && (n.At < first.At || n.At == first.At && n.Pitch.MIDI() < first.Pitch.MIDI()) {
					first = n
				}
			}
			if c, ok := a.Score.ChordAt(first.At); ok && c.Chord.Lowest().Class() != first.Pitch.Class() {
				t.Errorf("%s, level %d: begins with %s under %s", path, a.Level.Number, first.Pitch, c.Chord)
			}
		}
	}
}

// A level that is asked for the tune in outline has fewer notes of it, says so under its title
// and to its reader, and is judged by the outline; by the whole tune notes are missing. The
// levels above have every note, and a beginner's level that was not asked tells of it.
func TestOutline(t *testing.T) {
	song := load(t, song(t, "ot_red_haired_boy"))
	opt := edition.Options{Levels: ladder.Levels()[:3], Outline: []int{1}, Repeats: edition.RepeatsWritten}
	pages := made(t, song, opt)
	if a, b := len(pages[0].Song.Melody), len(pages[2].Song.Melody); 4*a > 3*b || b != len(song.Melody) {
		t.Errorf("level 1 has %d notes of the tune, level 3 %d of %d", a, b, len(song.Melody))
	}
	if count(pages[0], "tune-outline") != 1 || count(pages[1], "tune-outline") != 0 || !strings.Contains(pages[0].Score.Subtitle, "outline") {
		t.Errorf("what is told: %v, under %q", pages[0].Problems, pages[0].Score.Subtitle)
	}
	missing := func(law leadsheet.Song) (n int) {
		law.Chords = pages[0].Song.Chords
		for _, v := range audit.Check(pages[0].Score, audit.Options{Song: &law}) {
			if v.Code == "melody-missing" {
				n++
			} else {
				t.Errorf("%v", v)
			}
		}
		return n
	}
	law, _ := edition.Outline(song, harmony.Analyse(song), ladder.Levels()[0])
	if missing(law) > 0 || missing(song) == 0 {
		t.Errorf("%d notes of the outline are missing, %d of the tune", missing(law), missing(song))
	}
	opt.Outline = nil
	if page := made(t, song, opt)[0]; count(page, "tune-runs") != 1 || len(page.Song.Melody) != len(song.Melody) {
		t.Errorf("unasked: %d notes, %v", len(page.Song.Melody), page.Problems)
	}
}
