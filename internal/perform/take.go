package perform

import (
	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Take is one way to play a page.
type Take struct {
	Name    string // part of a file's name
	What    string // in words
	Options Options
}

// PracticeSet lists what a student practises with: the whole at full tempo and slower,
// each hand alone, and everything but the tune.
func PracticeSet() []Take {
	return []Take{
		{"full", "full tempo", Options{}},
		{"60", "60 % of the tempo", Options{Tempo: Tempo{Percent: 60}}},
		{"75", "75 % of the tempo", Options{Tempo: Tempo{Percent: 75}}},
		{"90", "90 % of the tempo", Options{Tempo: Tempo{Percent: 90}}},
		{"left", "left hand alone", Options{Hands: LeftAlone}},
		{"right", "right hand alone", Options{Hands: RightAlone}},
		{"without-tune", "all but the tune", Options{Hands: WithoutTune}},
	}
}

// File performs a score and writes it as a MIDI file: what is heard from it is what a
// recording plays. Problems are what the performance had to leave out; the error is a
// leadsheet.Problems where the score cannot be performed so.
func File(s score.Score, o Options) ([]byte, leadsheet.Problems, error) {
	played, err := Perform(s, o)
	if err != nil {
		return nil, nil, err
	}
	data, err := smf.Write(played.MIDI(s.Title, s.Rights))
	return data, played.Problems, err
}
