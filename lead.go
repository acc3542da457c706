package gradatim

import (
	"slices"

	"gradatim/internal/abc"
	"gradatim/internal/hand"
	"gradatim/internal/musicxml"
	"gradatim/internal/reduction"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Lead takes the lead sheet out of a piano score, ours or anybody's: its tune, and the
// chords that it prints, or where it prints none those that are heard in it. Where a part
// for a voice stands above the piano the tune is that part. A file that is no piano score
// is read as Read reads it. What was guessed is among the song's Problems. The error,
// where there is one, is a leadsheet.Problems.
func Lead(name string, data []byte) (leadsheet.Song, error) {
	w := words.Must(words.Default)
	song, err := lead(name, data)
	song.Problems = w.Problems(song.Problems)
	return song, w.Err(err)
}

// lead is Lead before its Problems are put into words.
func lead(name string, data []byte) (leadsheet.Song, error) {
	if !musical(data) || midi(data) {
		return read(name, data, 0)
	}
	opt := musicxml.Options{File: name}
	if solo, piano, ok := musicxml.ReadSolo(data, opt); ok {
		if len(solo.Chords) == 0 {
			if with, ok := reduction.WithHeard(solo, piano); ok {
				return with, nil
			}
		}
		return solo, nil
	}
	s, told, err := musicxml.ReadScore(data, opt)
	if err != nil {
		return read(name, data, 0)
	}
	song, err := reduction.Of(s, name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	song.Problems = slices.Concat(told, song.Problems)
	song.Problems.Sort()
	return song, nil
}

// SheetFormat is a format in which a lead sheet is written.
type SheetFormat uint8

// Formats of lead sheets.
const (
	SheetABC SheetFormat = iota + 1
	SheetMusicXML
)

// WriteSheet writes a lead sheet as it is played, as Read reads it. The error is a
// leadsheet.Problems where it cannot be written.
func WriteSheet(song leadsheet.Song, f SheetFormat) ([]byte, error) {
	if f == SheetABC {
		return abc.Write(song), nil
	}
	data, err := musicxml.WriteSong(song)
	return data, words.Must(words.Default).Err(err)
}

// Finger returns the score with fingers: those that stand there stay, the others are
// chosen to suit them, and of those chosen some are shown, as a teacher would write them
// in, or all. NoFingers takes every finger out.
func Finger(s score.Score, h Hand, f Fingers) score.Score {
	s.Notes = slices.Clone(s.Notes)
	for i := range s.Notes {
		if f != NoFingers && s.Notes[i].Finger > 0 {
			s.Notes[i].Marks |= score.Fingered
		}
	}
	s = hand.FingerScore(s, h.profile())
	return f.shown(s, usual(s))
}
