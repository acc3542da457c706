package gradatim

import (
	"context"
	"io"

	"gradatim/internal/perform"
	"gradatim/internal/sound/codec"
	"gradatim/internal/words"
	"gradatim/leadsheet"
	"gradatim/score"
)

// Hands says who plays in a recording.
type Hands uint8

// Hands: both, one alone, the tune alone, or all but the tune, to play it oneself.
const (
	BothHands   = Hands(perform.Both)
	RightAlone  = Hands(perform.RightAlone)
	LeftAlone   = Hands(perform.LeftAlone)
	TuneAlone   = Hands(perform.Melody)
	WithoutTune = Hands(perform.WithoutTune)
)

// String writes "both", "right", "left", "melody" or "without-tune".
func (h Hands) String() string { return perform.Hands(h).String() }

// ParseHands reads what String writes.
func ParseHands(s string) (Hands, error) {
	h, err := perform.ParseHands(s)
	return Hands(h), err
}

// MaxLoop and MaxCountIn bound a Take.
const (
	MaxLoop    = perform.MaxLoop
	MaxCountIn = perform.MaxCountIn
)

// Take is one way to play a page. The zero Take is the whole at its own tempo.
type Take struct {
	Name string // a word for files: "left"
	What string // in words: "left hand alone"; goes into the file's tags

	Track int // its place among the recordings of a piece, from 1, for the tags; 0: none

	Hands     Hands
	Percent   int  // of the printed tempo; 0: all of it
	PerMinute int  // beats a minute instead, where it is not 0
	From, To  int  // bars as printed, both included; 0, 0 is everything
	Loop      int  // how many times, at most MaxLoop; 0 is once
	CountIn   int  // bars of clicks before the music, at most MaxCountIn
	Click     bool // on every beat
	Transpose int  // semitones that it sounds higher
	Even      bool // exactly in time and equally loud
}

// PracticeSet lists what a student practises with: the whole at full tempo and
// slower, each hand alone, and everything but the tune.
func PracticeSet() []Take {
	var out []Take
	for _, t := range perform.PracticeSet() {
		out = append(out, Take{Name: t.Name, What: t.What, Track: t.Track, Hands: Hands(t.Options.Hands), Percent: t.Options.Tempo.Percent})
	}
	return out
}

// ParseTempo reads the Percent or the PerMinute of a Take, "60%" or "92"; the other
// is 0.
func ParseTempo(s string) (percent, perMinute int, err error) {
	t, err := perform.ParseTempo(s)
	return t.Percent, t.PerMinute, err
}

func (t Take) take() perform.Take {
	return perform.Take{Name: t.Name, What: t.What, Track: t.Track, Options: t.options()}
}

func (t Take) options() perform.Options {
	return perform.Options{Hands: perform.Hands(t.Hands), Tempo: perform.Tempo{Percent: t.Percent, PerMinute: t.PerMinute}, From: t.From, To: t.To,
		Loop: t.Loop, CountIn: t.CountIn, Click: t.Click, Transpose: t.Transpose, Even: t.Even}
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

// codec is the same where formats are counted from 1.
func (f Format) codec() codec.Format { return codec.MP3 + codec.Format(f) }

// String writes "mp3", "wav", "flac" or "opus": the ending of a file's name, without its
// dot.
func (f Format) String() string { return f.codec().String() }

// ParseFormat reads what String writes, with or without a dot.
func ParseFormat(s string) (Format, error) {
	f, err := codec.ParseFormat(s)
	if err != nil {
		return 0, err
	}
	return Format(f - codec.MP3), nil
}

// Record plays a score on the sampled piano and writes the sound. Scores that say
// which notes are the tune sound as they were arranged; in others the top line is taken.
// progress, unless it is nil, is told the share that is done, from 0 to 1. The problems
// are what the performance had to leave out. The error is a leadsheet.Problems where the
// score cannot be played so, else the context's or the writer's; then what stands in w
// is no valid file.
func (st *Studio) Record(ctx context.Context, w io.Writer, s score.Score, t Take, f Format, progress func(float64)) (leadsheet.Problems, error) {
	if err := context.Cause(ctx); err != nil {
		return nil, err
	}
	r, err := st.piano(ctx)
	if err != nil {
		return nil, err
	}
	told, err := r.Record(ctx, w, s, t.take(), f.codec(), progress)
	en := words.Must(words.Default)
	return en.Problems(told), en.Err(err)
}

// WriteMIDI is how a score sounds, as a MIDI file: what a recording plays. The problems
// are what the performance had to leave out. The error is a leadsheet.Problems where
// the score cannot be played so, or the context's.
func WriteMIDI(ctx context.Context, s score.Score, t Take) ([]byte, leadsheet.Problems, error) {
	f, err := unlessEnded(ctx, func() (f written, err error) {
		f.data, f.told, err = perform.File(s, t.options())
		return f, err
	})
	w := words.Must(words.Default)
	return f.data, w.Problems(f.told), w.Err(err)
}

// Record plays the page of a level, as Studio.Record does a score.
func (s *Session) Record(ctx context.Context, w io.Writer, level int, t Take, f Format, progress func(float64)) (leadsheet.Problems, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, err
	}
	told, err := s.studio.Record(ctx, w, a.Score, t, f, progress)
	return s.words().Problems(told), s.inSheet(err)
}

// MIDI is how the page of a level sounds, as WriteMIDI writes a score.
func (s *Session) MIDI(ctx context.Context, level int, t Take) ([]byte, leadsheet.Problems, error) {
	a, err := s.page(ctx, level)
	if err != nil {
		return nil, nil, err
	}
	data, told, err := WriteMIDI(ctx, a.Score, t)
	return data, s.words().Problems(told), s.inSheet(err)
}
