// Package layer3 codes stereo sound of 48 kHz as MPEG-1 Layer III at a constant
// bit rate (ISO/IEC 11172-3:1993, called the standard below). It owns frames and
// what is in them; tags, dither and other formats are not its business.
//
// # Problem
//
// A frame holds 1152 stereo samples in a fixed number of bits. Sound is split
// into 576 lines of frequency twice a frame, the lines are rounded, and what
// rounding leaves is written with the standard's tables of code words. What is
// free is how coarsely each band of lines is rounded: that decides where the
// noise goes. The standard fixes the decoder and leaves this to the coder.
//
// # Way
//
//   - filter.go: 32 bands of 18 samples by the standard's polyphase filter
//   - lines.go: 576 lines by the modified cosine transform, in one long block or
//     three short ones; short where a sound begins in the block, for else its
//     noise would be heard before it
//   - ear.go: what noise the sound itself hides, band by band
//   - shape.go: scale factors, that is the form of the noise, in one step from
//     those thresholds
//   - rate.go: how loud the noise is in all, so that the bits suffice
//   - count.go, huffman.go: rounding, and what it costs in each table
//   - stream.go: frames, side information, code words
//
// # Objective
//
// At a constant rate all bits are spent, so nothing is decided by how much noise
// could be heard, only by how it is spread: a weighted sum of noise and of noise beside what
// the sound hides is made least, see tilt, with one weight over bands, channels and
// the two granules of a frame. No frame borrows bits of another, see stream.
//
// Rejected: the two nested loops of the standard's informative annex, which round
// the sound some thirty times and end where a band is allowed noise, not where
// the sum of noise is least. Here a granule is rounded two or three times.
//
// # Same bytes everywhere
//
// Processors differ in whether they fuse a product and a sum, which rounds once
// instead of twice; the Go language lets compilers do it unless the product is
// converted (The Go Programming Language Specification, "Floating-point
// operators"). So each product that is added to something is written
// float32(a*b); a test reads the package for others. Tables are made with
// math.Cos and its like in 64 bit, rounded to 32; a test compares their sum.
package layer3

import (
	"fmt"
	"io"
)

const (
	// Rate is the only sample rate.
	Rate = 48000
	// Frame is how many samples of each channel a frame holds.
	Frame = 1152

	granule  = Frame / 2 // samples of a channel, and lines
	subbands = 32
	slots    = granule / subbands // samples of a band in a granule
	channels = 2

	// A decoder's output comes late by what its filters and the coder's hold
	// back: 481 samples of the polyphase filters, 576 of the transform. (Tested by
	// alignment.) Silence before the sound makes that two granules, which are left out.
	late  = 481 + granule
	early = Frame - late
)

// rates are the bit rates of Layer III in kbit/s by their index in a frame's
// header (the standard, 2.4.2.3), as far as they are offered.
var rates = map[int]int{64: 5, 80: 6, 96: 7, 112: 8, 128: 9, 160: 10, 192: 11, 224: 12, 256: 13, 320: 14}

// Size returns the length of a frame in bytes at a bit rate in kbit/s, and the
// third byte of its header; ok is false where the rate is not offered. At 48 kHz
// all frames are alike.
func Size(kbps int) (bytes int, head byte, ok bool) {
	index, ok := rates[kbps]
	return Frame / 8 * kbps * 1000 / Rate, byte(index<<4 | 1<<2), ok
}

// An Encoder writes frames. A decoder that drops nothing returns sample n of
// the input as its sample n; but it starts without the block before the first, so the
// first 576 samples come back whole only if they and the 480 before are silent.
type Encoder struct {
	out  *stream
	bank [channels]filterbank
	in   [channels][granule]float32
	have int // samples in in

	taken  int // samples written to the encoder
	blocks int // granules filtered

	split   *splitter
	rate    *control
	pending [2]block // granules of the frame that is being made
	err     error
}

// New returns an encoder to w at a bit rate in kbit/s: 64, 80, 96, 112, 128, 160,
// 192, 224, 256 or 320.
func New(w io.Writer, kbps int) (*Encoder, error) {
	size, head, ok := Size(kbps)
	if !ok {
		return nil, fmt.Errorf("layer III: %d kbit/s is not offered: 64, 80, 96, 112, 128, 160, 192, 224, 256 and 320 are", kbps)
	}
	e := &Encoder{out: newStream(w, size, head), have: early}
	e.split = newSplitter(kbps)
	e.rate = newControl(e.out, kbps)
	return e, nil
}

// Write takes interleaved samples, full scale 1; more is coded too, and clips
// in the decoder. The number of samples has to be even. An error is that of the writer, and stays.
func (e *Encoder) Write(frames []float32) error {
	if len(frames)%channels != 0 {
		return fmt.Errorf("layer III: half a frame")
	}
	e.taken += len(frames) / channels
	e.take(frames)
	return e.err
}

func (e *Encoder) take(frames []float32) {
	for len(frames) > 0 {
		n := min(granule-e.have, len(frames)/channels)
		left, right := e.in[0][e.have:e.have+n], e.in[1][e.have:e.have+n]
		for i := range left {
			left[i], right[i] = tame(frames[2*i]), tame(frames[2*i+1])
		}
		frames = frames[channels*n:]
		if e.have += n; e.have == granule {
			e.granule()
			e.have = 0
		}
	}
}

// tame keeps what is no sound from breaking a frame.
func tame(x float32) float32 {
	if x >= -loudest && x <= loudest {
		return x
	}
	switch {
	case x > loudest:
		return loudest
	case x < -loudest:
		return -loudest
	}
	return 0 // not a number
}

const loudest = 8 // times full scale

// granule takes the samples in e.in a step further: the granule that is two
// behind them can now be coded, for what comes after it decides on its window.
func (e *Encoder) granule() {
	next := e.split.next()
	for c := range channels {
		e.bank[c].filter(&e.in[c], &next.band[c])
	}
	e.split.push()
	if e.blocks++; e.blocks < 4 { // granules 0 and 1 make up the delay; 2 waits for 3
		return
	}
	b := &e.pending[e.blocks%2]
	e.split.lines(b)
	if e.blocks%2 == 1 && e.err == nil {
		e.err = e.rate.frame(&e.pending)
	}
}

// Close codes what is left, filled up with silence to a whole frame, and leaves
// the underlying writer open. The file then holds Frames(n) frames for n samples.
func (e *Encoder) Close() error {
	silence := make([]float32, 2*granule)
	for e.err == nil && e.out.frames < Frames(e.taken) {
		e.take(silence)
	}
	return e.err
}

// Frames returns how many frames n samples of a channel take.
func Frames(n int) int { return (n + Frame - 1) / Frame }
