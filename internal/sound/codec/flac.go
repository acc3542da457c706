package codec

import (
	"bufio"
	"io"

	"github.com/mewkiz/flac"
	"github.com/mewkiz/flac/frame"
	"github.com/mewkiz/flac/meta"
)

const flacBlock = 4096

type flacWriter struct {
	tally
	dither
	out    *bufio.Writer
	sink   *plain
	seek   io.Seeker // nil when the sink cannot seek
	enc    *flac.Encoder
	left   []int32
	right  []int32
	filled int
}

// newFLAC writes FLAC. The format keeps a checksum of the whole sound in its
// first block: it is filled in when w can seek, and left zero, which the
// format allows and calls unknown, when it cannot.
func newFLAC(w io.Writer, s Stream) (Writer, error) {
	f := &flacWriter{tally: tally{s.Frames}, left: make([]int32, flacBlock), right: make([]int32, flacBlock)}
	f.out = bufio.NewWriterSize(w, 1<<16)
	f.seek, _ = w.(io.Seeker)
	info := &meta.StreamInfo{
		BlockSizeMin: flacBlock, BlockSizeMax: flacBlock,
		SampleRate: rate, NChannels: 2, BitsPerSample: 16, NSamples: uint64(s.Frames),
	}
	var blocks []*meta.Block
	if fields := comments(s); fields != nil {
		body := &meta.VorbisComment{Vendor: vendor, Tags: fields}
		blocks = append(blocks, &meta.Block{
			Header: meta.Header{Type: meta.TypeVorbisComment, Length: int64(len(vorbisComment(fields)))},
			Body:   body,
		})
	}
	f.sink = &plain{w: f.out}
	var sink io.Writer = f.sink
	if f.seek != nil {
		sink = seekable{f.sink, f}
	}
	var err error
	f.enc, err = flac.NewEncoder(sink, info, blocks...)
	return f, f.sink.cause(err)
}

// plain hides everything of a writer but Write, for the library would close it,
// and keeps its error, for the library would only print it.
type plain struct {
	w   io.Writer
	err error
}

func (p *plain) Write(b []byte) (int, error) {
	n, err := p.w.Write(b)
	if err != nil && p.err == nil {
		p.err = err
	}
	return n, err
}

// cause is the sink's error where it has one, else the library's.
func (p *plain) cause(err error) error {
	if err != nil && p.err != nil {
		return p.err
	}
	return err
}

// seekable lets the library go back to the first block.
type seekable struct {
	*plain
	f *flacWriter
}

func (s seekable) Seek(offset int64, whence int) (int64, error) {
	if err := s.f.out.Flush(); err != nil {
		return 0, err
	}
	return s.f.seek.Seek(offset, whence)
}

func (w *flacWriter) Write(frames []float32) error {
	if err := w.take(frames); err != nil {
		return err
	}
	for i := 0; i+1 < len(frames); i += 2 {
		w.left[w.filled] = int32(w.round(frames[i]))
		w.right[w.filled] = int32(w.round(frames[i+1]))
		if w.filled++; w.filled == flacBlock {
			if err := w.encode(); err != nil {
				return err
			}
		}
	}
	return nil
}

// encode writes one block. "Verbatim" asks the library to look for a better
// predictor itself; naming one by hand makes it panic.
func (w *flacWriter) encode() error {
	n := w.filled
	w.filled = 0
	f := &frame.Frame{Header: frame.Header{
		HasFixedBlockSize: true, BlockSize: uint16(n), SampleRate: rate, Channels: frame.ChannelsLR, BitsPerSample: 16,
	}}
	for _, samples := range [][]int32{w.left[:n], w.right[:n]} {
		f.Subframes = append(f.Subframes, &frame.Subframe{
			SubHeader: frame.SubHeader{Pred: frame.PredVerbatim}, Samples: samples, NSamples: n,
		})
	}
	return w.sink.cause(w.enc.WriteFrame(f))
}

func (w *flacWriter) Close() error {
	if err := w.close(); err != nil {
		return err
	}
	if w.filled > 0 {
		if err := w.encode(); err != nil {
			return err
		}
	}
	if err := w.enc.Close(); err != nil {
		return w.sink.cause(err)
	}
	if err := w.out.Flush(); err != nil {
		return err
	}
	if w.seek != nil {
		_, err := w.seek.Seek(0, io.SeekEnd)
		return err
	}
	return nil
}
