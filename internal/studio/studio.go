// Package studio records scores: it joins the performance with the sampled piano and
// the makers of sound files. It owns the piano that was opened, decides on no note, touch
// or tempo, and makes no sound itself.
package studio

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strings"

	"gradatim/assets"
	"gradatim/internal/perform"
	"gradatim/internal/sound"
	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/leadsheet"
	"gradatim/score"
	"gradatim/theory"
)

// Recorder records scores on the sampled piano that the program carries.
type Recorder struct {
	piano *sound.Instrument
	kbps  int // of MP3 and Opus; 0: as their coders have it
}

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
	return &Recorder{piano: in}, nil
}

// At is the same recorder with another bit rate, in kbit/s, for what is coded with loss.
func (r *Recorder) At(kbps int) *Recorder { return &Recorder{r.piano, kbps} }

// Record performs a score and writes it as a sound file. A hand alone, the tune or what
// accompanies it is as loud as it is in the whole. What the take says and its track go into
// the file's tags, and the sections of a whole as chapters; progress, unless it is nil, is told the share that is done, from
// 0 to 1. Problems are what the performance had to leave out. The error is a
// leadsheet.Problems where the score cannot be performed so, else the context's or
// the writer's; then what stands in w is no valid file.
func (r *Recorder) Record(ctx context.Context, w io.Writer, s score.Score, t perform.Take, format codec.Format, progress func(float64)) (leadsheet.Problems, error) {
	o := t.Options
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
	var like *event.Sequence
	if o.Hands != perform.Both {
		whole := o
		whole.Hands = perform.Both
		if p, err := perform.Perform(s, whole); err == nil {
			seq := p.Sequence()
			like = &seq
		}
	}
	_, err = r.piano.Record(ctx, w, played.Sequence(), sound.Options{Format: format, Bitrate: r.kbps, Procs: runtime.GOMAXPROCS(0), Progress: progress, Like: like,
		Tags: tags(s, t, bpm, played)})
	if errors.Is(err, sound.ErrTooLong) {
		var ps leadsheet.Problems
		ps.Tell(leadsheet.Error, leadsheet.Pos{}, "recording-long", "Hours", sound.MaxSeconds/3600)
		return nil, ps
	}
	return played.Problems, err
}

// tags say what a file is where nothing but its title is shown: the piece, the level, what
// of it is played and how fast. The piece is the album, which gathers its recordings.
func tags(s score.Score, t perform.Take, bpm int, p perform.Performance) codec.Tags {
	var title, credits []string
	speed := ""
	if bpm > 0 {
		speed = fmt.Sprintf("♩ = %d", bpm)
		if n := bpm * 2 / 3; s.Tempo.Beat == theory.Quarter*3/2 && n > 0 {
			speed = fmt.Sprintf("♩. = %d", n)
		}
	}
	for _, x := range []string{s.Title, s.Subtitle, t.Says(), speed} {
		if x != "" {
			title = append(title, x)
		}
	}
	for _, x := range []string{s.Rights, sound.Credit} {
		if x != "" {
			credits = append(credits, x)
		}
	}
	out := codec.Tags{Title: strings.Join(title, " – "), Album: s.Title, Composer: s.Composer, Level: s.Subtitle, Comment: t.Says(),
		Credits: strings.Join(credits, "\n"), BPM: bpm, Track: t.Track}
	if o := t.Options; o.From == 0 && o.To == 0 {
		for _, c := range p.Chapters() {
			out.Chapters = append(out.Chapters, codec.Chapter{Start: c.Start, Title: cmp.Or(c.Name, s.Title)})
		}
	}
	return out
}
