// Package sound plays a sequence of events on a sampled grand piano and writes
// it as MP3, WAV, FLAC or Ogg Opus. It is the last room of the house: it knows
// keys, pedals and seconds, and no scores, bars or hands.
//
// The way of the sound: events become voices ([plan]); blocks of 4096 frames
// add up their voices, on as many processors as allowed; then, in order, one
// filter, the reverb and the metronome; the loudness of all this is metered
// (ITU-R BS.1770), and on the second way through it is levelled, limited and
// encoded. Memory does not grow with length: a short piece is kept, a long one
// is rendered twice. The same input gives the same bytes, however many
// processors work.
//
// No clock, no file system, no global state: the caller brings a writer and
// removes what a failed recording has left in it.
package sound

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"

	"gradatim/internal/sound/codec"
	"gradatim/internal/sound/event"
	"gradatim/internal/sound/measure"
)

// Rate is the number of stereo frames a second everywhere in this package.
const Rate = measure.Rate

// Credit names the recorded piano. Its licence (Creative Commons Attribution
// 3.0) asks that everything which uses the recordings carries such a line.
const Credit = "Piano: Salamander Grand Piano V3, recorded by Alexander Holm, licensed CC BY 3.0 (creativecommons.org/licenses/by/3.0/); samples cut and level-matched."

// MaxSeconds is the longest take that is recorded; a longer one is taken for a
// mistake in its tempo.
const MaxSeconds = 4 * 3600

// Off as a level in decibels silences what it levels.
const Off = -200.0

// ErrNothing is returned for a sequence without a note or a tick.
var ErrNothing = errors.New("there is nothing to play")

// ErrTooLong is returned for a take longer than MaxSeconds.
var ErrTooLong = fmt.Errorf("longer than %d hours", MaxSeconds/3600)

// Options say how to record. The zero value is ready.
type Options struct {
	Format   codec.Format // zero means MP3
	Tags     codec.Tags   // what the file says about itself
	Bitrate  int          // kbit/s of MP3 and Opus; zero means 192 and 128
	Procs    int          // processors that mix; zero means 1; never changes the output
	Loudness float64      // LUFS, integrated; zero means -18
	Ceiling  float64      // dBFS that no sample exceeds before encoding; zero means -1.5
	Reverb   float64      // dB of the room; zero means -20; Off for none
	Release  float64      // dB of the noise of keys coming up; zero means -34; Off for none
	Bright   float64      // dB above about 1 kHz, against the voicing that zero means
	Click    float64      // dB of the metronome against a loud note; zero means -6

	// Like is a take whose level this one gets: a hand alone then sounds as it does in the
	// whole. Nil means that it is levelled by itself.
	Like *event.Sequence

	// Progress is called with the part done, from 0 to 1, never backwards.
	Progress func(part float64)
}

// loudnessOf is the loudness that recordings have, in LUFS.
const loudnessOf = -18.0

func (o Options) withDefaults() Options {
	def := func(x *float64, d float64) {
		if *x == 0 {
			*x = d
		}
	}
	def(&o.Loudness, loudnessOf)
	def(&o.Ceiling, -1.5)
	def(&o.Reverb, -20)
	def(&o.Release, -34)
	def(&o.Click, -6)
	if o.Procs < 1 {
		o.Procs = 1
	}
	if o.Format == 0 {
		o.Format = codec.MP3
	}
	if o.Progress == nil {
		o.Progress = func(float64) {}
	}
	return o
}

// A Report says what was recorded.
type Report struct {
	Frames   int     // length, stereo frames
	Seconds  float64 // the same
	Voices   int     // recordings struck, releases included
	Gain     float64 // dB that levelled the take
	Metered  float64 // LUFS before that
	Limited  float64 // dB that the limiter took off the highest peak, 0 or less
	Peak     float64 // dBFS of the largest sample handed to the encoder
	Rendered int     // times that the take was mixed: 1, or 2 when it is long
}

// Length returns the length of the file that Record writes, in frames: known
// before anything is played.
func (in *Instrument) Length(seq event.Sequence, o Options) (int, error) {
	p, err := in.plan(seq, o.withDefaults())
	return p.frames, err
}

// Record plays the sequence and writes a whole sound file to w. Errors of w,
// and the cause when ctx ends, are wrapped; what was written until then is no
// valid file.
func (in *Instrument) Record(ctx context.Context, w io.Writer, seq event.Sequence, o Options) (Report, error) {
	o = o.withDefaults()
	var enc codec.Writer
	// The FLAC library leaves so much garbage behind that a kept take would
	// double in memory: such a take is mixed twice instead.
	keep := o.Format != codec.FLAC
	rep, err := in.play(ctx, seq, o, keep, func(frames int) (func([]float32) error, error) {
		var err error
		enc, err = codec.NewWriter(w, o.Format, codec.Stream{Frames: frames, Tags: o.Tags, Kbps: o.Bitrate})
		if err != nil {
			return nil, err
		}
		return enc.Write, nil
	})
	if err == nil {
		err = enc.Close()
	}
	if err != nil {
		return rep, fmt.Errorf("sound: %w", err)
	}
	return rep, nil
}

// Play plays the sequence and hands the finished sound to a sink in blocks of
// interleaved stereo frames, full scale 1. When the level is known, open is
// called once with the number of frames to come and returns the sink. A block
// belongs to the sink only until it returns.
func (in *Instrument) Play(ctx context.Context, seq event.Sequence, o Options, open func(frames int) (func([]float32) error, error)) (Report, error) {
	return in.play(ctx, seq, o.withDefaults(), true, open)
}

func (in *Instrument) play(ctx context.Context, seq event.Sequence, o Options, keep bool, open func(frames int) (func([]float32) error, error)) (Report, error) {
	p, err := in.plan(seq, o)
	rep := Report{Frames: p.frames, Seconds: float64(p.frames) / Rate, Voices: len(p.voices), Rendered: 1}
	if err != nil {
		return rep, err
	}

	var (
		meter measure.Loudness
		peak  float32
		kept  *spool
		parts = 2.0
	)
	done := func(pass, frames int) {
		o.Progress((float64(pass) + float64(frames)/float64(max(p.frames, 1))) / parts)
	}
	if keep && p.frames <= spoolFrames {
		kept = &spool{}
	} else {
		rep.Rendered = 2
	}
	at := 0
	err = in.render(ctx, p, o, func(block []float32) error {
		meter.Add(block)
		top := largest(block)
		peak = max(peak, top)
		kept.add(block, top)
		at += len(block) / 2
		done(0, at)
		return nil
	})
	if err != nil {
		return rep, err
	}

	rep.Metered = meter.Integrated()
	own := metered{rep.Metered, float64(peak)}
	in.levels.keep(seq, o, own)
	if o.Like != nil {
		if own, err = in.meter(ctx, *o.Like, o); err != nil {
			return rep, err
		}
	}
	rep.Gain = levelling(own.loudness, own.peak, o)
	gain := float32(math.Pow(10, rep.Gain/20))
	sink, err := open(p.frames)
	if err != nil {
		return rep, err
	}
	top := float32(0)
	at = 0
	out := func(block []float32) error {
		if len(block) == 0 {
			return nil
		}
		top = max(top, largest(block))
		at += len(block) / 2
		if err := sink(block); err != nil {
			return err
		}
		done(1, at)
		return nil
	}
	lim := newLimiter(math.Pow(10, o.Ceiling/20))
	clicks := newMetronome(p.ticks, o)
	level := func(block []float32) error {
		for i := range block {
			block[i] *= gain
		}
		clicks.add(block)
		return out(lim.add(block))
	}
	if kept != nil {
		err = kept.each(ctx, level)
	} else {
		err = in.render(ctx, p, o, level)
	}
	if err == nil {
		err = out(lim.rest())
	}
	rep.Limited = lim.deepest()
	rep.Peak = 20 * math.Log10(float64(top))
	return rep, err
}

// mostLimited is how far, in dB, levelling may push peaks above the ceiling.
// A drill of a few struck notes stays under the loudness asked for rather
// than be pressed flat.
const mostLimited = 6

// levelling returns the gain in dB that brings the metered loudness to the one
// asked for.
func levelling(metered, peak float64, o Options) float64 {
	if math.IsInf(metered, -1) || peak == 0 {
		return 0
	}
	return min(o.Loudness-metered, o.Ceiling+mostLimited-20*math.Log10(peak))
}

// largest is the largest absolute value of a block. Without their sign the
// bits of floating-point numbers are ordered as the numbers are, and compared
// in a fifth of the time.
func largest(block []float32) float32 {
	m := uint32(0)
	for _, x := range block {
		m = max(m, math.Float32bits(x)&^(1<<31))
	}
	return math.Float32frombits(m)
}
