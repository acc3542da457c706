package musicxml_test

import (
	"fmt"
	"os"

	"gradatim/internal/musicxml"

	"gradatim/internal/words"
)

// A lead sheet is read in playing order; what was mended is told.
func ExampleReadSong() {
	data, err := os.ReadFile("testdata/read/guess.musicxml")
	if err != nil {
		fmt.Println(err)
		return
	}
	song, err := musicxml.ReadSong(data, musicxml.Options{File: "guess.musicxml"})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(song.Meter, len(song.Bars), "bars,", len(song.Melody), "notes,", len(song.Chords), "chords")
	fmt.Println(words.Must("en").Problem(song.Problems[1]))
	// Output:
	// 6/8 8 bars, 13 notes, 3 chords
	// guess.musicxml:7: bar 0, beat 1: warning: the first bar begins with rests of 1/2 of a whole note; read as a pick-up [pickup-padded]; write a short first bar
}

// A file that is no piano score is refused with the reason and its place.
func ExampleReadScore() {
	data, err := os.ReadFile("testdata/read/swing.musicxml")
	if err != nil {
		fmt.Println(err)
		return
	}
	_, _, err = musicxml.ReadScore(data, musicxml.Options{File: "swing.musicxml"})
	fmt.Println(words.Must("en").Err(err))
	// Output:
	// swing.musicxml:4: error: the score has one staff only [score-one-staff]; a piano score has one part with two staves; read it as a lead sheet instead
}
