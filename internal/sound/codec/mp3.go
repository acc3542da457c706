package codec

import (
	"bufio"
	"bytes"
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
		return nil, fmt.Errorf("mp3: %d kbit/s is not offered: 64, 80, 96, 112, 128, 160, 192, 224, 256 and 320 are", kbps)
	}
	frames := layer3.Frames(s.Frames)
	if uint64(frames+1)*uint64(size) > math.MaxUint32 {
		return nil, fmt.Errorf("mp3: too long")
	}
	out := bufio.NewWriterSize(w, 1<<16)
	for _, b := range [][]byte{id3(s), infoFrame(head, size, frames)} {
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

// id3 returns tags and chapters as ID3 version 2.4, text in UTF-8. (id3.org, "ID3 tag
// version 2.4.0", 2000, and "ID3v2 Chapter Frame Addendum", 2005.)
func id3(s Stream) []byte {
	const utf8 = 3
	names := map[string]string{"TITLE": "TIT2", "COMPOSER": "TCOM", "ALBUM": "TALB", "BPM": "TBPM", "COPYRIGHT": "TCOP", "TRACKNUMBER": "TRCK"}
	syncsafe := func(n int) []byte {
		return []byte{byte(n >> 21 & 127), byte(n >> 14 & 127), byte(n >> 7 & 127), byte(n & 127)}
	}
	frame := func(id string, body ...[]byte) []byte {
		all := bytes.Join(body, nil)
		return bytes.Join([][]byte{[]byte(id), syncsafe(len(all)), {0, 0}, all}, nil)
	}
	var frames []byte
	for _, f := range s.Tags.fields() {
		text := []byte(f[1])
		if id, ok := names[f[0]]; ok {
			frames = append(frames, frame(id, []byte{utf8}, text)...)
		} else if f[0] == "COMMENT" {
			frames = append(frames, frame("COMM", []byte{utf8}, []byte("eng\x00"), text)...)
		} else {
			frames = append(frames, frame("TXXX", []byte{utf8}, []byte(f[0]+"\x00"), text)...)
		}
	}
	if chapters := s.chapters(); len(chapters) > 0 {
		const ordered, top = 1, 2
		contents := append([]byte("toc\x00"), ordered|top, byte(len(chapters)))
		var marks []byte
		for i, c := range chapters {
			id := fmt.Sprintf("chapter%d\x00", i+1)
			contents = append(contents, id...)
			body := binary.BigEndian.AppendUint32([]byte(id), c.start)
			body = binary.BigEndian.AppendUint32(body, c.end)
			body = append(body, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff, 0xff) // no places in the file
			marks = append(marks, frame("CHAP", body, frame("TIT2", []byte{utf8}, []byte(c.title)))...)
		}
		frames = append(append(frames, frame("CTOC", contents)...), marks...)
	}
	if frames == nil {
		return nil
	}
	return bytes.Join([][]byte{{'I', 'D', '3', 4, 0, 0}, syncsafe(len(frames)), frames}, nil)
}
