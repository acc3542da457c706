package gradatim

import (
	"bytes"
	"slices"
	"strings"

	"gradatim/internal/dictation"
	"gradatim/internal/reduction"
	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/score"
)

// midi tells whether the bytes are a MIDI file, perhaps in a RIFF wrapper.
func midi(data []byte) bool {
	return bytes.HasPrefix(data, []byte("MThd")) || bytes.HasPrefix(data, []byte("RIFF")) && bytes.Contains(data[:min(len(data), 256)], []byte("MThd"))
}

// readMIDI reads a MIDI file as a lead sheet. line picks the line that is the tune, in
// the order of the file; 0: it is found.
func readMIDI(name string, data []byte, line int) (leadsheet.Song, error) {
	s, told, err := writtenDown(name, data, line)
	if err != nil {
		return leadsheet.Song{}, err
	}
	song, err := reduction.Of(s, name)
	if err != nil {
		return leadsheet.Song{}, err
	}
	if bare(s) { // a tune alone has no chords to hear
		song.Chords = nil
		song.Problems = slices.DeleteFunc(song.Problems, func(p leadsheet.Problem) bool { return p.Code == "chords-heard" })
	}
	song.Problems = slices.Concat(told, song.Problems)
	song.Problems.Sort()
	return song, nil
}

// writtenDown is a MIDI file as a score for two hands.
func writtenDown(name string, data []byte, line int) (score.Score, leadsheet.Problems, error) {
	f, err := smf.Read(data, name)
	if err != nil {
		return score.Score{}, nil, err
	}
	return dictation.Of(f, dictation.Options{File: name, Line: line})
}

// bare tells whether a score is one line, of which no two notes sound at once.
func bare(s score.Score) bool {
	for i, n := range s.Notes {
		if n.Hand == score.Left || i > 0 && s.Notes[i-1].At == n.At {
			return false
		}
	}
	return true
}

// findLine returns the number of a MIDI file's line by its name, or a part of it.
func findLine(f File, which string) (number int, names []string) {
	file, err := smf.Read(f.Data, f.Name)
	if err != nil {
		return 0, nil
	}
	names, _ = dictation.Lines(file)
	for i, n := range names {
		if strings.EqualFold(n, which) {
			return i + 1, names
		}
	}
	for i, n := range names {
		if strings.Contains(strings.ToLower(n), strings.ToLower(which)) {
			return i + 1, names
		}
	}
	return 0, names
}
