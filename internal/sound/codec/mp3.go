package codec

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	shine "github.com/braheezy/shine-mp3/pkg/mp3"
)

const (
	mp3Frame = 1152 // stereo frames in one MPEG-1 layer III frame

	// The library's output decodes 1.02 dB louder than its input: measured by
	// least squares at 128 to 320 kbit/s.
	mp3Gain = 1.1246

	// The library's own delay and that of every decoder.
	mp3Delay = 528 + 529
)

// mp3Rates are the bit rates offered and their index in a frame header
// (ISO/IEC 11172-3, 2.4.2.3).
var mp3Rates = map[int]int64{128: 9, 160: 10, 192: 11, 224: 12, 256: 13, 320: 14}

type mp3 struct {
	tally
	dither
	w      *bufio.Writer
	enc    *shine.Encoder
	frame  [2 * mp3Frame]int16
	filled int
	left   int  // MPEG frames still to come
	warm   bool // the first, which holds only the delay, has been left out
}

// newMP3 writes tags, an Info frame and constant bit rate. The Info frame is
// a silent first frame that tells players the number of frames, without which
// the length would be guessed.
//
// Coder and decoder together come 1057 samples late. Silence before the sound
// makes that a whole frame, and that frame is left out: so a file begins at its
// first sample in any player. Rejected: telling players how many samples to drop,
// which they believe only under the name of another program. The price is that
// a decoder starts cold, so the first 24 ms ought to be silent, and that the
// end is rounded up to a frame, see [Format.Whole].
func newMP3(w io.Writer, s Stream) (Writer, error) {
	kbps := s.Kbps
	if kbps == 0 {
		kbps = 192
	}
	index, ok := mp3Rates[kbps]
	if !ok {
		return nil, fmt.Errorf("mp3: %d kbit/s is not offered: 128, 160, 192, 224, 256 and 320 are", kbps)
	}
	frames := MP3.Whole(s.Frames) / mp3Frame
	size := mp3Frame / 8 * kbps * 1000 / rate // whole at 48 kHz: no frame is padded
	if uint64(frames+1)*uint64(size) > math.MaxUint32 {
		return nil, fmt.Errorf("mp3: too long")
	}

	// NewEncoder settles on 128 kbit/s; what follows from the rate is set again.
	e := shine.NewEncoder(rate, 2)
	e.Mpeg.Bitrate = int64(kbps)
	e.Mpeg.BitrateIndex = index
	e.Mpeg.WholeSlotsPerFrame = int64(size)
	e.Mpeg.FracSlotsPerFrame = 0
	e.Mpeg.Slot_lag = 0

	out := bufio.NewWriterSize(w, 1<<16)
	for _, b := range [][]byte{id3(s.Tags), infoFrame(index, size, frames)} {
		if _, err := out.Write(b); err != nil {
			return nil, err
		}
	}
	m := &mp3{tally: tally{s.Frames}, w: out, enc: e, left: frames + 1, filled: 2 * (mp3Frame - mp3Delay)}
	return m, nil
}

// infoFrame lays an Info tag into a frame of zeros. (No standard describes
// it; the layout is common practice among encoders and decoders, checked here
// by decoding with ffmpeg and Chromium.)
func infoFrame(index int64, size, frames int) []byte {
	b := make([]byte, size)
	copy(b, []byte{0xff, 0xfb, byte(index<<4) | 1<<2, 0}) // MPEG-1 layer III, 48 kHz, stereo
	tag := b[4+32:]                                       // behind the side information
	copy(tag, "Info")
	be := binary.BigEndian
	be.PutUint32(tag[4:], 1|2|4) // frames, bytes, table of contents
	be.PutUint32(tag[8:], uint32(frames))
	// Players find a place by proportion, so this frame is not counted; but where
	// it is more than a sixteenth of the file, ffmpeg takes the file for broken.
	bytes := frames * size
	if frames < 32 {
		bytes += size
	}
	be.PutUint32(tag[12:], uint32(bytes))
	for i := range 100 {
		tag[16+i] = byte(i * 256 / 100)
	}
	return b
}

func (w *mp3) Write(frames []float32) error {
	if err := w.take(frames); err != nil {
		return err
	}
	for _, x := range frames {
		w.frame[w.filled] = w.round(x / mp3Gain)
		if w.filled++; w.filled == len(w.frame) {
			if err := w.encode(); err != nil {
				return err
			}
		}
	}
	return nil
}

func (w *mp3) encode() error {
	// The library reads a whole frame behind the first element.
	var to io.Writer = w.w
	if !w.warm {
		to, w.warm = io.Discard, true
	}
	err := w.enc.Write(to, w.frame[:])
	w.filled = 0
	w.left--
	return err
}

func (w *mp3) Close() error {
	if err := w.close(); err != nil {
		return err
	}
	for w.left > 0 {
		clear(w.frame[w.filled:])
		if err := w.encode(); err != nil {
			return err
		}
	}
	return w.w.Flush()
}

// id3 returns the tags as ID3 version 2.3, text in UTF-16, which more players
// read than version 2.4's UTF-8. (id3.org, "ID3 tag version 2.3.0", 1999.)
func id3(t Tags) []byte {
	names := map[string]string{"TITLE": "TIT2", "COMPOSER": "TCOM", "ALBUM": "TALB", "BPM": "TBPM", "COPYRIGHT": "TCOP"}
	var frames []byte
	add := func(id string, body []byte) {
		frames = append(frames, id...)
		frames = binary.BigEndian.AppendUint32(frames, uint32(len(body)))
		frames = append(frames, 0, 0)
		frames = append(frames, body...)
	}
	for _, f := range t.fields() {
		if id, ok := names[f[0]]; ok {
			add(id, append([]byte{1}, utf16BOM(f[1])...))
		} else if f[0] == "COMMENT" {
			body := append([]byte{1}, "eng"...)
			body = append(append(body, utf16BOM("")...), 0, 0)
			add("COMM", append(body, utf16BOM(f[1])...))
		} else {
			body := append([]byte{1}, utf16BOM(f[0])...)
			body = append(body, 0, 0)
			add("TXXX", append(body, utf16BOM(f[1])...))
		}
	}
	if frames == nil {
		return nil
	}
	n := len(frames)
	head := []byte{'I', 'D', '3', 3, 0, 0, byte(n >> 21 & 127), byte(n >> 14 & 127), byte(n >> 7 & 127), byte(n & 127)}
	return append(head, frames...)
}
