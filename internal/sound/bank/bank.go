// Package bank is the instrument's file: an index, and the recorded notes as
// Vorbis packets. The cutter in assets/prepare/piano writes it, the sampler
// reads it.
//
// All recordings come from one encoder with one setup, so the file holds the
// Vorbis headers once and drops the Ogg pages: that saves 0.9 MB, opening a
// note costs nothing, and one decoder serves all notes.
//
// Layout: eight bytes of magic, the length of the index as a little-endian
// 32-bit number, the index as JSON, the samples. A sample is a table of its
// packets, two little-endian 16-bit numbers each (bytes, frames it completes),
// and then the packets.
package bank

import (
	"encoding/binary"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"github.com/jfreymuth/vorbis"
)

const magic = "GRDPIAN2"

// A Sample is one recorded note and what was measured on it, as it is played (see Place).
// Levels are hundredths of a decibel, so that the file holds integers alone.
type Sample struct {
	Layer   int `json:"layer,omitempty"` // number of the dynamic layer; 0 for the release of a key
	Key     int `json:"key"`             // MIDI key that was played
	Offset  int `json:"offset"`          // first byte, counted from the first sample
	Packets int `json:"packets"`         // packets; the first completes no frame
	Frames  int `json:"frames"`          // length in stereo frames
	Onset   int `json:"onset"`           // frame where the hammer strikes
	Level   int `json:"level"`           // mean square of 0.4 s from the onset, re full scale
	Peak    int `json:"peak"`            // largest absolute value, re full scale
	Cents   int `json:"cents"`           // hundredths of a cent above equal temperament

	// Image turns the recorded channels into those played, in 1/Unity: left from left,
	// left from right, right from left, right from right.
	Image [4]int `json:"image"`
	// Bands is the power of both channels between the Edges in the same 0.4 s, re all of it.
	Bands [len(Edges) + 1]int `json:"bands"`
}

// Edges are the frequencies in hertz that part Bands: quarters of an octave and less.
var Edges = [...]float64{125, 180, 210, 250, 300, 355, 420, 500, 590, 710, 840, 1000, 1190, 1400, 1700, 2000, 2240, 2520, 2830, 3170, 3560, 4000, 4760, 5660, 6730, 8000, 11300}

// A Layer is one strength of touch at which the keyboard was recorded.
type Layer struct {
	Number   int `json:"number"`
	Velocity int `json:"velocity"` // MIDI velocity in the middle of its range
}

// An Index describes the samples of a bank.
type Index struct {
	Rate     int      `json:"rate"`   // frames a second
	Credit   string   `json:"credit"` // who recorded it, under which licence
	Layers   []Layer  `json:"layers"` // softest first
	Notes    []Sample `json:"notes"`  // by layer, then key
	Releases []Sample `json:"releases"`
	Ident    []byte   `json:"ident"` // Vorbis identification header
	Setup    []byte   `json:"setup"` // Vorbis setup header
}

// A Packet is one Vorbis packet and the number of frames it completes.
type Packet struct {
	Data   []byte
	Frames int
}

// AppendSample appends a sample's table and packets to the samples of a file.
func AppendSample(b []byte, packets []Packet) ([]byte, error) {
	for _, p := range packets {
		if len(p.Data) > 1<<16-1 || p.Frames < 0 || p.Frames > 1<<16-1 {
			return nil, fmt.Errorf("bank: a packet of %d bytes and %d frames does not fit its table", len(p.Data), p.Frames)
		}
		b = binary.LittleEndian.AppendUint16(b, uint16(len(p.Data)))
		b = binary.LittleEndian.AppendUint16(b, uint16(p.Frames))
	}
	for _, p := range packets {
		b = append(b, p.Data...)
	}
	return b, nil
}

// Write writes an instrument file.
func Write(w io.Writer, ix Index, samples []byte) error {
	js, err := json.Marshal(ix)
	if err != nil {
		return fmt.Errorf("bank: %w", err)
	}
	head := binary.LittleEndian.AppendUint32([]byte(magic), uint32(len(js)))
	for _, b := range [][]byte{head, js, samples} {
		if _, err := w.Write(b); err != nil {
			return fmt.Errorf("bank: %w", err)
		}
	}
	return nil
}

// A Bank is an opened instrument file. It may be used from many goroutines.
type Bank struct {
	Index
	data io.ReaderAt
	base int64 // where the samples start
}

// Open reads and checks the index. It reads r again whenever a sample is
// decoded.
func Open(r io.ReaderAt) (*Bank, error) {
	head := make([]byte, len(magic)+4)
	if _, err := r.ReadAt(head, 0); err != nil {
		return nil, fmt.Errorf("bank: %w", err)
	}
	if string(head[:len(magic)]) != magic {
		return nil, errors.New("bank: not an instrument file")
	}
	size := binary.LittleEndian.Uint32(head[len(magic):])
	if size > 1<<24 {
		return nil, fmt.Errorf("bank: an index of %d bytes", size)
	}
	js := make([]byte, size)
	if _, err := r.ReadAt(js, int64(len(head))); err != nil {
		return nil, fmt.Errorf("bank: index: %w", err)
	}
	b := &Bank{data: r, base: int64(len(head)) + int64(size)}
	if err := json.Unmarshal(js, &b.Index); err != nil {
		return nil, fmt.Errorf("bank: index: %w", err)
	}
	if err := b.check(); err != nil {
		return nil, err
	}
	return b, nil
}

// check refuses an index that a sampler could not play without asking.
func (b *Bank) check() error {
	if b.Rate <= 0 || len(b.Layers) == 0 {
		return errors.New("bank: no rate or no layers")
	}
	notes := map[int]int{}
	for i, list := range [][]Sample{b.Notes, b.Releases} {
		for _, s := range list {
			if s.Key < 0 || s.Key > 127 || s.Offset < 0 || s.Packets <= 0 || s.Packets > 1<<16 || s.Frames <= 0 || s.Onset < 0 || s.Onset >= s.Frames {
				return fmt.Errorf("bank: the sample of layer %d, key %d is out of bounds", s.Layer, s.Key)
			}
			if i == 0 {
				notes[s.Layer]++
			}
		}
	}
	for i, l := range b.Layers {
		if l.Number == 0 || notes[l.Number] == 0 {
			return fmt.Errorf("bank: layer %d has no notes", l.Number)
		}
		if i > 0 && l.Velocity <= b.Layers[i-1].Velocity {
			return errors.New("bank: layers are not in order of velocity")
		}
	}
	return nil
}

// A Decoder turns packets into frames. It serves one goroutine at a time.
type Decoder struct {
	bank   *Bank
	vorbis vorbis.Decoder
	table  []byte
	packet []byte
	frames []float32
}

// NewDecoder prepares a decoder for the bank's samples, about 0.5 MB.
func (b *Bank) NewDecoder() (*Decoder, error) {
	d := &Decoder{bank: b}
	for _, h := range [][]byte{b.Ident, b.Setup} {
		if err := d.header(h); err != nil {
			return nil, err
		}
	}
	if d.vorbis.Channels() != 2 || d.vorbis.SampleRate() != b.Rate {
		return nil, fmt.Errorf("bank: samples have %d channels at %d Hz; two at %d Hz expected", d.vorbis.Channels(), d.vorbis.SampleRate(), b.Rate)
	}
	d.frames = make([]float32, d.vorbis.BufferSize())
	return d, nil
}

// The Vorbis library trusts its input and panics on what is broken.
func (d *Decoder) header(h []byte) (err error) {
	defer broken(&err)
	return d.vorbis.ReadHeader(h)
}

func broken(err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("bank: broken sample: %v", r)
	}
}

// Read fills dst with interleaved stereo frames of s, the first being number
// from. What lies past the sample's end becomes silence. Reading in pieces
// gives the same frames as reading at once.
func (d *Decoder) Read(dst []float32, s Sample, from int) (err error) {
	defer broken(&err)
	at := d.bank.base + int64(s.Offset)
	d.table = sized(d.table, 4*s.Packets)
	if _, err := d.bank.data.ReadAt(d.table, at); err != nil {
		return fmt.Errorf("bank: layer %d, key %d: %w", s.Layer, s.Key, err)
	}
	at += int64(len(d.table))
	size := func(i int) int { return int(binary.LittleEndian.Uint16(d.table[4*i:])) }
	length := func(i int) int { return int(binary.LittleEndian.Uint16(d.table[4*i+2:])) }

	// A packet completes the overlap that its predecessor left, so decoding
	// starts one packet early.
	first, begin := 0, 0
	for first+1 < s.Packets && begin+length(first) <= from {
		begin += length(first)
		at += int64(size(first))
		first++
	}
	if first > 0 {
		first--
		begin -= length(first)
		at -= int64(size(first))
	}
	d.vorbis.Clear()
	end := min(from+len(dst)/2, s.Frames)
	filled := 0
	for i := first; i < s.Packets && begin < end; i++ {
		d.packet = sized(d.packet, size(i))
		if _, err := d.bank.data.ReadAt(d.packet, at); err != nil {
			return fmt.Errorf("bank: layer %d, key %d: %w", s.Layer, s.Key, err)
		}
		at += int64(size(i))
		got, err := d.vorbis.DecodeInto(d.packet, d.frames)
		if err != nil {
			return fmt.Errorf("bank: layer %d, key %d: %w", s.Layer, s.Key, err)
		}
		if i > first || first == 0 {
			if len(got) != 2*length(i) {
				return fmt.Errorf("bank: layer %d, key %d: packet %d completes %d frames, %d expected", s.Layer, s.Key, i, len(got)/2, length(i))
			}
			if lo, hi := max(from-begin, 0), min(end-begin, length(i)); lo < hi {
				filled += copy(dst[filled:], got[2*lo:2*hi])
			}
		}
		begin += length(i)
	}
	clear(dst[filled:])
	return nil
}

func sized(b []byte, n int) []byte {
	if cap(b) < n {
		return make([]byte, n)
	}
	return b[:n]
}
