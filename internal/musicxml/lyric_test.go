package musicxml

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"gradatim/internal/sharedtest"
	"gradatim/leadsheet"
	"gradatim/score"
)

// verses writes what a song sings, a line a verse, "." where a verse has nothing.
func verses(s leadsheet.Song) string {
	var lines []string
	for v := 1; v <= s.Verses(); v++ {
		var words []string
		for _, n := range s.Melody {
			y, ok := leadsheet.In(n.Sung, v)
			if !ok {
				words = append(words, ".")
			} else {
				words = append(words, y.String())
			}
		}
		lines = append(lines, strings.Join(words, " "))
	}
	return strings.Join(lines, " / ")
}

// The lyrics files of the MusicXML test suite, by what they say that they show (Unofficial
// MusicXML test suite, shared data, files 61a to 61k). What is read is written and read
// again as the same.
func TestSuiteLyrics(t *testing.T) {
	for _, tt := range []struct{ file, want string }{
		{"61a-Lyrics.xml", "Tra- la- li Ja! . Tra- . ra! . Bah! ."},
		{"61b-MultipleLyrics.xml", "1.Tra- la- la, ja! _ Tra- . ra... / 2.tra- la- la, ja! _ Tra- . ra. / 3.TRA- LA- LA, JA! _ TRA- . RA..."},
		{"61d-Lyrics-Melisma.xml", "Me- . . . lis- ma. _"},
		{"61e-Lyrics-Chords.xml", "Ly- rics on chords"},
		{"61f-Lyrics-GracedNotes.xml", "Ly- . rics on notes with graces"},
		{"61h-Lyrics-BeamsMelismata.xml", strings.TrimSuffix(strings.Repeat("Me- . . lis- ma _ _ ", 4), " ")},
		{"61i-Lyrics-Chords.xml", "Lyrics 1 / Lyrics 2 / Lyrics 3"},
		{"61j-Lyrics-Elisions.xml", "a b c d e f g h"},
		{"61k-Lyrics-SpannersExtenders.xml", "A _ long- . . er _ _ Text _ _"},
	} {
		t.Run(tt.file, func(t *testing.T) {
			s := suiteSong(t, tt.file)
			if got := verses(s); got != tt.want {
				t.Errorf("got  %s\nwant %s", got, tt.want)
			}
			data, err := WriteSong(s)
			if err != nil {
				t.Fatal(err)
			}
			again, err := ReadSong(data, Options{})
			if err != nil {
				t.Fatal(err)
			}
			if got := verses(again); got != verses(s) {
				t.Errorf("written and read again: %s", got)
			}
		})
	}
	t.Run("61c: each staff of a piano has its own", func(t *testing.T) {
		data, err := os.ReadFile(filepath.Join(sharedtest.Path(t, "data/musicxml/testsuite/xmlFiles"), "61c-Lyrics-Pianostaff.xml"))
		if err != nil {
			t.Fatal(err)
		}
		s, _, err := ReadScore(data, Options{})
		if err != nil {
			t.Fatal(err)
		}
		var right, left []string
		for _, y := range s.Lyrics {
			if y.Hand == score.Right {
				right = append(right, y.Syllable.String())
			} else {
				left = append(left, y.Syllable.String())
			}
		}
		if got := fmt.Sprint(right, left); got != "[tra- la- li ja!] [TRA- LA- LI JA!]" {
			t.Error(got)
		}
	})
	t.Run("61g: two syllables of one number", func(t *testing.T) {
		s := suiteSong(t, "61g-Lyrics-NameNumber.xml")
		if got := verses(s); got != "Verse1A- 1B- Verse1C- Chorus1D- VerseE- NoneF- / Chorus1A- 2B- Chorus2C- . . ." {
			t.Error(got)
		}
		found := false
		for _, p := range s.Problems {
			found = found || p.Code == "syllable-twice"
		}
		if !found {
			t.Error("nothing is said of the syllable that is left out")
		}
	})
}
