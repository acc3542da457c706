package codec

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
)

type wav struct {
	tally
	dither
	w     *bufio.Writer
	bytes []byte // of the last frames
}

// newWAV writes the canonical RIFF header and, behind it, tags as an INFO list
// (Microsoft and IBM, Multimedia Programming Interface, 1991).
func newWAV(w io.Writer, s Stream) (Writer, error) {
	info := infoList(s.Tags)
	size := 36 + len(info) + 4*s.Frames
	if size > math.MaxUint32 {
		return nil, fmt.Errorf("wav: a file holds at most 4 GiB; write flac or mp3")
	}
	b := []byte("RIFF")
	le := binary.LittleEndian
	b = le.AppendUint32(b, uint32(size))
	b = append(b, "WAVEfmt "...)
	b = le.AppendUint32(b, 16)
	b = le.AppendUint16(b, 1) // PCM
	b = le.AppendUint16(b, 2) // channels
	b = le.AppendUint32(b, rate)
	b = le.AppendUint32(b, 4*rate)
	b = le.AppendUint16(b, 4) // bytes a frame
	b = le.AppendUint16(b, 16)
	b = append(b, info...)
	b = append(b, "data"...)
	b = le.AppendUint32(b, uint32(4*s.Frames))
	out := bufio.NewWriterSize(w, 1<<16)
	if _, err := out.Write(b); err != nil {
		return nil, err
	}
	return &wav{tally: tally{s.Frames}, w: out}, nil
}

func infoList(t Tags) []byte {
	names := map[string]string{"TITLE": "INAM", "COMPOSER": "IART", "ALBUM": "IPRD", "LEVEL": "ISBJ", "COMMENT": "ICMT", "COPYRIGHT": "ICOP"}
	list := []byte("INFO")
	for _, f := range t.fields() {
		id, ok := names[f[0]]
		if !ok {
			continue
		}
		text := append([]byte(f[1]), 0)
		list = append(list, id...)
		list = binary.LittleEndian.AppendUint32(list, uint32(len(text)))
		list = append(list, text...)
		if len(text)%2 != 0 {
			list = append(list, 0)
		}
	}
	if len(list) == 4 {
		return nil
	}
	return append(binary.LittleEndian.AppendUint32([]byte("LIST"), uint32(len(list))), list...)
}

func (w *wav) Write(frames []float32) error {
	if err := w.take(frames); err != nil {
		return err
	}
	b := w.bytes[:0]
	for _, x := range frames {
		v := w.round(x)
		b = append(b, byte(v), byte(v>>8))
	}
	w.bytes = b
	_, err := w.w.Write(b)
	return err
}

func (w *wav) Close() error {
	if err := w.close(); err != nil {
		return err
	}
	return w.w.Flush()
}
