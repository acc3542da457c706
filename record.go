package gradatim

import (
	"context"
	"fmt"
	"io"

	"gradatim/internal/perform"
	"gradatim/internal/sound/codec"
	"gradatim/internal/studio"
	"gradatim/leadsheet"
)

// Hands says who plays in a recording.
type Hands uint8

// Hands: both, one alone, the tune alone, or all but the tune, to play it oneself.
const (
	BothHands Hands = iota
	RightAlone
	LeftAlone
	TuneAlone
	WithoutTune
)

var handsNames = []string{"both", "right", "left", "melody", "without-tune"}

// String writes "both", "right", "left", "melody" or "without-tune".
func (h Hands) String() string { return nameOf(handsNames, h) }

// ParseHands reads what String writes.
func ParseHands(s string) (Hands, error) { return named[Hands](handsNames, s) }

// Take is one way to play a page. The zero Take is the whole at its own tempo.
type Take struct {
	Name string // a word for files: "left"
	What string // in words: "left hand alone"; goes into the file's tags

	Hands     Hands
	Percent   int  // of the printed tempo; 0: all of it
	PerMinute int  // beats a minute instead, where it is not 0
	From, To  int  // bars as printed, both included; 0, 0 is everything
	Loop      int  // how many times; 0 is once
	CountIn   int  // bars of clicks before the music
	Click     bool // on every beat
	Transpose int  // semitones that it sounds higher
	Even      bool // exactly in time and equally loud
}

// PracticeSet lists what a student practises with: the whole at full tempo and
// slower, each hand alone, and everything but the tune.
func PracticeSet() []Take {
	var out []Take
	for _, t := range studio.PracticeSet() {
		out = append(out, Take{Name: t.Name, What: t.What, Hands: Hands(t.Options.Hands), Percent: t.Options.Tempo.Percent})
	}
	return out
}

func (t Take) options() (perform.Options, error) {
	hands, err := perform.ParseHands(t.Hands.String())
	return perform.Options{Hands: hands, Tempo: perform.Tempo{Percent: t.Percent, PerMinute: t.PerMinute}, From: t.From, To: t.To,
		Loop: t.Loop, CountIn: t.CountIn, Click: t.Click, Transpose: t.Transpose, Even: t.Even}, err
}

// Format is a kind of sound file.
type Format uint8

// Formats: MPEG-1 layer III, RIFF, FLAC, and Opus in Ogg (RFC 7845).
const (
	MP3 Format = iota
	WAV
	FLAC
	Opus
)

var formatNames = []string{"mp3", "wav", "flac", "opus"}

// String writes "mp3", "wav", "flac" or "opus".
func (f Format) String() string { return nameOf(formatNames, f) }

// ParseFormat reads what String writes.
func ParseFormat(s string) (Format, error) { return named[Format](formatNames, s) }

// Record plays the page of a level on the sampled piano and writes the sound.
// progress, unless it is nil, is told the share that is done, from 0 to 1. The
// problems are what the performance had to leave out. The error is a
// leadsheet.Problems where the page cannot be played so, else the context's or the
// writer's; then what stands in w is no valid file.
func (s *Session) Record(ctx context.Context, w io.Writer, level int, t Take, f Format, progress func(float64)) (leadsheet.Problems, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, err
	}
	o, err := t.options()
	if err != nil {
		return nil, fmt.Errorf("hands: %w", err)
	}
	format, err := codec.ParseFormat(f.String())
	if err != nil {
		return nil, err
	}
	r, err := s.studio.piano()
	if err != nil {
		return nil, err
	}
	told, err := r.Record(ctx, w, a.Score, o, format, t.What, progress)
	return told, s.inSheet(err)
}

// MIDI is how the page of a level sounds, as a MIDI file: what a recording plays. The
// problems are what the performance had to leave out.
func (s *Session) MIDI(ctx context.Context, level int, t Take) ([]byte, leadsheet.Problems, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, nil, err
	}
	o, err := t.options()
	if err != nil {
		return nil, nil, fmt.Errorf("hands: %w", err)
	}
	data, told, err := studio.MIDI(a.Score, o)
	return data, told, s.inSheet(err)
}
