package codec

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"

	"gradatim/internal/sound/codec/layer3"
)

type mp3 struct {
	tally
	w   *bufio.Writer
	enc *layer3.Encoder
}

// newMP3 writes tags, an Info frame and constant bit rate. The Info frame is
// a silent first frame that tells players the number of frames, without which
// the length would be guessed.
//
// A file begins at its first sample in any player: the coder leaves out the frame that
// holds only delay. Rejected: telling players how many samples to drop,
// which they believe only under the name of another program. The price is that
// a decoder starts cold, so the first 24 ms ought to be silent, and that the
// end is rounded up to a frame, see [Format.Whole].
func newMP3(w io.Writer, s Stream) (Writer, error) {
	kbps := s.Kbps
	if kbps == 0 {
		kbps = 192
	}
	size, head, ok := layer3.Size(kbps)
	if !ok {
		return nil, fmt.Errorf("mp3: %d kbit/s is not offered: 128, 160, 192, 224, 256 and 320 are", kbps)
	}
	frames := layer3.Frames(s.Frames)
	if uint64(frames+1)*uint64(size) > math.MaxUint32 {
		return nil, fmt.Errorf("mp3: too long")
	}
	out := bufio.NewWriterSize(w, 1<<16)
	for _, b := range [][]byte{id3(s.Tags), infoFrame(head, size, frames)} {
		if _, err := out.Write(b); err != nil {
			return nil, err
		}
	}
	enc, err := layer3.New(out, kbps)
	if err != nil {
		return nil, err
	}
	return &mp3{tally: tally{s.Frames}, w: out, enc: enc}, nil
}

// infoFrame lays an Info tag into a frame of zeros. (No standard describes
// it; the layout is common practice among encoders and decoders, checked here
// by decoding with ffmpeg and Chromium.)
func infoFrame(head byte, size, frames int) []byte {
	b := make([]byte, size)
	copy(b, []byte{0xff, 0xfb, head, 1 << 6}) // MPEG-1 layer III, joint stereo
	tag := b[4+32:]                           // behind the side information
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
	return w.enc.Write(frames)
}

func (w *mp3) Close() error {
	if err := w.close(); err != nil {
		return err
	}
	if err := w.enc.Close(); err != nil {
		return err
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
