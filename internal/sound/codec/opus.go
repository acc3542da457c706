package codec

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"

	"github.com/thesyncim/gopus"
)

const opusFrame = 960 // 20 ms

type opus struct {
	tally
	pages   pages
	enc     *gopus.Encoder
	pcm     [2 * opusFrame]float32
	filled  int
	packet  []byte
	delay   int // frames that a decoder drops at the start
	length  int // frames that the decoder keeps
	granule int // frames encoded so far, the delay included
	held    []byte
}

// newOpus writes Ogg Opus. The library's own Ogg writer numbers its stream at
// random, so pages are made here: same sound, same file.
func newOpus(w io.Writer, s Stream) (Writer, error) {
	kbps := s.Kbps
	if kbps == 0 {
		kbps = 128
	}
	if kbps < 32 || kbps > 256 {
		return nil, fmt.Errorf("opus: %d kbit/s is not offered: 32 to 256 are", kbps)
	}
	e, err := gopus.NewEncoder(gopus.EncoderConfig{SampleRate: rate, Channels: 2, Application: gopus.ApplicationAudio})
	if err != nil {
		return nil, err
	}
	if err := e.SetBitrate(kbps * 1000); err != nil {
		return nil, err
	}
	e.SetVBR(true)
	if err := e.SetComplexity(10); err != nil {
		return nil, err
	}
	o := &opus{
		tally:  tally{s.Frames},
		pages:  pages{w: bufio.NewWriterSize(w, 1<<16)},
		enc:    e,
		packet: make([]byte, 4000),
		delay:  e.Lookahead(),
		length: s.Frames,
	}

	// RFC 7845, sections 5.1 and 5.2.
	head := append([]byte("OpusHead"), 1, 2)
	head = binary.LittleEndian.AppendUint16(head, uint16(o.delay))
	head = binary.LittleEndian.AppendUint32(head, rate)
	head = append(head, 0, 0, 0)
	if err := o.pages.write(head, 0, firstPage); err != nil {
		return nil, err
	}
	return o, o.pages.write(append([]byte("OpusTags"), vorbisComment(comments(s))...), 0, 0)
}

func (w *opus) Write(frames []float32) error {
	if err := w.take(frames); err != nil {
		return err
	}
	return w.push(frames)
}

func (w *opus) push(frames []float32) error {
	for len(frames) > 0 {
		n := copy(w.pcm[w.filled:], frames)
		frames = frames[n:]
		if w.filled += n; w.filled == len(w.pcm) {
			w.filled = 0
			size, err := w.enc.Encode(w.pcm[:], w.packet)
			if err != nil {
				return err
			}
			// A packet is held back until the next one, for the last is marked.
			if w.held != nil {
				if err := w.pages.write(w.held, w.granule, 0); err != nil {
					return err
				}
			}
			w.held = append(w.held[:0], w.packet[:size]...)
			w.granule += opusFrame
		}
	}
	return nil
}

func (w *opus) Close() error {
	if err := w.close(); err != nil {
		return err
	}
	// The encoder is that many frames late: push them out with silence.
	silence := make([]float32, 2*opusFrame)
	for w.granule < w.delay+w.length {
		if err := w.push(silence[:len(w.pcm)-w.filled]); err != nil {
			return err
		}
	}
	// The last page's position says where the sound ends inside its packet.
	if err := w.pages.write(w.held, w.delay+w.length, lastPage); err != nil {
		return err
	}
	return w.pages.w.Flush()
}

const (
	firstPage = 2
	lastPage  = 4
)

// pages writes Ogg pages with one packet each (RFC 3533). The stream's number
// is fixed: a file holds one stream.
type pages struct {
	w     *bufio.Writer
	count uint32
	page  []byte
}

func (p *pages) write(packet []byte, granule int, kind byte) error {
	laces := len(packet)/255 + 1
	if laces > 255 {
		return fmt.Errorf("opus: a packet of %d bytes does not fit a page: shorten the tags", len(packet))
	}
	b := append(p.page[:0], "OggS\x00"...)
	b = append(b, kind)
	b = binary.LittleEndian.AppendUint64(b, uint64(granule))
	b = binary.LittleEndian.AppendUint32(b, 1)
	b = binary.LittleEndian.AppendUint32(b, p.count)
	b = append(b, 0, 0, 0, 0, byte(laces))
	for range laces - 1 {
		b = append(b, 255)
	}
	b = append(b, byte(len(packet)%255))
	b = append(b, packet...)
	binary.LittleEndian.PutUint32(b[22:], checksum(b))
	p.page = b
	p.count++
	_, err := p.w.Write(b)
	return err
}

var crcTable = func() (t [256]uint32) {
	for i := range t {
		c := uint32(i) << 24
		for range 8 {
			c = c<<1 ^ (c>>31)*0x04c11db7
		}
		t[i] = c
	}
	return
}()

// checksum is Ogg's: CRC-32 with polynomial 04c11db7, not reflected, from 0.
func checksum(b []byte) uint32 {
	c := uint32(0)
	for _, x := range b {
		c = c<<8 ^ crcTable[byte(c>>24)^x]
	}
	return c
}
