package perform

import (
	"cmp"
	"fmt"
	"strings"

	"gradatim/internal/smf"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Take is one way to play a page.
type Take struct {
	Name    string // part of a file's name
	What    string // in words
	Track   int    // its place among the recordings of a piece, from 1; 0: it stands alone
	Options Options
}

// PracticeSet lists what a student practises with: the whole at full tempo and slower,
// each hand alone, and everything but the tune.
func PracticeSet() []Take {
	set := []Take{
		{Name: "full", What: "full tempo"},
		{Name: "60", What: "60 % of the tempo", Options: Options{Tempo: Tempo{Percent: 60}}},
		{Name: "75", What: "75 % of the tempo", Options: Options{Tempo: Tempo{Percent: 75}}},
		{Name: "90", What: "90 % of the tempo", Options: Options{Tempo: Tempo{Percent: 90}}},
		{Name: "left", What: "left hand alone", Options: Options{Hands: LeftAlone}},
		{Name: "right", What: "right hand alone", Options: Options{Hands: RightAlone}},
		{Name: "without-tune", What: "all but the tune", Options: Options{Hands: WithoutTune}},
	}
	for i := range set {
		set[i].Track = i + 1
	}
	return set
}

// said is what is played, in words, where the take has none of its own.
func (o Options) said() string {
	var out []string
	switch o.Hands {
	case RightAlone:
		out = append(out, "right hand alone")
	case LeftAlone:
		out = append(out, "left hand alone")
	case Melody:
		out = append(out, "the tune alone")
	case WithoutTune:
		out = append(out, "all but the tune")
	}
	if o.From != 0 || o.To != 0 {
		bars := fmt.Sprintf("bars %d to %d", o.From, o.To)
		if o.From == o.To {
			bars = fmt.Sprintf("bar %d", o.From)
		} else if o.To == 0 {
			bars = fmt.Sprintf("from bar %d", o.From)
		}
		out = append(out, bars)
	}
	return strings.Join(out, ", ")
}

// Says is what of a piece is played, in words: those of the take, or else its hands and
// bars in English.
func (t Take) Says() string { return cmp.Or(t.What, t.Options.said()) }

// Chapter is a section of a performance and when it begins, in seconds.
type Chapter struct {
	Start float64
	Name  string
}

// upbeat is how long before the bar line a chapter begins, in seconds: the tune leads.
const upbeat = 0.05

// Chapters lists the sections of the whole, played once; none where there are not two.
// What stands before the first section has no name.
func (p Performance) Chapters() []Chapter {
	if p.Timing.Passes != 1 {
		return nil
	}
	var out []Chapter
	for i, b := range p.bars {
		if b.Section != "" || i == 0 {
			out = append(out, Chapter{max(p.Timing.Seconds(b.At, 0)-upbeat, 0), b.Section})
		}
	}
	if len(out) < 2 {
		return nil
	}
	out[0].Start = 0 // with the count-in
	return out
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
