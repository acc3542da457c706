// Package studio records scores: it joins the performance with the sampled piano and
// the makers of files. What is heard from a MIDI file is what a recording plays.
package studio

import (
	"context"
	"io"
	"runtime"

	"gradatim/assets"
	"gradatim/internal/perform"
	"gradatim/internal/smf"
	"gradatim/internal/sound"
	"gradatim/internal/sound/codec"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Recorder records scores on the sampled piano that the program carries.
type Recorder struct{ piano *sound.Instrument }

// NewRecorder opens the piano. In a program built without it the error names the
// commands to run.
func NewRecorder() (*Recorder, error) {
	file, err := assets.Piano()
	if err != nil {
		return nil, err
	}
	in, err := sound.NewInstrument(file)
	if err != nil {
		return nil, err
	}
	return &Recorder{in}, nil
}

// Take is one recording of a practice set.
type Take struct {
	Name    string // part of the file's name
	What    string // in words
	Options perform.Options
}

// PracticeSet lists what a student practises with: the whole at full tempo and
// slower, each hand alone, and everything but the tune.
func PracticeSet() []Take {
	return []Take{
		{"full", "full tempo", perform.Options{}},
		{"60", "60 % of the tempo", perform.Options{Tempo: perform.Tempo{Percent: 60}}},
		{"75", "75 % of the tempo", perform.Options{Tempo: perform.Tempo{Percent: 75}}},
		{"90", "90 % of the tempo", perform.Options{Tempo: perform.Tempo{Percent: 90}}},
		{"left", "left hand alone", perform.Options{Hands: perform.LeftAlone}},
		{"right", "right hand alone", perform.Options{Hands: perform.RightAlone}},
		{"without-tune", "all but the tune", perform.Options{Hands: perform.WithoutTune}},
	}
}

// Record performs a score and writes it as a sound file. what goes into the file's
// tags, in words; progress, unless it is nil, is told the share that is done, from
// 0 to 1. Problems are what the performance had to leave out. The error is a
// leadsheet.Problems where the score cannot be performed so, else the context's or
// the writer's; then what stands in w is no valid file.
func (r *Recorder) Record(ctx context.Context, w io.Writer, s score.Score, o perform.Options, format codec.Format, what string, progress func(float64)) (leadsheet.Problems, error) {
	played, err := perform.Perform(s, o)
	if err != nil {
		return nil, err
	}
	bpm := s.Tempo.QuartersPerMinute()
	if o.Tempo.Percent > 0 {
		bpm = bpm * o.Tempo.Percent / 100
	} else if o.Tempo.PerMinute > 0 && s.Tempo.Set() {
		bpm = leadsheet.Tempo{Beat: s.Tempo.Beat, PerMinute: o.Tempo.PerMinute}.QuartersPerMinute()
	}
	_, err = r.piano.Record(ctx, w, played.Sequence(), sound.Options{Format: format, Procs: runtime.GOMAXPROCS(0), Progress: progress,
		Tags: codec.Tags{Title: s.Title, Composer: s.Composer, Level: s.Subtitle, Comment: what, Credits: sound.Credit, BPM: bpm}})
	return played.Problems, err
}

// MIDI performs a score and writes it as a MIDI file: what is heard from it is
// what a recording plays. Problems are what the performance had to leave out; the
// error is a leadsheet.Problems where the score cannot be performed so.
func MIDI(s score.Score, o perform.Options) ([]byte, leadsheet.Problems, error) {
	played, err := perform.Perform(s, o)
	if err != nil {
		return nil, nil, err
	}
	data, err := smf.Write(played.MIDI(s.Title, s.Rights))
	return data, played.Problems, err
}
